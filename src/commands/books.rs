//! The whole book: exported, imported, backed up, restored, checked.

use std::path::{Path, PathBuf};

use anyhow::bail;
use clap::Args;
use jiff::tz::TimeZone;
use trug::book_check::{self, CheckError, Weight};
use trug::book_files::export::export;
use trug::book_files::import::import;
use trug::book_files::is_empty;
use trug::book_files::source::Source;
use trug::clock::Clock;
use trug::db::backups::folder_of;
use trug::db::{Book, BookError, files};

use super::DataArgs;

#[derive(Args)]
pub(crate) struct ExportArgs {
    /// The folder to write; it must not be there yet, or be empty
    folder: PathBuf,
    #[command(flatten)]
    data: DataArgs,
}

#[derive(Args)]
pub(crate) struct ImportArgs {
    /// The folder that `trug export` made
    folder: PathBuf,
    #[command(flatten)]
    data: DataArgs,
    /// Replace a book that is not empty; it is kept among the backups
    #[arg(long)]
    replace: bool,
}

#[derive(Args)]
pub(crate) struct BackupArgs {
    /// The file to write [default: a dated file in the folder `backups` beside the book]
    file: Option<PathBuf>,
    #[command(flatten)]
    data: DataArgs,
}

#[derive(Args)]
pub(crate) struct RestoreArgs {
    /// The backup to put in the book's place
    file: PathBuf,
    #[command(flatten)]
    data: DataArgs,
}

#[derive(Args)]
pub(crate) struct CheckArgs {
    #[command(flatten)]
    data: DataArgs,
}

pub(crate) async fn export_book(args: ExportArgs) -> anyhow::Result<()> {
    let book = Book::open_existing(&args.data.book_path()?).await?;
    let written = export(&book, &args.folder).await?;
    book.close().await;
    println!(
        "{} rows of {} tables and {} pictures are in {}. README.txt there says what every column means.",
        written.rows,
        written.tables,
        written.pictures,
        args.folder.display()
    );
    Ok(())
}

pub(crate) async fn import_book(args: ImportArgs) -> anyhow::Result<()> {
    let path = args.data.book_path()?;
    let filled = if path.exists() { holds_something(&path).await? } else { false };
    if filled && !args.replace {
        bail!(
            "The book at {} is not empty. Nothing was changed. With --replace it is set aside among the backups first.",
            path.display()
        );
    }
    let new = path.with_extension("importing");
    files::make_folder_of(&path)?;
    let rows = import(Source::Folder(&args.folder), &new, 0).await?;
    let kept = place(&new, &path, "before-import").await?;
    println!("{rows} rows were read into {}.", path.display());
    if filled {
        println!("The book that was there is now {}.", kept.display());
    } else {
        files::remove(&kept);
    }
    Ok(())
}

async fn holds_something(path: &Path) -> anyhow::Result<bool> {
    let book = Book::open(path).await?;
    let empty = is_empty(&book).await?;
    book.close().await;
    Ok(!empty)
}

pub(crate) async fn back_up(args: BackupArgs) -> anyhow::Result<()> {
    let path = args.data.book_path()?;
    let file = args.file.unwrap_or_else(|| set_aside(&path, "backup"));
    let book = Book::open_existing(&path).await?;
    files::back_up(&book, &file).await?;
    book.close().await;
    println!("The book is copied to {}, and the copy is whole.", file.display());
    Ok(())
}

pub(crate) async fn restore(args: RestoreArgs) -> anyhow::Result<()> {
    let path = args.data.book_path()?;
    if !args.file.exists() {
        bail!("There is no file {}. Nothing was changed.", args.file.display());
    }
    let had_one = path.exists();
    files::make_folder_of(&path)?;
    let new = path.with_extension("restoring");
    if let Err(error) = files::copy_of_backup(&args.file, &new).await {
        files::remove(&new);
        return Err(error.into());
    }
    let kept = place(&new, &path, "before-restore").await?;
    println!("{} is now the book at {}.", args.file.display(), path.display());
    if had_one {
        println!("The book that was there is now {}.", kept.display());
    }
    Ok(())
}

pub(crate) async fn check(args: CheckArgs) -> anyhow::Result<()> {
    let path = args.data.book_path()?;
    files::check(&path).await?;
    let findings = match book_check::check(&path).await {
        // Its file is whole; what an earlier Trug wrote is looked through once it is brought up to date.
        Err(CheckError::Book(older @ BookError::Older(_))) => {
            println!("{older}");
            return Ok(());
        }
        findings => findings?,
    };
    let (wrong, notes): (Vec<_>, Vec<_>) =
        findings.iter().partition(|finding| finding.weight == Weight::Wrong);
    for note in notes {
        println!("For your information. {note}");
    }
    if wrong.is_empty() {
        println!("{} is whole, and its figures tie.", path.display());
        return Ok(());
    }
    for finding in &wrong {
        println!("{finding}");
    }
    bail!(
        "{} is whole as a file, but {} in it: see above. Nothing was changed.",
        path.display(),
        if wrong.len() == 1 {
            "one thing is wrong".to_owned()
        } else {
            format!("{} things are wrong", wrong.len())
        }
    )
}

async fn place(new: &Path, path: &Path, why: &str) -> anyhow::Result<PathBuf> {
    let kept = set_aside(path, why);
    if let Err(error) = files::put_in_place(new, path, &kept).await {
        files::remove(new);
        return Err(error.into());
    }
    Ok(kept)
}

/// A dated name in the folder of backups beside the book.
fn set_aside(path: &Path, why: &str) -> PathBuf {
    let now = Clock::Machine.now().0.to_zoned_datetime(TimeZone::system());
    let name = format!("studio-{why}-{}.trug", now.strftime("%Y-%m-%d-%H%M%S"));
    folder_of(path).join(name)
}
