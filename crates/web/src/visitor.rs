//! Who is asking: a session, a name, and a way of writing figures.

use crate::app::{App, Reach, random_token};
use crate::manner::Manner;
use crate::trouble::Trouble;
use axum::extract::{FromRequestParts, Request, State};
use axum::http::HeaderMap;
use axum::http::request::Parts;
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use axum_extra::extract::cookie::{Cookie, CookieJar, SameSite};

/// Cookie that holds the session's token.
pub const SESSION: &str = "bench_session";
/// Cookie that holds the visitor's name.
pub const NAME: &str = "bench_name";
/// Cookie that holds how figures are written.
pub const MANNER: &str = "bench_manner";

/// Pages that can be asked for without the pass-phrase.
const OPEN_PATHS: [&str; 3] = ["/login", "/bench.css", "/bench.js"];
/// Names longer than this are cut.
const LONGEST_NAME: usize = 40;

/// Who is asking.
#[derive(Debug, Clone)]
pub struct Visitor {
    /// The session's token.
    pub session: String,
    /// What forms for this session carry.
    pub form_token: String,
    /// Name for the history of a job.
    pub who: String,
    /// How figures are written.
    pub manner: Manner,
    /// Whether the request came encrypted, so that cookies must too.
    pub encrypted: bool,
}

impl<S: Sync> FromRequestParts<S> for Visitor {
    type Rejection = Trouble;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Trouble> {
        parts.extensions.get::<Visitor>().cloned().ok_or_else(Trouble::internal)
    }
}

/// A cookie that scripts cannot read and other sites cannot send; nor does it travel in the clear once it came encrypted.
pub fn cookie(name: &'static str, value: String, encrypted: bool) -> Cookie<'static> {
    let cookie = Cookie::build((name, value)).path("/").http_only(true).same_site(SameSite::Strict);
    cookie.secure(encrypted).permanent().build()
}

/// Whether a request came encrypted as far as the proxy in front of the bench.
fn came_encrypted(headers: &HeaderMap) -> bool {
    headers.get("x-forwarded-proto").is_some_and(|scheme| scheme == "https")
}

/// The name a visitor gave, fit for a history.
pub fn tidy_name(text: &str) -> String {
    let kept: String = text.chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect();
    kept.trim().to_owned()
}

/// Finds out who is asking, and sends away who may not.
pub async fn recognise(State(app): State<App>, jar: CookieJar, mut request: Request, next: Next) -> Response {
    let known = jar.get(SESSION).map(|cookie| cookie.value().to_owned()).filter(|token| token.len() == 64);
    let is_new = known.is_none();
    let encrypted = came_encrypted(request.headers());
    let session = known.unwrap_or_else(random_token);
    if app.reach == Reach::Network && !OPEN_PATHS.contains(&request.uri().path()) {
        match app.login.is_in(&app, &session).await {
            Ok(true) => {}
            Ok(false) => return Redirect::to("/login").into_response(),
            Err(trouble) => return trouble.into_response(),
        }
    }
    let name = jar.get(NAME).map(|cookie| tidy_name(&percent_decoded(cookie.value())));
    let visitor = Visitor {
        form_token: app.form_token(&session),
        who: name.filter(|name| !name.is_empty()).unwrap_or_else(|| "this bench".into()),
        manner: Manner::parse(jar.get(MANNER).map_or("", Cookie::value)),
        session: session.clone(),
        encrypted,
    };
    request.extensions_mut().insert(visitor);
    let response = next.run(request).await;
    if is_new && !response.headers().contains_key(axum::http::header::SET_COOKIE) {
        return (CookieJar::new().add(cookie(SESSION, session, encrypted)), response).into_response();
    }
    response
}

/// A name as kept in a cookie, whose values are plain ASCII: every other byte as `%` and two digits.
pub fn percent_encoded(text: &str) -> String {
    text.bytes()
        .map(|byte| if byte.is_ascii_alphanumeric() { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}

fn percent_decoded(text: &str) -> String {
    let mut bytes = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((&first, tail)) = rest.split_first() {
        let code = tail.get(..2).and_then(|code| std::str::from_utf8(code).ok());
        match code.and_then(|code| u8::from_str_radix(code, 16).ok()) {
            Some(byte) if first == b'%' => {
                bytes.push(byte);
                rest = &tail[2..];
            }
            _ => {
                bytes.push(first);
                rest = tail;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_name_survives_its_cookie() {
        for name in ["Ann O'Dea", "Łukasz; =,\"", "100 %", "%", "%4", "日本"] {
            assert_eq!(percent_decoded(&percent_encoded(name)), name);
        }
        assert_eq!(percent_decoded("%zz%"), "%zz%");
    }
}
