//! The style sheet and the script of all pages.

use axum::http::header;
use axum::response::IntoResponse;

/// The style sheet, that of the drawings included.
pub async fn style() -> impl IntoResponse {
    let sheet = [include_str!("../../assets/bench.css"), &draw::style()].concat();
    ([(header::CONTENT_TYPE, "text/css; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")], sheet)
}

/// The script.
pub async fn script() -> impl IntoResponse {
    let kind = [(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")];
    (kind, include_str!("../../assets/bench.js"))
}
