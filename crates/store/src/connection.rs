//! What a database must be able to do for a store: run one statement text with values. The rest is the same for all.

use std::vec::IntoIter;

use crate::Trouble;

/// A value in a statement or a row. Nothing else is stored.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Text(String),
    Integer(i64),
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Value::Text(text.to_owned())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Value::Text(text)
    }
}

impl From<i64> for Value {
    fn from(number: i64) -> Self {
        Value::Integer(number)
    }
}

/// A statement with its values. Values are `?1`, `?2` ... in the text, each of them used, and `?` stands for nothing
/// else.
#[derive(Debug)]
pub(crate) struct Statement {
    pub(crate) sql: String,
    pub(crate) values: Vec<Value>,
}

impl Statement {
    pub(crate) fn new(sql: &str, values: impl Into<Vec<Value>>) -> Self {
        Self { sql: sql.to_owned(), values: values.into() }
    }
}

/// A row of a result, read column by column from the left.
pub(crate) struct Row(IntoIter<Value>);

impl Row {
    pub(crate) fn new(values: Vec<Value>) -> Self {
        Self(values.into_iter())
    }

    /// The next column, a text.
    pub(crate) fn text(&mut self) -> Result<String, Trouble> {
        match self.0.next() {
            Some(Value::Text(text)) => Ok(text),
            other => Err(Trouble::Damaged(format!("a text was expected, found {other:?}"))),
        }
    }

    /// The next column, a number.
    pub(crate) fn integer(&mut self) -> Result<i64, Trouble> {
        match self.0.next() {
            Some(Value::Integer(number)) => Ok(number),
            other => Err(Trouble::Damaged(format!("a number was expected, found {other:?}"))),
        }
    }
}

/// An open database with our tables in it.
pub(crate) trait Connection: Send {
    /// Runs a statement that changes nothing, and gives its rows.
    fn read(&mut self, statement: &Statement) -> Result<Vec<Row>, Trouble>;

    /// Runs statements in one transaction, on the disk when this returns. When the first one changes no row, none of
    /// them has any effect and the answer is `false`.
    fn write(&mut self, statements: &[Statement]) -> Result<bool, Trouble>;
}
