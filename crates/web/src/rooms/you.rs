//! Who is at the bench, and how they write figures.

use crate::app::{App, Reach};
use crate::fields::Fields;
use crate::manner::Manner;
use crate::shell::{self, token};
use crate::visitor::{MANNER, NAME, Visitor, cookie, percent_encoded, tidy_name};
use axum::extract::State;
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum_extra::extract::cookie::CookieJar;
use maud::html;

/// The form.
pub async fn show(State(app): State<App>, visitor: Visitor) -> Response {
    let manner = visitor.manner;
    let content = html! {
        h1 { "You at this bench" }
        form method="post" action="/you" {
            (token(&visitor))
            label .wide { "Name for the history " input name="name" maxlength="40" value=(visitor.who); }
            fieldset {
                legend { "Decimals" }
                label { input type="radio" name="decimals" value="point" checked[!manner.decimal_comma]; " 27.1" }
                label { input type="radio" name="decimals" value="comma" checked[manner.decimal_comma]; " 27,1" }
            }
            fieldset {
                legend { "Temperatures" }
                label { input type="radio" name="degrees" value="celsius" checked[!manner.fahrenheit]; " °C" }
                label { input type="radio" name="degrees" value="fahrenheit" checked[manner.fahrenheit]; " °F" }
            }
            fieldset {
                legend { "Symbols in drawings" }
                label { input type="radio" name="symbols" value="iec" checked[!manner.american_symbols]; " IEC 60617" }
                label { input type="radio" name="symbols" value="american" checked[manner.american_symbols]; " as in North America" }
            }
            button .main { "Save" }
        }
        @if app.reach == Reach::Network {
            form method="post" action="/logout" { (token(&visitor)) button { "Leave this bench" } }
        }
    };
    Html(shell::page("You", Some(&visitor), None, content).into_string()).into_response()
}

/// Keeps it in the browser.
pub async fn save(visitor: Visitor, jar: CookieJar, fields: Fields) -> Response {
    let manner = Manner {
        decimal_comma: fields.text("decimals") == "comma",
        fahrenheit: fields.text("degrees") == "fahrenheit",
        american_symbols: fields.text("symbols") == "american",
    };
    let name = percent_encoded(&tidy_name(fields.text("name")));
    let jar = jar.add(cookie(NAME, name, visitor.encrypted)).add(cookie(MANNER, manner.to_cookie(), visitor.encrypted));
    (jar, Redirect::to("/you")).into_response()
}
