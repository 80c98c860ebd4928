//! The studio's sign: uploading, serving, taking away.

use askama::Template;
use axum::extract::State;
use axum::extract::multipart::Multipart;
use axum::http::header;
use axum::response::IntoResponse;

use super::upload::uploaded;
use crate::ground::ids::LogoId;
use crate::papers::picture::read_sign;
use crate::papers::sheet::Image;
use crate::papers::store;
use crate::studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::FieldErrors;
use crate::web::path::Path;
use crate::web::state::App;

const PAGE: &str = "/settings/logo";

#[derive(Template)]
#[template(path = "papers/sign.html")]
struct SignPage {
    shell: Shell,
    errors: FieldErrors,
}

impl SignPage {
    fn new(visit: &Visit, errors: FieldErrors) -> SignPage {
        SignPage { shell: visit.shell(Section::Settings, "The studio’s sign"), errors }
    }
}

pub(super) async fn show(visit: Visit) -> Answer {
    page(&SignPage::new(&visit, FieldErrors::default()))
}

pub(super) async fn upload(State(app): State<App>, visit: Visit, multipart: Multipart) -> Answer {
    let sign = match uploaded(multipart, "logo", read_sign).await? {
        Ok(sign) => sign,
        Err(error) => {
            return refused(&SignPage::new(&visit, FieldErrors::one("logo", error.to_string())));
        }
    };
    let mut tx = app.book.write().await?;
    let old = studio::store::studio(&mut tx).await?.logo;
    let new = store::add(&mut tx, &sign).await?;
    studio::store::set_logo(&mut tx, Some(new)).await?;
    tx.commit().await?;
    match old {
        Some(old) => onward_undo(&app, PAGE, "The sign is another now.", format!("{PAGE}/{old}")),
        None => onward_saying(&app, PAGE, "The sign is kept. It stands on every paper from now on."),
    }
}

pub(super) async fn remove(State(app): State<App>) -> Answer {
    let mut tx = app.book.write().await?;
    let Some(old) = studio::store::studio(&mut tx).await?.logo else { return Err(Trouble::NotFound("sign")) };
    studio::store::set_logo(&mut tx, None).await?;
    tx.commit().await?;
    onward_undo(&app, PAGE, "The sign is taken away. What was sent keeps it.", format!("{PAGE}/{old}"))
}

/// An earlier sign again: what an undo posts to.
pub(super) async fn set(State(app): State<App>, Path(id): Path<LogoId>) -> Answer {
    let mut tx = app.book.write().await?;
    store::logo(&mut tx, id).await?.ok_or(Trouble::NotFound("sign"))?;
    studio::store::set_logo(&mut tx, Some(id)).await?;
    tx.commit().await?;
    onward_saying(&app, PAGE, "The sign is back.")
}

/// A stored sign never changes, so a browser may keep it for good.
pub(super) async fn serve(mut visit: Visit, Path(id): Path<LogoId>) -> Answer {
    let bytes = store::logo(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("sign"))?;
    let headers = [
        (header::CONTENT_TYPE, "image/png"),
        (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
    ];
    Ok((headers, bytes).into_response())
}

/// A studio's sign as a page shows it.
#[must_use]
pub fn logo(id: LogoId, studio: &str) -> Image {
    Image { address: format!("/logos/{id}"), alt: studio.to_owned(), bytes: Vec::new() }
}
