//! What was sent: the list on the quote's page, and one version as the client read it.

use askama::Template;

use super::ink::Ink;
use super::paper::called;
use crate::events;
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::QuoteVersionId;
use crate::papers::sheet::Sheet;
use crate::quotes::changes::changes;
use crate::quotes::document::Document;
use crate::quotes::paper::sheet;
use crate::quotes::pricing::Margin;
use crate::quotes::{Version, agreed, standing_acceptance, store, words};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::path::Path;

/// A version in the list.
pub(super) struct VersionRow {
    pub id: QuoteVersionId,
    pub number: i64,
    /// Its number among the change notes.
    pub note: Option<i64>,
    pub sent: String,
    pub total: String,
    pub margin: String,
    /// Shape and words.
    pub standing: (&'static str, String),
    pub accepted: bool,
    pub declined: bool,
    /// What changed since the one before it.
    pub changes: Vec<String>,
}

/// The list, latest first.
pub(super) fn rows(versions: &[Version], formats: Formats, today: Day) -> Vec<VersionRow> {
    let row = |(place, version): (usize, &Version)| {
        let before = place.checked_sub(1).and_then(|place| versions.get(place));
        let changed =
            before.map_or_else(Vec::new, |before| changes(&before.frozen.document, &version.frozen.document));
        let margin = Margin { cost: version.frozen.cost.decimal(), asked: version.frozen.asked };
        let to = if version.sent_to.is_empty() { String::new() } else { format!(", {}", version.sent_to) };
        VersionRow {
            id: version.id,
            number: version.number,
            note: version.frozen.change.as_ref().map(|note| note.number),
            sent: format!("{}{to}", formats.day(version.sent_on)),
            total: formats.money(version.frozen.document.total),
            margin: margin.share().map(|share| words::percent(share, &formats)).unwrap_or_default(),
            standing: standing(versions, place, formats, today),
            accepted: version.acceptance.is_some(),
            declined: version.decline.is_some(),
            changes: changed.iter().map(|change| words::change(change, &formats)).collect(),
        }
    };
    versions.iter().enumerate().rev().map(row).collect()
}

/// How one version stands: a shape, and words.
pub(super) fn standing(
    versions: &[Version],
    place: usize,
    formats: Formats,
    today: Day,
) -> (&'static str, String) {
    let Some(version) = versions.get(place) else { return ("", String::new()) };
    if let Some(acceptance) = &version.acceptance {
        let how = if acceptance.how.is_empty() { String::new() } else { format!(", {}", acceptance.how) };
        let words = format!("Accepted on {} by {}{how}", formats.day(acceptance.on), acceptance.by);
        return match standing_acceptance(versions) {
            Some(counts) if counts != place => {
                let later = versions.get(counts).map_or(0, |version| version.number);
                ("off", format!("{words}; superseded by version {later}"))
            }
            _ => ("done", words),
        };
    }
    if let Some(decline) = &version.decline {
        let said = if decline.reason.is_empty() { String::new() } else { format!(": {}", decline.reason) };
        return ("off", format!("Declined on {} by {}{said}", formats.day(decline.on), decline.by));
    }
    if let Some(number) = overtaken(versions, version) {
        return ("off", format!("Overtaken: version {number} is what is agreed now"));
    }
    if let Some(latest) = versions.last().filter(|latest| latest.number != version.number) {
        return ("off", format!("Replaced by version {}", latest.number));
    }
    match version.frozen.document.valid_until {
        Some(until) if until < today => ("late", format!("It held until {}; no answer", formats.day(until))),
        Some(until) => ("asked", format!("No answer yet; holds until {}", formats.day(until))),
        None => ("asked", "No answer yet".to_owned()),
    }
}

/// The number of what is agreed, where that is no longer what a change note changes.
pub(super) fn overtaken(versions: &[Version], version: &Version) -> Option<i64> {
    let base = version.frozen.change.as_ref()?.agreed.version;
    let (agreed, _) = agreed(versions)?;
    (agreed.id != base).then_some(agreed.number)
}

/// A version with its event and the event's other versions.
pub(super) struct Found {
    pub event: Event,
    pub versions: Vec<Version>,
    pub place: usize,
}

impl Found {
    pub(super) fn version(&self) -> Result<&Version, Trouble> {
        self.versions.get(self.place).ok_or(Trouble::NotFound("version of a quote"))
    }
}

pub(super) async fn find(
    connection: &mut sqlx::SqliteConnection,
    id: QuoteVersionId,
) -> Result<Found, Trouble> {
    let nothing = || Trouble::NotFound("version of a quote");
    let event = store::event_of_version(connection, id).await?.ok_or_else(nothing)?;
    let event = events::store::event(connection, event).await?.ok_or_else(nothing)?;
    let versions = store::versions(connection, event.id).await?;
    let place = versions.iter().position(|version| version.id == id).ok_or_else(nothing)?;
    Ok(Found { event, versions, place })
}

#[derive(Template)]
#[template(path = "quotes/version.html")]
struct VersionPage {
    shell: Shell,
    event: Event,
    id: QuoteVersionId,
    sheet: Sheet,
    standing: (&'static str, String),
    accepted: bool,
    declined: bool,
    /// Its number among the change notes.
    note: Option<i64>,
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    let version = found.version()?;
    let f = visit.studio.formats;
    page(&VersionPage {
        shell: visit.shell(Section::Events, format!("Quote {}, {}", version.number, found.event.name)),
        id,
        sheet: sheet(&version.frozen.document, called(version, f), f),
        standing: standing(&found.versions, found.place, f, visit.today),
        accepted: version.acceptance.is_some(),
        declined: version.decline.is_some(),
        note: version.frozen.change.as_ref().map(|note| note.number),
        event: found.event,
    })
}

/// A document's amounts are written in the currency it was made in.
pub(super) fn in_currency_of(document: &Document, formats: Formats) -> Ink {
    Ink(formats.in_currency(&document.currency))
}
