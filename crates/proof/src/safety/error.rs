//! Why a sheet cannot be laid out.

/// Why a sheet cannot be laid out, or an entry cannot stand on it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SafetyError {
    /// No region, class, test or way of use of this name.
    #[error("there is no {what} '{typed}'; {mend}")]
    Unknown {
        /// `region`, `protection class`, `test`, `use`.
        what: &'static str,
        /// As typed.
        typed: String,
        /// The nearest names, or all.
        mend: String,
    },
    /// The test is not one of this class.
    #[error("{test} is no test of a class {class} unit; check the class, or take the entry out")]
    NotOfClass {
        /// The test.
        test: &'static str,
        /// The class.
        class: &'static str,
    },
    /// A measured test needs what the instrument showed.
    #[error("{test} is measured: enter what the instrument showed, such as '{example}', or 'not done' with the reason")]
    NeedsValue {
        /// The test.
        test: &'static str,
        /// What a value looks like.
        example: &'static str,
    },
    /// A test without a number.
    #[error("{test} has no number: enter 'ok', 'failed', or 'not done' with the reason")]
    TakesNoValue {
        /// The test.
        test: &'static str,
    },
    /// A value in another unit than the test's.
    #[error("{test} is in {expected}, not in {found}; such as '{example}'")]
    WrongUnit {
        /// The test.
        test: &'static str,
        /// The unit of the test.
        expected: &'static str,
        /// The unit of the value.
        found: &'static str,
        /// What a value looks like.
        example: &'static str,
    },
    /// A number that cannot be.
    #[error("{what} cannot be {value}; expected {expected}")]
    Impossible {
        /// What it is.
        what: &'static str,
        /// As given.
        value: f64,
        /// What can be.
        expected: &'static str,
    },
}
