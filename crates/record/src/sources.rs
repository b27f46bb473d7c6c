//! The list of sources that figures of the record point to.

use std::cell::RefCell;

/// Sources in the order in which they are first named; each gets a number.
#[derive(Debug, Default)]
pub struct Sources(RefCell<Vec<String>>);

impl Sources {
    /// The mark of a source, such as `S3`; the same source has the same mark.
    pub fn mark(&self, source: &str) -> String {
        let mut list = self.0.borrow_mut();
        let place = list.iter().position(|known| known == source).unwrap_or_else(|| {
            list.push(source.to_owned());
            list.len() - 1
        });
        format!("S{}", place + 1)
    }

    /// All of them with their marks.
    pub fn list(&self) -> Vec<(String, String)> {
        self.0.borrow().iter().enumerate().map(|(place, source)| (format!("S{}", place + 1), source.clone())).collect()
    }
}
