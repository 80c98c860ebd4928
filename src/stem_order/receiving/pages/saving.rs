//! Saving what was counted of a delivery, row by row, and taking it back.

use std::fmt::Write;

use axum::extract::State;
use serde::Deserialize;

use super::super::forms::count::{CountForm, Row, Seen, merged};
use super::super::{Receipt, store};
use super::delivery::DeliveryPage;
use super::{counted, lines_of};
use crate::ground::ids::PlacedDeliveryId;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble, onward, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// An undo travels in a cookie: one longer than this is not offered.
const LONGEST_UNDO: usize = 1_500;

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<PlacedDeliveryId>,
    Form(form): Form<CountForm>,
) -> Answer {
    let now = DeliveryPage::new(&mut visit, id).await?;
    let parsed = form.parse(&now.expected(), &visit.studio.formats);
    let rows = match parsed.ok_or(Trouble::NotFound("line of this delivery"))? {
        Ok(rows) => rows,
        Err(errors) => return refused(&now.with(form, errors)),
    };
    if rows.is_empty() {
        return onward(format!("/receiving/{id}"));
    }
    let lines: Vec<_> = rows.iter().map(|row| row.line).collect();
    let mut tx = app.book.write().await?;
    let before = store::receipts(&mut tx, &lines).await?;
    let merged = merged(&rows, &before);
    store::keep(&mut tx, &merged.keep, visit.today, visit.now).await?;
    tx.commit().await?;
    if !merged.conflicts.is_empty() {
        let now = DeliveryPage::new(&mut visit, id).await?;
        return stale(&now.conflicting(form, merged.conflicts));
    }
    saved(&app, id, &merged.keep, &before)
}

/// On to the page, where it was, with an undo.
fn saved(app: &App, id: PlacedDeliveryId, rows: &[Row], before: &[Receipt]) -> Answer {
    let counted = match rows.len() {
        1 => "1 line counted.".to_owned(),
        more => format!("{more} lines counted."),
    };
    let path = rows.last().map_or_else(String::new, |row| format!("#line-{}", row.line));
    let (path, undo) = (format!("/receiving/{id}{path}"), undo(id, rows, before));
    if undo.len() > LONGEST_UNDO {
        onward_saying(app, path, counted)
    } else {
        onward_undo(app, path, counted, undo)
    }
}

/// The address that takes rows back: line, what stands there now, what stood there before.
fn undo(id: PlacedDeliveryId, rows: &[Row], before: &[Receipt]) -> String {
    let mut path = format!("/receiving/{id}/restoration");
    for (number, row) in rows.iter().enumerate() {
        let old = before.iter().find(|receipt| receipt.line == row.line);
        let after = row.typed.map(|values| (old.map_or(1, |old| old.version + 1), values));
        let sign = if number == 0 { '?' } else { '&' };
        // Writing to a string cannot fail.
        let _ = write!(path, "{sign}was={}_{}_{}", row.line, Seen(after).code(), Seen::of(old).code());
    }
    path
}

/// `?was=7_1:120:0_`: a line, what should stand there now, what stood there before.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct UndoQuery {
    was: Vec<String>,
}

pub(super) async fn restore(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<PlacedDeliveryId>,
    Query(query): Query<UndoQuery>,
) -> Answer {
    let (delivery, _) = counted(&mut visit, id).await?;
    let lines = lines_of(&delivery);
    let rows: Option<Vec<Row>> = query.was.iter().map(|was| Row::undone(was)).collect();
    let rows = rows.filter(|rows| rows.iter().all(|row| lines.contains(&row.line)));
    let rows = rows.ok_or(Trouble::NotFound("change"))?;
    let mut tx = app.book.write().await?;
    let now = store::receipts(&mut tx, &lines).await?;
    let merged = merged(&rows, &now);
    if !merged.conflicts.is_empty() {
        let sentence = "Someone counted these lines again meanwhile, so nothing was taken back. Look at the delivery, and correct it there.";
        return Err(Trouble::Conflict(sentence.into()));
    }
    store::keep(&mut tx, &merged.keep, visit.today, visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/receiving/{id}"), "Taken back.")
}
