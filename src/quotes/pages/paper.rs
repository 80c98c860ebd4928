//! A version as a file to send: PDF, or one HTML file.

use sqlx::SqliteConnection;

use super::versions::find;
use crate::ground::formats::Formats;
use crate::ground::ids::QuoteVersionId;
use crate::papers::pages::{html_answer, pdf_answer};
use crate::papers::sheet::Sheet;
use crate::quotes::Version;
use crate::quotes::document::Document;
use crate::quotes::paper::{Called, picture_address, sheet};
use crate::studio::visit::Visit;
use crate::web::answer::Answer;
use crate::web::path::Path;
use crate::{papers, recipes};

pub(super) async fn as_pdf(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    let sheet = file_of(&mut visit.connection, found.version()?, visit.studio.formats).await?;
    pdf_answer(sheet, visit.studio.paper).await
}

pub(super) async fn as_html(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    let sheet = file_of(&mut visit.connection, found.version()?, visit.studio.formats).await?;
    html_answer(&sheet, visit.studio.paper)
}

/// What a version is called. The event's name is the one it had when it was sent.
pub(super) fn called(version: &Version, formats: Formats) -> Called {
    let name = &version.frozen.document.event.name;
    Called {
        title: format!("Quote {}, {name}", version.number),
        heading: format!("Quote, version {}, {}", version.number, formats.day(version.sent_on)),
        dated: version.sent_on,
        draft: false,
    }
}

/// The paper of a version with its pictures in it, as a file needs them.
pub async fn file_of(
    connection: &mut SqliteConnection,
    version: &Version,
    formats: Formats,
) -> Result<Sheet, sqlx::Error> {
    let document = &version.frozen.document;
    with_images(connection, sheet(document, called(version, formats), formats), document).await
}

/// A paper of a document with its pictures and the studio's sign in it.
pub(super) async fn with_images(
    connection: &mut SqliteConnection,
    mut sheet: Sheet,
    document: &Document,
) -> Result<Sheet, sqlx::Error> {
    let lines = document.places.iter().flat_map(|place| &place.lines);
    let pictures: Vec<_> = lines.filter_map(|line| line.picture).collect();
    let pictures = recipes::store::pictures::small(connection, &pictures).await?;
    for image in sheet.images_mut() {
        let kept = pictures.iter().find(|(id, _)| image.address == picture_address(*id));
        image.bytes = kept.map(|(_, bytes)| bytes.clone()).unwrap_or_default();
    }
    if let (Some(sign), Some(id)) = (&mut sheet.head.logo, document.studio.logo) {
        sign.bytes = papers::store::logo(connection, id).await?.unwrap_or_default();
    }
    Ok(sheet)
}
