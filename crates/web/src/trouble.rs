//! What went wrong with a request, in words for the person who made it.

use crate::shell;
use crate::visitor::Visitor;
use axum::body::Body;
use axum::extract::Request;
use axum::http::{HeaderName, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use bench::Problems;
use maud::{Markup, PreEscaped, html};
use store::StoreError;

/// Requests with this header want pieces of the page, not a whole one.
pub const FRAGMENT: HeaderName = HeaderName::from_static("x-fragment");

/// Why a request was not carried out.
#[derive(Debug, Clone)]
pub struct Trouble {
    pub status: StatusCode,
    /// What is wrong.
    pub words: String,
    /// A likely mend.
    pub mend: Option<String>,
    /// More to look at.
    pub more: Option<PreEscaped<String>>,
}

impl Trouble {
    pub fn new(status: StatusCode, words: impl Into<String>) -> Self {
        Trouble { status, words: words.into(), mend: None, more: None }
    }

    /// What was typed cannot be used.
    pub fn refused(words: impl Into<String>) -> Self {
        Trouble::new(StatusCode::UNPROCESSABLE_ENTITY, words)
    }

    /// Someone else was faster.
    pub fn conflict(words: impl Into<String>) -> Self {
        Trouble::new(StatusCode::CONFLICT, words)
    }

    pub fn not_found(words: impl Into<String>) -> Self {
        Trouble::new(StatusCode::NOT_FOUND, words)
    }

    pub fn internal() -> Self {
        let words = "The bench stumbled over its own feet; nothing that it had confirmed is lost.";
        Trouble::new(StatusCode::INTERNAL_SERVER_ERROR, words).mend("Reload the page and try again.")
    }

    pub fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = Some(mend.into());
        self
    }

    pub fn more(mut self, more: Markup) -> Self {
        self.more = Some(more);
        self
    }

    /// A job text with problems.
    pub fn problems(words: &str, problems: &Problems) -> Self {
        let list = html! {
            ul { @for problem in problems.0.iter().take(20) { li { (problem_words(problem)) } } }
        };
        Trouble::refused(words).more(list)
    }

    /// As a piece of a page.
    pub fn notice(&self) -> Markup {
        html! {
            div #notice .trouble role="alert" tabindex="-1" {
                p { strong { (self.words) } }
                @if let Some(mend) = &self.mend { p { (mend) } }
                @if let Some(more) = &self.more { (more) }
            }
        }
    }
}

/// A problem of a job text in one line.
pub fn problem_words(problem: &bench::Problem) -> String {
    let mut words = format!("line {}: {}", problem.line, problem.message);
    let expected = problem.expected.as_ref().map(|expected| format!("expected {expected}"));
    for more in [expected, problem.mend.clone()].into_iter().flatten() {
        words = format!("{words}; {more}");
    }
    words
}

/// With a capital and a full stop.
pub fn sentence(words: &str) -> String {
    let mut rest = words.chars();
    let first: String = rest.next().into_iter().flat_map(char::to_uppercase).collect();
    format!("{first}{}.", rest.as_str())
}

impl From<StoreError> for Trouble {
    fn from(error: StoreError) -> Self {
        let status = match &error {
            StoreError::NoSuchJob { .. } | StoreError::NoSuchRevision { .. } | StoreError::NoSuchPhoto { .. } => {
                StatusCode::NOT_FOUND
            }
            StoreError::Conflict { .. } => StatusCode::CONFLICT,
            StoreError::NotADate { .. } | StoreError::TooManyWords | StoreError::NulCharacter { .. } => {
                StatusCode::UNPROCESSABLE_ENTITY
            }
            _ => StatusCode::SERVICE_UNAVAILABLE,
        };
        if status == StatusCode::SERVICE_UNAVAILABLE {
            tracing::error!("{error}");
        }
        Trouble::new(status, error.to_string())
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let mut response = self.status.into_response();
        response.extensions_mut().insert(self);
        response
    }
}

/// Gives a [`Trouble`] its looks: a piece for a script, a page for everyone else.
pub async fn dress(request: Request, next: Next) -> Response {
    let wants_fragment = request.headers().contains_key(FRAGMENT);
    let visitor = request.extensions().get::<Visitor>().cloned();
    let back = request.headers().get(header::REFERER).and_then(|from| from.to_str().ok()).and_then(path_of);
    let response = next.run(request).await;
    let Some(trouble) = response.extensions().get::<Trouble>().cloned() else {
        return dress_plain(response, visitor.as_ref());
    };
    let (mut parts, _) = response.into_parts();
    let body = if wants_fragment {
        trouble.notice()
    } else {
        let content = html! {
            h1 { "That did not work" }
            (trouble.notice())
            @if let Some(back) = &back { p { a href=(back) { "Back to where you were" } } }
            p { a href="/" { "All jobs" } }
        };
        shell::page("That did not work", visitor.as_ref(), None, content)
    };
    let html = Html(body.into_string()).into_response();
    // Dressed once: whoever passes it on leaves it so.
    parts.extensions.remove::<Trouble>();
    parts.headers.remove(header::CONTENT_LENGTH);
    parts.headers.extend(html.headers().clone());
    Response::from_parts(parts, html.into_body())
}

/// Refusals that come from below: wrong addresses, too large bodies.
fn dress_plain(response: Response<Body>, visitor: Option<&Visitor>) -> Response {
    let words = match response.status() {
        _ if is_page(&response) => return response,
        StatusCode::NOT_FOUND => "There is no such page.",
        StatusCode::BAD_REQUEST => "That address, or what it asks for, cannot be read.",
        StatusCode::PAYLOAD_TOO_LARGE => "That is too large for this bench.",
        StatusCode::METHOD_NOT_ALLOWED => "That page does not take such a request.",
        _ => return response,
    };
    let status = response.status();
    let content = html! { h1 { (words) } p { a href="/" { "All jobs" } } };
    (status, Html(shell::page(words, visitor, None, content).into_string())).into_response()
}

fn is_page(response: &Response<Body>) -> bool {
    let kind = response.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    kind.is_some_and(|kind| !kind.starts_with("text/plain"))
}

/// The path of a page of this bench that a link came from; never another host.
fn path_of(referer: &str) -> Option<String> {
    let rest = referer.split_once("://")?.1;
    let path = &rest[rest.find('/')?..];
    (!path.starts_with("//")).then(|| path.to_owned())
}
