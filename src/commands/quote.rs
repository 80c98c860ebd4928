//! `trug quote`: a sent version of a quote on the standard output, as the client gets it.

use std::io::{self, IsTerminal};

use anyhow::{Context, bail};
use clap::{Args, ValueEnum};
use trug::db::Book;
use trug::ground::ids::EventId;
use trug::papers::pages::html;
use trug::papers::pdf::pdf;
use trug::{quotes, studio};

use super::DataArgs;
use super::papers::say;

#[derive(Args)]
pub(crate) struct QuoteArgs {
    /// The event, by the number in its page's address
    event: EventId,
    /// The version [default: the latest]
    #[arg(long, value_name = "NUMBER")]
    version: Option<i64>,
    /// How it is written
    #[arg(long, value_enum, default_value_t = Form::Pdf)]
    format: Form,
    #[command(flatten)]
    data: DataArgs,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// To send and print
    Pdf,
    /// One file that needs no other
    Html,
}

pub(crate) async fn run(args: QuoteArgs) -> anyhow::Result<()> {
    if args.format == Form::Pdf && io::stdout().is_terminal() {
        bail!("A PDF is no text to read here. Send it to a file: trug quote {} > quote.pdf", args.event);
    }
    let QuoteArgs { event, version, format, data } = args;
    let book = Book::open_existing(&data.book_path()?).await?;
    let mut connection = book.read().await?;
    let studio = studio::store::studio(&mut connection).await?;
    let versions = quotes::store::versions(&mut connection, event).await?;
    let asked = match version {
        Some(number) => versions.iter().find(|version| version.number == number),
        None => versions.last(),
    };
    let Some(version) = asked else { bail!("{}", nothing(event, version, versions.len())) };
    let sheet = quotes::pages::file_of(&mut connection, version, studio.formats).await?;
    match format {
        Form::Pdf => say(&pdf(&sheet, studio.paper)?),
        Form::Html => say(html(&sheet, studio.paper).context("The file is not written")?.as_bytes()),
    }
}

fn nothing(event: EventId, version: Option<i64>, sent: usize) -> String {
    match version {
        Some(number) if sent > 0 => {
            format!("Event {event} has {sent} sent versions of its quote, and no version {number}.")
        }
        _ => format!("No version of a quote was sent for event {event}."),
    }
}
