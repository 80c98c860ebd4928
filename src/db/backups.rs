//! Backups of the book: where they lie, what they are called, the daily one, what becomes of old ones.
//! A backup is a whole book of its own; each was opened and read from end to end before it got its name.

pub mod rule;

use std::fs;
use std::path::{Path, PathBuf};

use super::files::{self, back_up};
use super::{Book, BookError, unusable};
use crate::ground::dates::Day;

const ENDING: &str = ".trug";
const DAILY: &str = "studio-daily-";

/// One file in a folder of backups.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Backup {
    /// Its name.
    pub name: String,
    /// How large it is, in bytes.
    pub bytes: u64,
    /// The day of a daily one; none for those made by hand or before a change.
    pub day: Option<Day>,
}

/// The folder of backups beside a book.
#[must_use]
pub fn folder_of(book: &Path) -> PathBuf {
    book.with_file_name("backups")
}

/// What lies in a folder of backups, by name, the newest day first; nothing where there is no such folder yet.
pub fn list(folder: &Path) -> Result<Vec<Backup>, BookError> {
    let mut found = Vec::new();
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(found),
        Err(error) => return Err(unusable(folder, error)),
    };
    for entry in entries {
        let entry = entry.map_err(|error| unusable(folder, error))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let about = entry.metadata().map_err(|error| unusable(folder, error))?;
        if about.is_file() && name.ends_with(ENDING) {
            found.push(Backup { day: day_of(&name), bytes: about.len(), name });
        }
    }
    found.sort_by(|a, b| (b.day, &b.name).cmp(&(a.day, &a.name)));
    Ok(found)
}

fn day_of(name: &str) -> Option<Day> {
    name.strip_prefix(DAILY)?.strip_suffix(ENDING)?.parse().ok()
}

fn daily_name(day: Day) -> String {
    format!("{DAILY}{day}{ENDING}")
}

/// Makes the day's backup beside the book where there is none yet; says whether it made one. Only when it stands are
/// old ones removed by the [`rule`].
pub async fn daily(book: &Book, today: Day) -> Result<bool, BookError> {
    let folder = folder_of(book.path());
    let file = folder.join(daily_name(today));
    if file.exists() {
        return Ok(false);
    }
    back_up(book, &file).await?;
    thin_out(&folder)?;
    Ok(true)
}

/// Brings a second place up to date with the day's backup; says whether anything was copied. The folder must be there:
/// a disk that is not plugged in is an error, not an empty folder of the same name.
pub async fn carry(book: &Book, today: Day, second: &Path) -> Result<bool, BookError> {
    let name = daily_name(today);
    let (from, to) = (folder_of(book.path()).join(&name), second.join(&name));
    if !second.is_dir() {
        return Err(BookError::NoFolder(second.to_owned()));
    }
    if to.exists() || !from.exists() {
        return Ok(false);
    }
    let unfinished = files::unfinished(&to)?;
    let copied = fs::copy(&from, &unfinished).map(drop).map_err(|error| unusable(&to, error));
    files::named_when_whole(&unfinished, &to, copied).await?;
    thin_out(second)?;
    Ok(true)
}

fn thin_out(folder: &Path) -> Result<(), BookError> {
    let daily: Vec<Day> = list(folder)?.iter().filter_map(|backup| backup.day).collect();
    let kept = rule::kept(&daily);
    for day in daily.iter().filter(|day| !kept.contains(day)) {
        let old = folder.join(daily_name(*day));
        fs::remove_file(&old).map_err(|error| unusable(&old, error))?;
    }
    Ok(())
}

/// A name that is free for the book as it is before a change to a later step of the schema.
pub(super) fn before_step(book: &Path, step: i64) -> PathBuf {
    let folder = folder_of(book);
    let name = |nth: u32| match nth {
        1 => folder.join(format!("studio-at-step-{step:04}{ENDING}")),
        nth => folder.join(format!("studio-at-step-{step:04}-{nth}{ENDING}")),
    };
    let mut nth = 1;
    while name(nth).exists() {
        nth += 1;
    }
    name(nth)
}
