//! Drawings to a file or to the standard output.

use crate::exit::Failure;
use crate::page;
use draw::Drawing;
use std::path::Path;

/// Writes a drawing as SVG.
///
/// # Errors
/// [`Failure::WrongUse`] if the file cannot be written.
pub fn write(drawing: &Drawing, file: Option<&Path>) -> Result<(), Failure> {
    let text = drawing.standalone();
    match file {
        Some(path) => std::fs::write(path, text)
            .map_err(|error| Failure::WrongUse(format!("cannot write {}: {error}", path.display()))),
        None => Ok(page::standard().raw(text.trim_end())?),
    }
}
