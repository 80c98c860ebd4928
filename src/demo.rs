//! The demo: an invented studio in an invented town, with a busy weekend ahead. Its book is kept as files of the export
//! format under `src/demo/`, embedded in the program and read by the same code as any import; all days are moved by
//! whole weeks, so that the weekend lies just ahead. Knows every room, as the desk does.

mod money;

use std::path::Path;

use anyhow::bail;
use jiff::tz::TimeZone;
use rust_embed::RustEmbed;
use sqlx::SqliteConnection;

use crate::book_files::import::{add, import};
use crate::book_files::source::{MemoryFiles, Source};
use crate::clock::Clock;
use crate::close_out;
use crate::db::Book;
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::quotes::{self, Acceptance};
use crate::studio::{self, Studio};

#[derive(RustEmbed)]
#[folder = "src/demo/"]
struct Files;

/// The Saturday of the busy weekend as the files have it.
pub(crate) const SATURDAY: Day = Day(jiff::civil::date(2026, 5, 16));

/// A quote that was sent: how many days after the files' Saturday, and when it was accepted, by whom and how.
struct Sent {
    event: EventId,
    on: i64,
    to: &'static str,
    accepted: Option<(i64, &'static str, &'static str)>,
}

/// The quotes that were sent. Their frozen documents are not in the files: the quotes room makes them, as it does for
/// any quote, so that they are always what it can read.
const SENT: [Sent; 7] = [
    Sent {
        event: EventId(2),
        on: -96,
        to: "delia.pennywort@post.example",
        accepted: Some((-90, "Delia Pennywort", "In the studio")),
    },
    Sent {
        event: EventId(1),
        on: -58,
        to: "office@dlf-law.example",
        accepted: Some((-55, "Office of Dorrit, Lowe & Finch", "By mail, PO 20417")),
    },
    Sent {
        event: EventId(3),
        on: -68,
        to: "imke.and.tobias@post.example",
        accepted: Some((-61, "Imke Sorrell", "Signed at the barn")),
    },
    Sent {
        event: EventId(4),
        on: -38,
        to: "secretary@sallowbyrowing.example",
        accepted: Some((-33, "Greer Oddie, secretary", "By mail")),
    },
    Sent {
        event: EventId(5),
        on: -19,
        to: "joss.hallorane@post.example",
        accepted: Some((-14, "Joss Hallorane", "By telephone")),
    },
    Sent {
        event: EventId(10),
        on: -32,
        to: "office@dlf-law.example",
        accepted: Some((-30, "Office of Dorrit, Lowe & Finch", "By mail")),
    },
    Sent { event: EventId(8), on: -12, to: "brindletay@post.example", accepted: None },
];

/// Tables that came after the step of the files: read once the book has them.
const LATER: &[&str] = &[
    "closed_day",
    "stock_lot",
    "stock_change",
    "stock_reservation",
    "placed_order",
    "placed_order_event",
    "placed_delivery",
    "placed_line",
    "placed_share",
    "placed_line_answer",
    "receipt_line",
    "bench_loss",
    "loss_rule",
    "loan_period",
    "loan_count",
    "loan_return",
    "loan_charge",
    "crate_kind",
    "van",
    "recipe_travel",
    "kit_travel",
    "extra_travel",
    "run_drive",
    "hand_over",
    "van_return",
    "van_return_line",
    "pail_rule",
    "temperature_path",
    "venue_temperature",
    "event_work",
    "recipe_alternative",
    "piece_wish",
    "tick",
    "account_settings",
    "usual_instalment",
    "cancellation_step",
    "tax_treatment",
    "client_account",
    "shift",
    "shift_exception",
    "bench_rule",
    "close_out_save",
    "close_out_hours",
    "close_out_cost",
];

/// An event that was closed out, and so many days after the files' Saturday.
const CLOSED: (EventId, i64) = (EventId(2), -24);

/// Makes the demo's book at a path where none is yet.
pub async fn make(path: &Path, clock: Clock) -> anyhow::Result<Book> {
    let files = files();
    let weeks = weeks_to_move(clock.today(&TimeZone::UTC));
    import(Source::Memory(&files), path, weeks).await?;
    let book = Book::open(path).await?;
    let mut all = book.fill().await?;
    add(Source::Memory(&files), &mut all, LATER, weeks).await?;
    let studio = studio::store::studio(&mut all).await?;
    for sent in &SENT {
        send(&mut all, &studio, sent, SATURDAY.plus(weeks * 7)).await?;
    }
    money::keep(&mut all, &studio, SATURDAY.plus(weeks * 7)).await?;
    let on = SATURDAY.plus(weeks * 7 + CLOSED.1);
    close_out::pages::close_as_of(&mut all, &studio, CLOSED.0, (on, format!("{on}T18:00:00Z").parse()?))
        .await?;
    all.commit().await?;
    Ok(book)
}

async fn send(
    connection: &mut SqliteConnection,
    studio: &Studio,
    sent: &Sent,
    saturday: Day,
) -> anyhow::Result<()> {
    let as_sent = (saturday.plus(sent.on), sent.to);
    let version = match quotes::pages::send(connection, studio, sent.event, as_sent).await {
        Ok(version) => version,
        Err(trouble) => bail!("The demo's quote of event {} is not sent: {trouble:?}", sent.event),
    };
    if let Some((on, by, how)) = sent.accepted {
        let on = saturday.plus(on);
        let recorded = format!("{on}T16:20:00Z").parse()?;
        let acceptance = Acceptance { on, by: by.into(), how: how.into() };
        quotes::store::accept(connection, version, &acceptance, recorded).await?;
    }
    Ok(())
}

/// The files as they are embedded.
pub(crate) fn files() -> MemoryFiles {
    Files::iter()
        .filter_map(|name| Files::get(&name).map(|file| (name.to_string(), file.data.into_owned())))
        .collect()
}

/// How many weeks from the files' Saturday to the busy weekend: this week's until Tuesday; from Wednesday on the next
/// one, since this one's flowers can no longer be ordered in time.
pub(crate) fn weeks_to_move(today: Day) -> i64 {
    let saturday = today.monday().plus(if today.weekday_index() < 2 { 5 } else { 12 });
    saturday.days_after(SATURDAY) / 7
}

#[cfg(test)]
mod tests {
    use super::*;

    fn saturday_on(today: &str) -> String {
        SATURDAY.plus(weeks_to_move(today.parse().unwrap()) * 7).to_string()
    }

    #[test]
    fn the_weekend_is_the_next_that_can_be_ordered_for() {
        assert_eq!(saturday_on("2026-05-11"), "2026-05-16", "Monday");
        assert_eq!(saturday_on("2026-05-12"), "2026-05-16", "Tuesday");
        assert_eq!(saturday_on("2026-05-13"), "2026-05-23", "Wednesday");
        assert_eq!(saturday_on("2026-05-17"), "2026-05-23", "Sunday");
        assert_eq!(saturday_on("2024-12-31"), "2025-01-04", "before the files' own days");
    }
}
