//! The one writer of SVG: escapes every text, rounds every number, and remembers where texts stand.

use maud::Escaper;
use std::fmt::{self, Display, Write};

/// A point on the drawing, in its own units (CSS pixels at full size); y grows downwards.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// From the left.
    pub x: f64,
    /// From the top.
    pub y: f64,
}

/// A point from its coordinates.
pub const fn at(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Top edge.
    pub top: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Area {
    /// Whether two areas share more than an edge.
    pub fn overlaps(&self, other: &Area) -> bool {
        self.left < other.left + other.width
            && other.left < self.left + self.width
            && self.top < other.top + other.height
            && other.top < self.top + self.height
    }

    /// Whether the other area lies wholly inside this one.
    pub fn holds(&self, other: &Area) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.left + self.width >= other.left + other.width
            && self.top + self.height >= other.top + other.height
    }
}

/// Where a text stands relative to its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The text begins there.
    Start,
    /// The text is centred there.
    Middle,
    /// The text ends there.
    End,
}

/// A number as it is written: two decimals at most, no trailing zeros, never an exponent, never `NaN`.
#[derive(Debug, Clone, Copy)]
pub struct Rounded(pub f64);

impl Display for Rounded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let finite = if self.0.is_finite() { self.0.clamp(-1e6, 1e6) } else { 0.0 };
        let text = format!("{finite:.2}");
        let text = text.trim_end_matches('0').trim_end_matches('.');
        f.write_str(if text == "-0" { "0" } else { text })
    }
}

/// Width of an average sans-serif letter over the size of the type, on the wide side (DejaVu Sans: 0.60 for digits).
const LETTER_WIDTH: f64 = 0.62;
/// Ascent and descent of a line of type over its size.
const ASCENT: f64 = 0.95;
const DESCENT: f64 = 0.25;

/// About how wide a text is.
pub fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * LETTER_WIDTH * size
}

/// Where a text stands, about.
pub fn text_area(point: Point, anchor: Anchor, size: f64, text: &str) -> Area {
    let width = text_width(text, size);
    let left = match anchor {
        Anchor::Start => point.x,
        Anchor::Middle => point.x - width / 2.0,
        Anchor::End => point.x - width,
    };
    Area { left, top: point.y - ASCENT * size, width, height: (ASCENT + DESCENT) * size }
}

/// A finished drawing.
#[derive(Debug, Clone)]
pub struct Drawing {
    /// What it shows, in a few words.
    pub title: String,
    /// The same for those who cannot see it, in sentences.
    pub description: String,
    /// Full width.
    pub width: f64,
    /// Full height.
    pub height: f64,
    /// Where each text stands, about, with the text.
    pub texts: Vec<(Area, String)>,
    body: String,
    is_interactive: bool,
}

impl Drawing {
    /// The drawing for a page that carries [`crate::style`] itself; `id` must be its own on the page.
    pub fn inline(&self, id: &str) -> String {
        self.inline_at(id, 1.0)
    }

    /// As [`Drawing::inline`], at a share of its full size.
    pub fn inline_at(&self, id: &str, scale: f64) -> String {
        self.element(id, "", scale)
    }

    /// The drawing as a file of its own.
    pub fn standalone(&self) -> String {
        let style = format!("<style>{}</style>", crate::style());
        format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n", self.element("drawing", &style, 1.0))
    }

    fn element(&self, id: &str, style: &str, scale: f64) -> String {
        let mut out = String::new();
        let (width, height) = (Rounded(self.width), Rounded(self.height));
        let (shown_width, shown_height) = (Rounded(scale * self.width), Rounded(scale * self.height));
        let id = Escaped(id);
        // A picture is one thing to a screen reader, unless there is something in it to be chosen.
        let role = if self.is_interactive { "group" } else { "img" };
        // Writing to a string cannot fail.
        let _ = write!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing\" role=\"{role}\" viewBox=\"0 0 {width} {height}\" \
             width=\"{shown_width}\" height=\"{shown_height}\" aria-labelledby=\"{id}-title {id}-text\"><title id=\"{id}-title\">{}\
             </title><desc id=\"{id}-text\">{}</desc>{style}{}</svg>",
            Escaped(&self.title),
            Escaped(&self.description),
            self.body
        );
        out
    }
}

/// A text with its special characters escaped, for content and attributes alike; control characters that XML forbids
/// are left out.
struct Escaped<'t>(&'t str);

impl Display for Escaped<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let allowed: String = self.0.chars().filter(|c| !c.is_control() || matches!(c, '\n' | '\t')).collect();
        let mut escaped = String::with_capacity(allowed.len());
        Escaper::new(&mut escaped).write_str(&allowed)?;
        f.write_str(&escaped)
    }
}

/// Draws.
#[derive(Debug, Default)]
pub struct Canvas {
    body: String,
    texts: Vec<(Area, String)>,
    is_interactive: bool,
}

impl Canvas {
    /// An empty canvas.
    pub fn new() -> Self {
        Canvas::default()
    }

    /// An element with attributes; numbers go through [`Rounded`], texts are escaped.
    fn element(&mut self, name: &str, attributes: &[(&str, &dyn Display)]) {
        self.open(name, attributes);
        self.body.push_str("/>");
    }

    fn open(&mut self, name: &str, attributes: &[(&str, &dyn Display)]) {
        let _ = write!(self.body, "<{name}");
        for (key, value) in attributes {
            let _ = write!(self.body, " {key}=\"{}\"", Escaped(&value.to_string()));
        }
    }

    /// A straight line.
    pub fn line(&mut self, class: &str, from: Point, to: Point) {
        let [x1, y1, x2, y2] = [from.x, from.y, to.x, to.y].map(Rounded);
        self.element("line", &[("class", &class), ("x1", &x1), ("y1", &y1), ("x2", &x2), ("y2", &y2)]);
    }

    /// A line through points, `width` wide if given, otherwise as the style says.
    pub fn polyline(&mut self, class: &str, points: &[Point], width: Option<f64>) {
        let list = Points(points).to_string();
        match width {
            Some(width) => {
                self.element("polyline", &[("class", &class), ("points", &list), ("stroke-width", &Rounded(width))]);
            }
            None => self.element("polyline", &[("class", &class), ("points", &list)]),
        }
    }

    /// A closed, filled outline.
    pub fn polygon(&mut self, class: &str, points: &[Point]) {
        self.element("polygon", &[("class", &class), ("points", &Points(points).to_string())]);
    }

    /// A rectangle with corners rounded by `radius`.
    pub fn rectangle(&mut self, class: &str, area: Area, radius: f64) {
        let [x, y, width, height, radius] = [area.left, area.top, area.width, area.height, radius].map(Rounded);
        let shape: [(&str, &dyn Display); 6] =
            [("class", &class), ("x", &x), ("y", &y), ("width", &width), ("height", &height), ("rx", &radius)];
        self.element("rect", &shape);
    }

    /// A rectangle below everything drawn so far, for a drawing whose height is known at its end.
    pub fn paper(&mut self, class: &str, area: Area) {
        let above = std::mem::take(&mut self.body);
        self.rectangle(class, area, 0.0);
        self.body.push_str(&above);
    }

    /// A circle.
    pub fn circle(&mut self, class: &str, centre: Point, radius: f64) {
        let [cx, cy, r] = [centre.x, centre.y, radius].map(Rounded);
        self.element("circle", &[("class", &class), ("cx", &cx), ("cy", &cy), ("r", &r)]);
    }

    /// A path in SVG's own path language, for arcs; `data` is written by this crate, never by a user.
    pub fn path(&mut self, class: &str, data: &str) {
        self.element("path", &[("class", &class), ("d", &data)]);
    }

    /// A line of text.
    pub fn text(&mut self, class: &str, point: Point, anchor: Anchor, size: f64, text: &str) {
        if text.is_empty() {
            return;
        }
        self.texts.push((text_area(point, anchor, size, text), text.to_owned()));
        let place = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let [x, y, size] = [point.x, point.y, size].map(Rounded);
        let attributes: [(&str, &dyn Display); 5] =
            [("class", &class), ("x", &x), ("y", &y), ("font-size", &size), ("text-anchor", &place)];
        self.open("text", &attributes);
        let _ = write!(self.body, ">{}</text>", Escaped(text));
    }

    /// A group with attributes, such as `data-terminal`, and a title that shows when pointed at.
    pub fn group(&mut self, class: &str, data: &[(&str, &str)], title: &str, inside: impl FnOnce(&mut Canvas)) {
        let mut attributes: Vec<(&str, &dyn Display)> = vec![("class", &class)];
        attributes.extend(data.iter().map(|(key, value)| (*key, value as &dyn Display)));
        self.is_interactive |= data.iter().any(|(key, _)| *key == "tabindex");
        self.open("g", &attributes);
        self.body.push('>');
        if !title.is_empty() {
            let _ = write!(self.body, "<title>{}</title>", Escaped(title));
        }
        inside(self);
        self.body.push_str("</g>");
    }

    /// Where each text stands so far, about.
    pub fn texts(&self) -> &[(Area, String)] {
        &self.texts
    }

    /// Ends the drawing.
    pub fn finish(self, title: &str, description: &str, width: f64, height: f64) -> Drawing {
        let (title, description) = (title.to_owned(), description.to_owned());
        Drawing {
            title,
            description,
            width,
            height,
            texts: self.texts,
            body: self.body,
            is_interactive: self.is_interactive,
        }
    }
}

struct Points<'p>(&'p [Point]);

impl Display for Points<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, point) in self.0.iter().enumerate() {
            let gap = if index == 0 { "" } else { " " };
            write!(f, "{gap}{},{}", Rounded(point.x), Rounded(point.y))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_finite() {
        let text = |value| Rounded(value).to_string();
        assert_eq!(text(1.0), "1");
        assert_eq!(text(-0.001), "0");
        assert_eq!(text(2.345678), "2.35");
        assert_eq!(text(f64::NAN), "0");
        assert_eq!(text(f64::INFINITY), "0");
    }

    #[test]
    fn whatever_a_name_holds_is_text() {
        let mut canvas = Canvas::new();
        canvas.group("part", &[("data-terminal", "a\"><script>")], "<b>\u{1}&", |canvas| {
            canvas.text("name", at(1.0, 2.0), Anchor::Start, 12.0, "</text><script>alert(1)</script>");
        });
        let drawing = canvas.finish("\"'<>", "--> ]]>", 10.0, 10.0);
        let text = drawing.standalone();
        let document = roxmltree::Document::parse(&text).unwrap();
        assert!(!document.descendants().any(|node| node.has_tag_name("script")));
        let words = document.descendants().find(|node| node.attribute("class") == Some("name")).unwrap().text();
        assert_eq!(words, Some("</text><script>alert(1)</script>"));
    }
}
