//! Plain text for a terminal: headings, wrapped lines, columns. Bold only where a terminal shows it.

use anstream::AutoStream;
use anstyle::{Effects, Style};
use std::io::{self, Stdout, Write};

/// Width that text is wrapped to; a phone held sideways and an old laptop both show it.
const WIDTH: usize = 100;

/// Where a report goes: text with emphasis, which is left out when nobody sees it.
pub struct Page<W: Write> {
    out: W,
}

/// The page on standard output.
pub fn standard() -> Page<AutoStream<Stdout>> {
    Page { out: anstream::AutoStream::auto(io::stdout()) }
}

impl<W: Write> Page<W> {
    /// A heading in capitals, with a free line above.
    pub fn heading(&mut self, text: &str) -> io::Result<()> {
        let bold = Style::new().effects(Effects::BOLD);
        writeln!(self.out, "\n{bold}{}{bold:#}", text.to_uppercase())
    }

    /// A line in bold after a mark, wrapped; further lines stand under the text.
    pub fn strong(&mut self, indent: usize, mark: &str, text: &str) -> io::Result<()> {
        self.marked(indent, mark, text, Style::new().effects(Effects::BOLD))
    }

    /// Text, wrapped and indented.
    pub fn text(&mut self, indent: usize, text: &str) -> io::Result<()> {
        for line in wrap(text, WIDTH - indent) {
            writeln!(self.out, "{:indent$}{line}", "")?;
        }
        Ok(())
    }

    /// A line after a mark such as `-`; further lines stand under the text.
    pub fn item(&mut self, indent: usize, mark: &str, text: &str) -> io::Result<()> {
        self.marked(indent, mark, text, Style::new())
    }

    fn marked(&mut self, indent: usize, mark: &str, text: &str, style: Style) -> io::Result<()> {
        let hang = indent + mark.len() + 1;
        for (index, line) in wrap(text, WIDTH - hang).into_iter().enumerate() {
            if index == 0 {
                writeln!(self.out, "{:indent$}{style}{mark} {line}{style:#}", "")?;
            } else {
                writeln!(self.out, "{:hang$}{style}{line}{style:#}", "")?;
            }
        }
        Ok(())
    }

    /// Columns as wide as their widest cell; the first row is a heading. Columns marked `>` are set right.
    pub fn table(&mut self, indent: usize, align: &str, rows: &[Vec<String>]) -> io::Result<()> {
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        let width = |column: usize| {
            rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..columns).map(width).collect();
        for row in rows {
            let cells: Vec<String> = row
                .iter()
                .enumerate()
                .map(|(column, cell)| {
                    let pad = " ".repeat(widths[column].saturating_sub(cell.chars().count()));
                    if align.chars().nth(column) == Some('>') { format!("{pad}{cell}") } else { format!("{cell}{pad}") }
                })
                .collect();
            writeln!(self.out, "{:indent$}{}", "", cells.join("  ").trim_end())?;
        }
        Ok(())
    }

    /// A free line.
    pub fn gap(&mut self) -> io::Result<()> {
        writeln!(self.out)
    }

    /// Text as it is, such as JSON.
    pub fn raw(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.out, "{text}")
    }
}

fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let used = lines[last].chars().count();
        if used > 0 && used + 1 + word.chars().count() > width {
            lines.push(word.to_owned());
        } else {
            if used > 0 {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapping_keeps_all_words_and_the_width() {
        let text = "one two three four five six seven eight nine ten";
        let lines = wrap(text, 12);
        assert!(lines.iter().all(|line| line.len() <= 12));
        assert_eq!(lines.join(" "), text);
    }
}
