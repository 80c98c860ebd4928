//! A recipe's picture: uploading, serving, taking away.

use axum::extract::State;
use axum::extract::multipart::Multipart;
use axum::http::header;
use axum::response::IntoResponse;

use super::super::forms::USUAL_BATCH;
use super::super::store;
use super::sheet::SheetPage;
use crate::ground::ids::{PictureId, RecipeId};
use crate::papers::pages::uploaded;
use crate::papers::picture::read;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble, refused};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::FieldErrors;
use crate::web::path::Path;
use crate::web::state::App;

pub(super) async fn upload(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<RecipeId>,
    multipart: Multipart,
) -> Answer {
    let (recipe, _) = store::recipe(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("recipe"))?;
    let picture = match uploaded(multipart, "picture", read).await? {
        Ok(picture) => picture,
        Err(error) => {
            let errors = FieldErrors::one("picture", error.to_string());
            return refused(&SheetPage::kept(&mut visit, id, USUAL_BATCH, errors).await?);
        }
    };
    let mut tx = app.book.write().await?;
    let new = store::pictures::add(&mut tx, &picture).await?;
    store::keep::set_picture(&mut tx, id, Some(new)).await?;
    tx.commit().await?;
    match recipe.picture_id {
        Some(old) => onward_undo(
            &app,
            format!("/recipes/{id}"),
            "The picture is another now.",
            format!("/recipes/{id}/picture/{old}"),
        ),
        None => onward_saying(&app, format!("/recipes/{id}"), "The picture is kept."),
    }
}

pub(super) async fn remove(State(app): State<App>, Path(id): Path<RecipeId>) -> Answer {
    let mut tx = app.book.write().await?;
    let (recipe, _) = store::recipe(&mut tx, id).await?.ok_or(Trouble::NotFound("recipe"))?;
    let Some(old) = recipe.picture_id else { return Err(Trouble::NotFound("picture")) };
    store::keep::set_picture(&mut tx, id, None).await?;
    tx.commit().await?;
    let undo = format!("/recipes/{id}/picture/{old}");
    onward_undo(&app, format!("/recipes/{id}"), "The picture is taken away.", undo)
}

pub(super) async fn set(State(app): State<App>, Path((id, picture)): Path<(RecipeId, PictureId)>) -> Answer {
    let mut tx = app.book.write().await?;
    store::recipe(&mut tx, id).await?.ok_or(Trouble::NotFound("recipe"))?;
    if !store::pictures::is_kept(&mut tx, picture).await? {
        return Err(Trouble::NotFound("picture"));
    }
    store::keep::set_picture(&mut tx, id, Some(picture)).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/recipes/{id}"), "The picture is back.")
}

/// A stored picture never changes, so a browser may keep it for good.
pub(super) async fn serve(mut visit: Visit, Path((id, size)): Path<(PictureId, String)>) -> Answer {
    let small = match size.as_str() {
        "small" => true,
        "full" => false,
        _ => return Err(Trouble::NotFound("picture")),
    };
    let bytes = store::pictures::picture(&mut visit.connection, id, small).await?;
    let bytes = bytes.ok_or(Trouble::NotFound("picture"))?;
    let headers = [
        (header::CONTENT_TYPE, "image/jpeg"),
        (header::CACHE_CONTROL, "private, max-age=31536000, immutable"),
    ];
    Ok((headers, bytes).into_response())
}
