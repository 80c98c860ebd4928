//! A quote before it is sent, as a file to show or to think over: marked as a draft on every page, with nothing to sign.

use sqlx::SqliteConnection;

use super::opening::{drafted, open};
use super::paper::with_images;
use super::sending::{no_rates, unpriced};
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::papers::pages::{html_answer, pdf_answer};
use crate::papers::sheet::Sheet;
use crate::quotes::paper::{Called, sheet};
use crate::studio::Studio;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::path::Path;

pub(super) async fn as_pdf(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let (studio, today) = (visit.studio.clone(), visit.today);
    pdf_answer(draft_file(&mut visit.connection, &studio, id, today).await?, studio.paper).await
}

pub(super) async fn as_html(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let (studio, today) = (visit.studio.clone(), visit.today);
    html_answer(&draft_file(&mut visit.connection, &studio, id, today).await?, studio.paper)
}

/// An event's quote as it stands, as a draft with its pictures. A draft that leaves something out would mislead: there is
/// none while a line has no price.
///
/// # Errors
/// There is no such event, no tax rate, nothing quoted or a line without a price; the book cannot be read.
pub async fn draft_file(
    connection: &mut SqliteConnection,
    studio: &Studio,
    id: EventId,
    today: Day,
) -> Result<Sheet, Trouble> {
    let opened = open(connection, studio, id).await?;
    let mut drafted = drafted(connection, &opened, studio, today).await?.ok_or_else(no_rates)?;
    if let Some(why) = unpriced(&drafted.priced).into_iter().next() {
        return Err(Trouble::Conflict(format!("There is no draft yet. {why}")));
    }
    let document = &mut drafted.document;
    document.illustrate(&drafted.pictures);
    if !studio.stems_on_paper {
        document.leave_out_stems();
    }
    let called = Called {
        title: format!("Draft of a quote, {}", opened.event.name),
        heading: format!("Draft of a quote, {}, not an offer yet", studio.formats.day(today)),
        dated: today,
        draft: true,
    };
    Ok(with_images(connection, sheet(document, called, studio.formats), document).await?)
}
