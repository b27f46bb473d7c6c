//! What the bench answers, with the promises that hold for every answer.

use std::io::{BufRead, BufReader, Read};

/// An answer received in full.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    /// Names in small letters.
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    /// An answer of the bench; whatever it says, it carries the headers that keep browsers from doing harm.
    pub fn new(status: u16, headers: Vec<(String, String)>, body: Vec<u8>) -> Self {
        let answer = Self { status, headers, body };
        let policy = answer.header("content-security-policy");
        assert!(policy.starts_with("default-src 'none'"), "{answer:?}");
        let mut scripts = policy.split("script-src").skip(1);
        assert!(scripts.all(|rest| rest.starts_with(" 'self';")), "{answer:?}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{answer:?}");
        assert!(["no-store", "no-cache"].contains(&answer.header("cache-control")), "{answer:?}");
        answer
    }

    /// Reads an answer as it stands on the wire, up to the end of the connection, and no promise but HTTP's.
    pub fn read_bare(stream: impl Read) -> std::io::Result<Self> {
        let mut reader = BufReader::new(stream);
        let mut line = String::new();
        reader.read_line(&mut line)?;
        let status = line.split(' ').nth(1).and_then(|code| code.parse().ok()).unwrap_or_default();
        let mut headers = Vec::new();
        loop {
            let mut line = String::new();
            reader.read_line(&mut line)?;
            let Some((name, value)) = line.trim_end().split_once(':') else { break };
            headers.push((name.to_ascii_lowercase(), value.trim().to_owned()));
        }
        let mut body = Vec::new();
        reader.read_to_end(&mut body)?;
        Ok(Self { status, headers, body })
    }

    /// The first header of a name; empty if there is none.
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value)
    }

    pub fn body_text(&self) -> String {
        String::from_utf8(self.body.clone()).unwrap()
    }

    /// The text that a person sees, on one line.
    pub fn words(&self) -> String {
        let html = self.body_text();
        let mut words = String::new();
        let mut is_tag = false;
        for letter in html.chars() {
            match letter {
                '<' => is_tag = true,
                '>' => {
                    is_tag = false;
                    words.push(' ');
                }
                _ if !is_tag => words.push(letter),
                _ => {}
            }
        }
        let words = words.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
        words.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Holds the answer to a status and to words that a person must see.
    #[track_caller]
    pub fn says(&self, status: u16, words: &str) {
        assert_eq!(self.status, status, "{}", self.words());
        assert!(self.words().contains(words), "\"{words}\" is not in: {}", self.words());
    }
}
