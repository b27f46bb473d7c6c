//! What a form has sent.

use crate::app::App;
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Form, FromRequest, Request};
use axum::http::StatusCode;
use subtle::ConstantTimeEq;

/// The fields of a form of our own: the token of the visitor's session was among them.
#[derive(Debug, Clone, Default)]
pub struct Fields(Vec<(String, String)>);

impl Fields {
    /// A field without blanks around it; empty if it was not sent.
    pub fn text(&self, name: &str) -> &str {
        self.0.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.trim())
    }

    /// A field as it was sent; `None` if it was not.
    pub fn raw(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// A field if it was sent with anything in it.
    pub fn given(&self, name: &str) -> Option<&str> {
        Some(self.text(name)).filter(|text| !text.is_empty())
    }

    /// A field that must be there.
    pub fn needed<'f>(&'f self, name: &str, what: &str) -> Result<&'f str, Trouble> {
        self.given(name).ok_or_else(|| Trouble::refused(format!("{what} is missing.")).mend(format!("Give {what}.")))
    }

    /// A whole number that the page itself has put in.
    pub fn index(&self, name: &str) -> Result<usize, Trouble> {
        self.text(name).parse().map_err(|_| Trouble::refused(format!("'{}' is no number for {name}.", self.text(name))))
    }

    /// All values of a field that may be sent several times.
    pub fn all(&self, name: &str) -> Vec<String> {
        let values = self.0.iter().filter(|(key, _)| key == name).map(|(_, value)| value.trim().to_owned());
        values.filter(|value| !value.is_empty()).collect()
    }

    /// Fields whose names begin with `prefix`, without it.
    pub fn under(&self, prefix: &str) -> Vec<(String, String)> {
        let inside =
            |(key, value): &(String, String)| Some((key.strip_prefix(prefix)?.to_owned(), value.trim().to_owned()));
        self.0.iter().filter_map(inside).collect()
    }
}

impl FromRequest<App> for Fields {
    type Rejection = Trouble;

    async fn from_request(request: Request, app: &App) -> Result<Self, Trouble> {
        let visitor = request.extensions().get::<Visitor>().cloned();
        let Form(fields) = Form::<Vec<(String, String)>>::from_request(request, app).await.map_err(|rejection| {
            match rejection.into_response_status() {
                StatusCode::PAYLOAD_TOO_LARGE => {
                    Trouble::new(StatusCode::PAYLOAD_TOO_LARGE, "That is too much text for one entry.")
                        .mend("A job file may have 4 MB, everything else far less.")
                }
                status => Trouble::new(status, "The form could not be read.").mend("Reload the page and try again."),
            }
        })?;
        let fields = Fields(fields);
        check_token(visitor.as_ref(), fields.text("form_token"))?;
        Ok(fields)
    }
}

trait RejectionStatus {
    fn into_response_status(self) -> StatusCode;
}

impl<R: axum::response::IntoResponse> RejectionStatus for R {
    fn into_response_status(self) -> StatusCode {
        self.into_response().status()
    }
}

/// Whether a form came from a page of this bench, made for this visitor.
///
/// # Errors
/// A refusal in words, if not.
pub fn check_token(visitor: Option<&Visitor>, token: &str) -> Result<(), Trouble> {
    let own = visitor.is_some_and(|visitor| visitor.form_token.as_bytes().ct_eq(token.as_bytes()).into());
    if own {
        return Ok(());
    }
    Err(Trouble::new(StatusCode::FORBIDDEN, "This form is out of date, or does not come from this bench.")
        .mend("Reload the page and enter it again; cookies must be allowed for this address."))
}
