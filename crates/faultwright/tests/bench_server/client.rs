//! A person at the bench: a browser's session, without a browser.

use super::{Answer, Server};
use reqwest::blocking::{Client as Http, RequestBuilder, Response};
use reqwest::redirect::Policy;
use std::io::Write;
use std::net::TcpStream;
use std::time::Duration;

/// Longer than anything that a test waits for; a bench that hangs ends the test, not the patience of its reader.
const PATIENCE: Duration = Duration::from_secs(120);

/// A session with its cookies.
pub struct Client {
    http: Http,
    base: String,
    port: u16,
    /// What the forms of this session carry.
    pub token: String,
}

impl Client {
    /// Opens the front page, and with it a session.
    pub fn new(server: &Server) -> Self {
        let mut client = Self::stranger(server);
        client.token = client.token_on("/");
        client
    }

    /// Someone who has not asked for anything yet.
    pub fn stranger(server: &Server) -> Self {
        let http = Http::builder().cookie_store(true).redirect(Policy::none()).timeout(PATIENCE).build().unwrap();
        let mut client = Self { http, base: String::new(), port: 0, token: String::new() };
        client.moved_to(server);
        client
    }

    /// Goes on with the same session at a bench that was started again. Cookies do not know ports (RFC 6265, 8.5).
    pub fn moved_to(&mut self, server: &Server) {
        self.port = server.port;
        self.base = format!("http://127.0.0.1:{}", server.port);
    }

    /// The token in the forms of a page.
    pub fn token_on(&self, path: &str) -> String {
        let page = self.get(path);
        let text = page.body_text();
        let (_, rest) = text.split_once("name=\"form_token\" value=\"").unwrap_or_else(|| panic!("no form: {page:?}"));
        rest.split('"').next().unwrap().to_owned()
    }

    pub fn get(&self, path: &str) -> Answer {
        self.send(self.request("GET", path))
    }

    /// Sends a form as the page's script does, and gets pieces of the page.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.try_post(path, fields).unwrap()
    }

    /// As [`Self::post`], where the bench may be gone.
    pub fn try_post(&self, path: &str, fields: &[(&str, &str)]) -> reqwest::Result<Answer> {
        received(self.form(path, fields).header("x-fragment", "1").send()?)
    }

    /// Asks for pieces of a page, as its script does.
    pub fn try_get_pieces(&self, path: &str) -> reqwest::Result<Answer> {
        received(self.request("GET", path).header("x-fragment", "1").send()?)
    }

    /// Sends a form as a browser without scripts does, and gets a page or the address of one.
    pub fn submit(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.send(self.form(path, fields))
    }

    /// A form with this session's token, to add to and to send.
    pub fn form(&self, path: &str, fields: &[(&str, &str)]) -> RequestBuilder {
        let token = [("form_token", self.token.as_str())];
        self.request("POST", path).form(&[&token, fields].concat())
    }

    /// A request to add to and to send.
    pub fn request(&self, method: &str, path: &str) -> RequestBuilder {
        self.http.request(method.parse().unwrap(), format!("{}{path}", self.base))
    }

    pub fn send(&self, request: RequestBuilder) -> Answer {
        received(request.send().unwrap()).unwrap()
    }

    /// Takes a job file in, and gives the path of its job.
    pub fn import(&self, text: &str) -> String {
        let answer = self.submit("/jobs/import", &[("text", text)]);
        assert_eq!(answer.status, 303, "{}", answer.words());
        answer.header("location").to_owned()
    }

    /// The text of a job as it can be taken home.
    pub fn export(&self, job: &str) -> String {
        let answer = self.get(&format!("{job}/job.toml"));
        assert_eq!(answer.status, 200, "{}", answer.words());
        answer.body_text()
    }

    /// Uploads a photo.
    pub fn upload(&self, job: &str, name: &str, bytes: &[u8]) -> Answer {
        let (kind, body) = multipart(&self.token, name, bytes);
        self.send(self.request("POST", &format!("{job}/photos")).header("content-type", kind).body(body))
    }

    /// Sends a request letter for letter, with addresses and headers that no library would let through.
    pub fn raw(&self, request: &[u8]) -> Answer {
        let Answer { status, headers, body } = self.bare(request);
        Answer::new(status, headers, body)
    }

    /// Sends a form by hand that is refused before it is read in full: a library may give up sending then, and never
    /// look for the answer.
    pub fn raw_form(&self, path: &str, kind: &str, body: &[u8]) -> Answer {
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nContent-Type: {kind}\r\n\
             Content-Length: {}\r\n\r\n",
            body.len()
        );
        self.raw(&[head.as_bytes(), body].concat())
    }

    /// As [`Self::raw`], for what is refused before the bench itself sees it.
    pub fn bare(&self, request: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        // Who is refused early may find the connection closed before all is sent.
        let _ = stream.write_all(request);
        Answer::read_bare(stream).unwrap()
    }
}

/// A form with a photo (RFC 7578): its content type and its body.
fn multipart(token: &str, name: &str, bytes: &[u8]) -> (String, Vec<u8>) {
    let edge = "edge-that-is-in-no-photo-f1d65c02";
    let mut body = format!(
        "--{edge}\r\nContent-Disposition: form-data; name=\"form_token\"\r\n\r\n{token}\r\n\
         --{edge}\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"{}\"\r\n\
         Content-Type: application/octet-stream\r\n\r\n",
        name.replace('"', "%22")
    )
    .into_bytes();
    body.extend_from_slice(bytes);
    body.extend_from_slice(format!("\r\n--{edge}--\r\n").as_bytes());
    (format!("multipart/form-data; boundary={edge}"), body)
}

fn received(response: Response) -> reqwest::Result<Answer> {
    let status = response.status().as_u16();
    let header = |(name, value): (&reqwest::header::HeaderName, &reqwest::header::HeaderValue)| {
        (name.as_str().to_owned(), String::from_utf8_lossy(value.as_bytes()).into_owned())
    };
    let headers = response.headers().iter().map(header).collect();
    let body = response.bytes()?.to_vec();
    Ok(Answer::new(status, headers, body))
}
