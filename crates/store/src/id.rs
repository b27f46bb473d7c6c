//! Names of jobs and photos: random UUIDs (RFC 9562) in their usual form, nothing else.

use std::fmt;
use std::str::FromStr;

use uuid::Uuid;

/// A text that is not the id of anything.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("this is not a valid id; use a link from the list of jobs")]
pub struct NotAnId;

/// Reads `8-4-4-4-12` small hexadecimal digits, the one form that ids are written in.
fn parse(text: &str) -> Result<String, NotAnId> {
    let uuid = Uuid::try_parse(text).map_err(|_| NotAnId)?;
    let canonical = uuid.hyphenated().to_string();
    if canonical == text { Ok(canonical) } else { Err(NotAnId) }
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(String);

        impl $name {
            /// Reads an id as it is written by [`Self::as_str`].
            ///
            /// # Errors
            /// [`NotAnId`] for everything else, other ways to write a UUID included.
            pub fn parse(text: &str) -> Result<Self, NotAnId> {
                parse(text).map(Self)
            }

            /// The id as text: 36 characters, small hexadecimal digits and hyphens.
            pub fn as_str(&self) -> &str {
                &self.0
            }

            /// A new id that no other job or photo has.
            pub(crate) fn new() -> Self {
                Self(Uuid::new_v4().hyphenated().to_string())
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl FromStr for $name {
            type Err = NotAnId;

            fn from_str(text: &str) -> Result<Self, NotAnId> {
                Self::parse(text)
            }
        }
    };
}

id!(
    /// Which job.
    JobId
);
id!(
    /// Which photo of a job.
    PhotoId
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_usual_form_is_an_id() {
        // The example of RFC 9562, appendix A.3 (version 4).
        assert_eq!(
            JobId::parse("919108f7-52d1-4320-9bac-f847db4148a8").unwrap().as_str(),
            "919108f7-52d1-4320-9bac-f847db4148a8"
        );
        for wrong in [
            "",
            " ",
            "919108f7",
            "919108F7-52D1-4320-9BAC-F847DB4148A8",
            "919108f752d143209bacf847db4148a8",
            "{919108f7-52d1-4320-9bac-f847db4148a8}",
            "urn:uuid:919108f7-52d1-4320-9bac-f847db4148a8",
            " 919108f7-52d1-4320-9bac-f847db4148a8",
            "919108f7-52d1-4320-9bac-f847db4148a8\n",
            "919108f7-52d1-4320-9bac-f847db4148g8",
            "../../../../etc/passwd",
            "' OR 1=1 --",
            "９19108f7-52d1-4320-9bac-f847db4148a8",
        ] {
            assert_eq!(JobId::parse(wrong), Err(NotAnId), "{wrong:?}");
        }
    }

    #[test]
    fn new_ids_differ_and_read_back() {
        let (first, second) = (PhotoId::new(), PhotoId::new());
        assert_ne!(first, second);
        assert_eq!(first.to_string().parse::<PhotoId>().unwrap(), first);
    }
}
