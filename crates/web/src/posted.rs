//! A form sent about a job, and the answers to it.

use crate::app::App;
use crate::desk::{Edited, Sheet};
use crate::fields::Fields;
use crate::rooms::jobs::{View, all_pieces, done_with_undo, job_id};
use crate::trouble::{FRAGMENT, Trouble};
use crate::visitor::Visitor;
use axum::RequestExt;
use axum::extract::{FromRequest, Path, Request};
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::job::edit::{Edit, apply};
use maud::Markup;
use std::collections::HashMap;
use std::sync::Arc;
use store::JobId;

/// A form of our own, sent about a job.
pub struct Posted {
    pub app: App,
    pub visitor: Visitor,
    pub id: JobId,
    pub fields: Fields,
    /// Whether the script asks, which wants pieces of the page only.
    pub wants_pieces: bool,
}

impl FromRequest<App> for Posted {
    type Rejection = Trouble;

    async fn from_request(mut request: Request, app: &App) -> Result<Self, Trouble> {
        let Path(names) =
            request.extract_parts::<Path<HashMap<String, String>>>().await.map_err(|_| Trouble::internal())?;
        let id = job_id(names.get("job").map_or("", String::as_str))?;
        let visitor = request.extract_parts::<Visitor>().await?;
        let wants_pieces = request.headers().contains_key(FRAGMENT);
        let fields = Fields::from_request(request, app).await?;
        Ok(Posted { app: app.clone(), visitor, id, fields, wants_pieces })
    }
}

impl Posted {
    /// Makes an edit on the job as it is now; `edit` refuses what no longer fits.
    pub async fn change(&self, edit: impl Fn(&Sheet) -> Result<Edit, Trouble>) -> Result<Arc<Sheet>, Trouble> {
        let edited = |sheet: &Sheet| {
            let edit = edit(sheet)?;
            let text = apply(&sheet.revision.text, &edit).map_err(|error| Trouble::refused(error.to_string()))?;
            Ok(Edited { text, what: edit.words() })
        };
        self.app.change(&self.id, &self.visitor, edited).await
    }

    /// The job as this visitor sees it, a setup chosen for the next reading.
    pub fn view<'a>(&'a self, sheet: &'a Arc<Sheet>, setup: Option<&str>) -> View<'a> {
        let setup = setup.and_then(|name| sheet.job.find_setup(name));
        View { app: &self.app, sheet, visitor: &self.visitor, setup }
    }

    /// Answers with pieces for the script, else with the page anew at a place on it.
    pub fn answer(&self, place: &str, pieces: Markup) -> Response {
        if self.wants_pieces {
            Html(pieces.into_string()).into_response()
        } else {
            Redirect::to(&format!("/jobs/{}#{place}", self.id.as_str())).into_response()
        }
    }

    /// Makes an edit and answers with everything that it may have touched.
    pub async fn edit(self, place: &str, edit: impl Fn(&Sheet) -> Result<Edit, Trouble>) -> Result<Response, Trouble> {
        let sheet = self.change(edit).await?;
        let view = self.view(&sheet, None);
        Ok(self.answer(place, all_pieces(&view, done_with_undo(&view))))
    }
}
