//! A change note as the client reads it: on its page, as a PDF and as an HTML file; printed, signed, sent back.

use askama::Template;
use sqlx::SqliteConnection;

use super::paper::with_images;
use super::versions::{find, overtaken, standing};
use crate::events::Event;
use crate::ground::formats::Formats;
use crate::ground::ids::QuoteVersionId;
use crate::papers::pages::{html_answer, pdf_answer};
use crate::papers::sheet::Sheet;
use crate::quotes::Version;
use crate::quotes::change_paper::NotePaper;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "quotes/change_note.html")]
struct NotePage {
    shell: Shell,
    event: Event,
    id: QuoteVersionId,
    number: i64,
    sheet: Sheet,
    standing: (&'static str, String),
    /// Whether it may still be answered.
    open: bool,
    declined: bool,
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    let version = found.version()?;
    let formats = visit.studio.formats;
    let paper = paper_of(version, formats).ok_or(Trouble::NotFound("change note"))?;
    let overtaken = overtaken(&found.versions, version).is_some();
    page(&NotePage {
        shell: visit.shell(Section::Events, format!("{}, {}", paper.heading(), found.event.name)),
        id,
        number: version.number,
        sheet: paper.sheet(&version.frozen.document, version.sent_on),
        standing: standing(&found.versions, found.place, formats, visit.today),
        open: version.acceptance.is_none() && !overtaken,
        declined: version.decline.is_some(),
        event: found.event,
    })
}

fn paper_of(version: &Version, formats: Formats) -> Option<NotePaper> {
    let note = version.frozen.change.clone()?;
    Some(NotePaper::of(note, &version.frozen.document, formats))
}

pub(super) async fn as_pdf(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    pdf_answer(asked(&mut visit, id).await?, visit.studio.paper).await
}

pub(super) async fn as_html(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    html_answer(&asked(&mut visit, id).await?, visit.studio.paper)
}

async fn asked(visit: &mut Visit, id: QuoteVersionId) -> Result<Sheet, Trouble> {
    let found = find(&mut visit.connection, id).await?;
    let note = note_file(&mut visit.connection, found.version()?, visit.studio.formats).await?;
    note.ok_or(Trouble::NotFound("change note"))
}

/// The change note that a version carries, with the studio's sign in it, as a file needs it; none where it carries none.
///
/// # Errors
/// The book cannot be read.
pub async fn note_file(
    connection: &mut SqliteConnection,
    version: &Version,
    formats: Formats,
) -> Result<Option<Sheet>, sqlx::Error> {
    let Some(paper) = paper_of(version, formats) else { return Ok(None) };
    let document = &version.frozen.document;
    with_images(connection, paper.sheet(document, version.sent_on), document).await.map(Some)
}
