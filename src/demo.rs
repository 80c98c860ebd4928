//! The demo: an invented studio in an invented town, with a busy weekend ahead. Its book is kept as files of the export
//! format under `src/demo/`, embedded in the program and read by the same code as any import; all days are moved by
//! whole weeks, so that the weekend lies just ahead. Knows every room, as the desk does.

mod money;
mod quotes;

use std::path::Path;

use anyhow::Context;
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
use crate::papers::picture::read_sign;
use crate::studio::Studio;
use crate::{papers, studio};

#[derive(RustEmbed)]
#[folder = "src/demo/"]
struct Files;

/// The Saturday of the busy weekend as the files have it.
pub(crate) const SATURDAY: Day = Day(jiff::civil::date(2026, 5, 16));

/// What a new quote begins with.
const GREETING: &str = "Thank you for asking us. Below is what we spoke of, place by place; tell us what you would have otherwise.";

/// How a client accepts.
const ACCEPT_WORDS: &str = "Sign below and send this page back, or write to us that you agree, naming the version. The day is held once the first part of the payment has come.";

/// How a quote ends.
const CLOSING: &str = "With kind regards from the bench,\nHob & Teasel";

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
    "piece_set",
    "piece_set_line",
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
    words_and_sign(&mut all).await?;
    let studio = studio::store::studio(&mut all).await?;
    quotes::keep(&mut all, &studio, SATURDAY.plus(weeks * 7)).await?;
    money::keep(&mut all, &studio, SATURDAY.plus(weeks * 7)).await?;
    let on = SATURDAY.plus(weeks * 7 + CLOSED.1);
    close_out::pages::close_as_of(&mut all, &studio, CLOSED.0, (on, format!("{on}T18:00:00Z").parse()?))
        .await?;
    all.commit().await?;
    Ok(book)
}

/// What came to the settings after the step of the files: words for clients, and the studio's sign.
async fn words_and_sign(connection: &mut SqliteConnection) -> anyhow::Result<()> {
    let studio = studio::store::studio(connection).await?;
    let words = Studio {
        greeting: GREETING.into(),
        accept_words: ACCEPT_WORDS.into(),
        closing: CLOSING.into(),
        ..studio
    };
    studio::store::keep(connection, &words).await?;
    let file = Files::get("sign.png").context("The demo's sign is not among its files.")?;
    let sign = papers::store::add(connection, &read_sign(&file.data)?).await?;
    studio::store::set_logo(connection, Some(sign)).await?;
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
