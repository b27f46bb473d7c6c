//! Photos of the unit: nameplates, burn marks, the wiring before it was touched.

use crate::app::App;
use crate::fields::{Fields, check_token};
use crate::posted::Posted;
use crate::rooms::jobs::{View, job_id};
use crate::shell::{self, token};
use crate::trouble::{FRAGMENT, Trouble};
use crate::visitor::Visitor;
use axum::extract::multipart::{Multipart, MultipartRejection};
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use store::{Photo, PhotoId};

/// The room.
pub async fn show(view: &View<'_>) -> Result<Markup, Trouble> {
    let id = view.sheet.revision.job.clone();
    let photos = view.app.ask(move |store| store.photos(&id)).await?;
    Ok(html! {
        section #photos .card aria-labelledby="photos-title" {
            h2 #photos-title { "Photos" }
            ul .photos {
                @for photo in &photos {
                    @let address = view.path(&format!("/photos/{}", photo.id.as_str()));
                    li {
                        a href=(address) { img src=(address) alt=(photo.name) loading="lazy" width="160" height="120"; }
                        form method="post" action=(view.path("/photos/remove")) data-live {
                            (token(view.visitor))
                            input type="hidden" name="photo" value=(photo.id.as_str());
                            button .small aria-label={ "Remove photo " (photo.name) } { "Remove" }
                        }
                    }
                }
            }
            form method="post" action=(view.path("/photos")) enctype="multipart/form-data" data-live {
                (token(view.visitor))
                label { "JPEG or PNG, at most " (store::MOST_UPLOAD_BYTES / 1_000_000) " MB " input type="file" name="photo" accept="image/jpeg,image/png" required; }
                button { "Attach" }
            }
        }
    })
}

fn too_large() -> Trouble {
    let megabytes = store::MOST_UPLOAD_BYTES / 1_000_000;
    Trouble::new(StatusCode::PAYLOAD_TOO_LARGE, format!("That photo is larger than {megabytes} MB."))
        .mend("Take it at a lower resolution, or make it smaller first.")
}

/// Attaches a photo.
pub async fn add(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
    form: Result<Multipart, MultipartRejection>,
) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let mut form = form.map_err(|_| Trouble::refused("That is no form with a photo."))?;
    let mut token = String::new();
    let mut upload = None;
    let failed = |error: axum::extract::multipart::MultipartError| match error.status() {
        StatusCode::PAYLOAD_TOO_LARGE => too_large(),
        _ => Trouble::refused("The photo did not arrive whole.").mend("Try again."),
    };
    while let Some(field) = form.next_field().await.map_err(failed)? {
        match field.name() {
            Some("form_token") => token = field.text().await.map_err(failed)?,
            Some("photo") => {
                let name = field.file_name().unwrap_or("photo").to_owned();
                upload = Some((name, field.bytes().await.map_err(failed)?));
            }
            _ => {}
        }
    }
    check_token(Some(&visitor), &token)?;
    let (name, bytes) =
        upload.ok_or_else(|| Trouble::refused("There is no photo in it.").mend("Choose a file first."))?;
    let photo = tokio::task::spawn_blocking(move || Photo::from_upload(&name, &bytes)).await;
    let photo = photo.map_err(|_| Trouble::internal())?.map_err(|error| Trouble::refused(error.to_string()))?;
    let asked = id.clone();
    app.ask(move |store| store.add_photo(&asked, &photo)).await?;
    let posted = Posted { wants_pieces: headers.contains_key(FRAGMENT), app, visitor, id, fields: Fields::default() };
    let sheet = posted.app.sheet(&posted.id).await?;
    let photos = show(&posted.view(&sheet, None)).await?;
    let words = "Photo attached; its place and camera data were left out.";
    Ok(posted.answer("photos", html! { (shell::done(words, None)) (photos) }))
}

/// One photo.
pub async fn look(State(app): State<App>, Path((job, photo)): Path<(String, String)>) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let photo = PhotoId::parse(&photo).map_err(|_| Trouble::not_found("There is no such photo."))?;
    let photo = app.ask(move |store| store.photo(&id, &photo)).await?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], photo.jpeg().to_owned()).into_response())
}

/// Destroys a photo.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let photo =
        PhotoId::parse(posted.fields.text("photo")).map_err(|_| Trouble::not_found("There is no such photo."))?;
    let id = posted.id.clone();
    posted.app.ask(move |store| store.remove_photo(&id, &photo)).await?;
    let sheet = posted.app.sheet(&posted.id).await?;
    let photos = show(&posted.view(&sheet, None)).await?;
    Ok(posted.answer("photos", html! { (shell::done("Photo removed.", None)) (photos) }))
}
