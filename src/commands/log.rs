//! The log: sentences on the standard error; while Trug serves, also in a file a day, of which the last two weeks are kept.

use std::io;
use std::path::Path;

use anyhow::Context;
use tracing_appender::rolling::{RollingFileAppender, Rotation};
use tracing_subscriber::fmt::writer::{BoxMakeWriter, MakeWriterExt};

/// So many files are kept.
const DAYS: usize = 14;

pub(crate) fn to_the_screen() {
    begin(BoxMakeWriter::new(io::stderr));
}

/// Also to `log/trug.YYYY-MM-DD.log` beside the book (the day is UTC's, as the times in it are).
pub(crate) fn to_the_screen_and_beside(book: &Path) -> anyhow::Result<()> {
    let folder = book.with_file_name("log");
    // Else the appender complains of a folder that it is about to make.
    std::fs::create_dir_all(&folder)
        .with_context(|| format!("No log can be kept in {}", folder.display()))?;
    let file = RollingFileAppender::builder()
        .rotation(Rotation::DAILY)
        .filename_prefix("trug")
        .filename_suffix("log")
        .max_log_files(DAYS)
        .build(&folder)
        .with_context(|| format!("No log can be kept in {}", folder.display()))?;
    begin(BoxMakeWriter::new(io::stderr.and(file)));
    Ok(())
}

fn begin(writer: BoxMakeWriter) {
    tracing_subscriber::fmt()
        .with_writer(writer)
        .with_ansi(false)
        .with_target(false)
        .with_max_level(tracing::Level::INFO)
        .init();
}
