//! The door of a bench on a network.

use crate::app::App;
use crate::fields::Fields;
use crate::shell::{self, token};
use crate::trouble::Trouble;
use crate::visitor::{SESSION, Visitor, cookie};
use axum::extract::{ConnectInfo, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum_extra::extract::cookie::CookieJar;
use maud::html;
use std::net::SocketAddr;
use std::time::Instant;

/// Asks for the pass-phrase.
pub async fn show(visitor: Visitor) -> Response {
    let content = html! {
        h1 { "Faultwright bench" }
        form method="post" action="/login" {
            (token(&visitor))
            label { "Pass-phrase of this bench " input type="password" name="words" required autocomplete="current-password"; }
            button .main { "Enter" }
        }
        p .faint { "It was set where the bench was started. Without encryption on the way, anyone who can listen on this network can read along." }
    };
    Html(shell::page("Enter", None, None, content).into_string()).into_response()
}

/// Lets in who knows it.
pub async fn enter(
    State(app): State<App>,
    ConnectInfo(peer): ConnectInfo<SocketAddr>,
    visitor: Visitor,
    jar: CookieJar,
    fields: Fields,
) -> Result<Response, Trouble> {
    if !app.rate.may_log_in(peer.ip(), Instant::now()) {
        return Err(
            Trouble::new(StatusCode::TOO_MANY_REQUESTS, "Too many tries.").mend("Wait half a minute and try again.")
        );
    }
    let Some(session) = app.login.open(&app, fields.raw("words").unwrap_or_default()).await? else {
        return Err(
            Trouble::new(StatusCode::FORBIDDEN, "That is not the pass-phrase of this bench.").mend("Try again.")
        );
    };
    Ok((jar.add(cookie(SESSION, session, visitor.encrypted)), Redirect::to("/")).into_response())
}

/// Ends the session.
pub async fn leave(State(app): State<App>, visitor: Visitor, jar: CookieJar, _: Fields) -> Result<Response, Trouble> {
    app.login.close(&app, &visitor.session).await?;
    Ok((jar.remove(cookie(SESSION, String::new(), visitor.encrypted)), Redirect::to("/login")).into_response())
}
