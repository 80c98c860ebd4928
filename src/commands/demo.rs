//! `trug demo`: a studio to look around in. `trug ten-years`: a large book to measure with.

use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use clap::Args;
use trug::clock::Clock;
use trug::db::Book;
use trug::{config, demo, ten_years};

use super::serve;

#[derive(Args)]
pub(crate) struct DemoArgs {
    /// Keep the demo's book in this folder and open it again next time [default: a fresh one that is removed at the end]
    #[arg(long, value_name = "FOLDER")]
    data: Option<PathBuf>,
    /// The port on this machine; 0 takes any free one
    #[arg(long, default_value_t = 4311)]
    port: u16,
}

#[derive(Args)]
pub(crate) struct TenYearsArgs {
    /// The folder in which the book is made; there must be none yet
    folder: PathBuf,
    /// Another number makes another book
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

pub(crate) async fn run(args: DemoArgs) -> anyhow::Result<()> {
    let opened = serve::loopback(args.port);
    let listener = serve::listener(opened.address).await?;
    let Some(folder) = args.data else {
        let folder = own_folder()?;
        println!(
            "A demo studio, all of it invented. Its book is removed at the end; with --data FOLDER it is kept."
        );
        let book = made(&folder).await?;
        let served = serve::serve(listener, book, opened).await;
        std::fs::remove_dir_all(&folder)
            .with_context(|| format!("The demo's folder {} could not be removed", folder.display()))?;
        return served;
    };
    let path = folder.join(config::BOOK_FILE);
    let book = if path.exists() {
        println!("There is a book in {} already; it is opened as it is.", folder.display());
        Book::open(&path).await?
    } else {
        println!("A demo studio, all of it invented. Its book is kept in {}.", folder.display());
        made(&folder).await?
    };
    serve::serve(listener, book, opened).await
}

/// A folder that nobody else has made.
fn own_folder() -> anyhow::Result<PathBuf> {
    let mut number = 0;
    loop {
        let folder = std::env::temp_dir().join(format!("trug-demo-{}-{number}", std::process::id()));
        match std::fs::create_dir(&folder) {
            Ok(()) => return Ok(folder),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => number += 1,
            Err(error) => return Err(error).with_context(|| format!("{} cannot be made", folder.display())),
        }
    }
}

async fn made(folder: &Path) -> anyhow::Result<Book> {
    std::fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
    demo::make(&folder.join(config::BOOK_FILE), Clock::Machine).await
}

pub(crate) async fn ten_years(args: TenYearsArgs) -> anyhow::Result<()> {
    let path = args.folder.join(config::BOOK_FILE);
    if path.exists() {
        bail!("There is a book at {} already. Choose another folder.", path.display());
    }
    std::fs::create_dir_all(&args.folder)
        .with_context(|| format!("{} cannot be made", args.folder.display()))?;
    let rows = ten_years::make(&path, args.seed, Clock::Machine).await?;
    println!("A book of ten years with {rows} rows is at {}.", path.display());
    Ok(())
}
