//! The command line, one file a group of commands. Says what was done on the standard output, what went wrong on the
//! standard error, in sentences.

mod books;
mod calendar;
mod demo;
mod log;
mod papers;
mod person;
mod plan;
mod quote;
mod serve;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use trug::clock::Clock;
use trug::config;
use trug::db::history::{Errand, on_errand};

#[derive(Parser)]
#[command(name = "trug", version, about = "The order book of a small event-flower studio")]
pub(crate) struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Open the studio's book (made if there is none) and serve it on this machine
    Serve(serve::ServeArgs),
    /// Make a demo studio with a busy weekend and serve it on this machine
    Demo(demo::DemoArgs),
    /// Write the whole book to a folder of CSV files that anyone can read
    Export(books::ExportArgs),
    /// Read a folder made by `trug export` into an empty book
    Import(books::ImportArgs),
    /// Say who may come in from other devices, and give passphrases
    Person(person::PersonArgs),
    /// Copy the book to a file, while it is in use or not
    Backup(books::BackupArgs),
    /// Put a backup in the book's place; the old book is kept beside it
    Restore(books::RestoreArgs),
    /// Read the book from end to end and say whether it is whole and its figures tie
    Check(books::CheckArgs),
    /// Write the stem order for the events of some days
    Order(papers::PaperArgs),
    /// Write the prep sheets for the events of some days
    Prep(papers::PaperArgs),
    /// Write the pull lists of the events of some days
    Pull(papers::PaperArgs),
    /// Write a sent version of an event's quote, as PDF or HTML file
    Quote(quote::QuoteArgs),
    /// Write the calendar of some days, for calendar programs
    Calendar(calendar::CalendarArgs),
    /// Plan an order that stands in a JSON file: the buying plan by itself
    Plan(plan::PlanArgs),
    /// Make a book of ten years' work, for trying out how fast Trug is
    #[command(hide = true)]
    TenYears(demo::TenYearsArgs),
}

#[derive(Args)]
struct DataArgs {
    /// The folder that holds the book [default: the platform's folder for application data]
    #[arg(long, value_name = "FOLDER")]
    data: Option<PathBuf>,
}

impl DataArgs {
    fn book_path(self) -> anyhow::Result<PathBuf> {
        Ok(config::data_folder(self.data)?.join(config::BOOK_FILE))
    }
}

/// Does what a command does; the history bears by which way it came.
async fn by_way_of<F: Future>(way: &str, work: F) -> F::Output {
    on_errand(Errand::new(Clock::Machine.now(), way), work).await
}

pub(crate) async fn run(cli: Cli) -> anyhow::Result<()> {
    // A server keeps its log beside its book.
    if !matches!(cli.command, Command::Serve(_)) {
        log::to_the_screen();
    }
    match cli.command {
        Command::Serve(args) => serve::run(args).await,
        Command::Demo(args) => demo::run(args).await,
        Command::Export(args) => books::export_book(args).await,
        Command::Import(args) => by_way_of("trug import", books::import_book(args)).await,
        Command::Person(args) => by_way_of("trug person", person::run(args)).await,
        Command::Backup(args) => books::back_up(args).await,
        Command::Restore(args) => books::restore(args).await,
        Command::Check(args) => books::check(args).await,
        Command::Order(args) => papers::order(args).await,
        Command::Prep(args) => papers::prep(args).await,
        Command::Pull(args) => papers::pull(args).await,
        Command::Quote(args) => quote::run(args).await,
        Command::Calendar(args) => calendar::run(args).await,
        Command::Plan(args) => plan::run(&args),
        Command::TenYears(args) => demo::ten_years(args).await,
    }
}
