//! What all charts share: their page, its margins, and texts that follow each other downwards.

use crate::Drawing;
use crate::fit::wrapped;
use crate::svg::{Anchor, Area, Canvas, at};

/// Narrowest chart, CSS pixels: a small phone.
pub const NARROWEST: f64 = 360.0;
/// Widest chart.
pub const WIDEST: f64 = 1000.0;
/// From this width on, words, picture and figures stand beside each other.
const WIDE: f64 = 680.0;

/// Small type.
pub(super) const SMALL: f64 = 11.0;
/// Distance of lines of small type.
pub(super) const PITCH: f64 = 14.0;

/// A chart that grows downwards.
pub(super) struct Page {
    pub(super) canvas: Canvas,
    pub(super) left: f64,
    pub(super) right: f64,
    /// Where the next thing goes.
    pub(super) y: f64,
    pub(super) wide: bool,
    title: String,
    sentences: Vec<String>,
}

impl Page {
    /// A page with its heading. A width that is no width becomes the narrowest.
    pub(super) fn new(title: &str, width: f64) -> Self {
        let width = if width.is_finite() { width.clamp(NARROWEST, WIDEST) } else { NARROWEST };
        let (left, right) = (14.0, width - 14.0);
        let title = title.to_owned();
        let (wide, sentences) = (width >= WIDE, Vec::new());
        let mut page = Page { canvas: Canvas::new(), left, right, y: 12.0, wide, title, sentences };
        let heading = page.title.clone();
        page.lines("strong", &heading, 15.0, left, right, 2);
        page.y += 4.0;
        page
    }

    /// Writes a text between two edges from the current place down, in at most `most` lines, and moves on.
    pub(super) fn lines(&mut self, class: &str, text: &str, size: f64, left: f64, right: f64, most: usize) {
        let pitch = (size * 1.27).ceil();
        for line in wrapped(text, size, right - left, most) {
            self.canvas.text(class, at(left, self.y + size), Anchor::Start, size, &line);
            self.y += pitch;
        }
    }

    /// Adds a sentence to what is told to those who cannot see the chart.
    pub(super) fn say(&mut self, sentence: String) {
        self.sentences.push(sentence);
    }

    /// Writes and says one sentence: all there is to show.
    pub(super) fn only(mut self, sentence: &str) -> Drawing {
        let (left, right) = (self.left, self.right);
        self.lines("", sentence, 12.0, left, right, 3);
        self.say(sentence.to_owned());
        self.finish()
    }

    pub(super) fn finish(mut self) -> Drawing {
        let (width, height) = (self.right + 14.0, self.y + 12.0);
        self.canvas.paper("paper", Area { left: 0.0, top: 0.0, width, height });
        self.canvas.finish(&self.title, &self.sentences.join(" "), width, height)
    }
}
