//! The demo: an invented studio in an invented town, with a busy weekend ahead. Its book is kept as files of the export
//! format under `src/demo/`, embedded in the program and read by the same code as any import; all days are moved by
//! whole weeks, so that the weekend is the coming one. Knows every room, as the desk does.

use std::path::Path;

use rust_embed::RustEmbed;

use crate::book_files::BookFilesError;
use crate::book_files::import::import;
use crate::book_files::source::{MemoryFiles, Source};
use crate::clock::Clock;
use crate::db::Book;
use crate::ground::dates::Day;

#[derive(RustEmbed)]
#[folder = "src/demo/"]
struct Files;

/// The Saturday of the busy weekend as the files have it.
pub(crate) const SATURDAY: Day = Day(jiff::civil::date(2026, 5, 16));

/// Makes the demo's book at a path where none is yet.
pub async fn make(path: &Path, clock: Clock) -> Result<Book, BookFilesError> {
    let files = files();
    let today = clock.today(&jiff::tz::TimeZone::UTC);
    import(Source::Memory(&files), path, weeks_to_move(today)).await?;
    Ok(Book::open(path).await?)
}

/// The files as they are embedded.
pub(crate) fn files() -> MemoryFiles {
    Files::iter()
        .filter_map(|name| Files::get(&name).map(|file| (name.to_string(), file.data.into_owned())))
        .collect()
}

/// How many weeks from the files' Saturday to the coming one: this week's, or next week's on a weekend.
pub(crate) fn weeks_to_move(today: Day) -> i64 {
    let weekend = today.weekday_index() >= 5;
    let saturday = today.monday().plus(if weekend { 12 } else { 5 });
    saturday.days_after(SATURDAY) / 7
}

#[cfg(test)]
mod tests {
    use super::*;

    fn saturday_on(today: &str) -> String {
        SATURDAY.plus(weeks_to_move(today.parse().unwrap()) * 7).to_string()
    }

    #[test]
    fn the_weekend_is_the_coming_one() {
        assert_eq!(saturday_on("2026-05-11"), "2026-05-16", "Monday");
        assert_eq!(saturday_on("2026-05-15"), "2026-05-16", "Friday");
        assert_eq!(saturday_on("2026-05-16"), "2026-05-23", "Saturday");
        assert_eq!(saturday_on("2026-05-17"), "2026-05-23", "Sunday");
        assert_eq!(saturday_on("2024-12-31"), "2025-01-04", "before the files' own days");
    }
}
