//! `trug quote`: a sent version of a quote on the standard output, as the client gets it; its change note; or a draft.

use std::io::{self, IsTerminal};

use anyhow::{Context, bail};
use clap::{Args, ValueEnum};
use sqlx::SqliteConnection;
use trug::clock::Clock;
use trug::db::Book;
use trug::ground::ids::EventId;
use trug::papers::pages::html;
use trug::papers::pdf::pdf;
use trug::papers::sheet::Sheet;
use trug::studio::Studio;
use trug::web::answer::Trouble;
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
    /// The change note that the version carries, instead of the whole quote
    #[arg(long)]
    change_note: bool,
    /// The quote as it stands now, marked as a draft
    #[arg(long, conflicts_with_all = ["version", "change_note"])]
    draft: bool,
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
    let book = Book::open_existing(&args.data.book_path()?).await?;
    let mut connection = book.read().await?;
    let studio = studio::store::studio(&mut connection).await?;
    let sheet = if args.draft {
        draft(&mut connection, &studio, args.event).await?
    } else {
        sent(&mut connection, &studio, (args.event, args.version), args.change_note).await?
    };
    match args.format {
        Form::Pdf => say(&pdf(&sheet, studio.paper)?),
        Form::Html => say(html(&sheet, studio.paper).context("The file is not written")?.as_bytes()),
    }
}

async fn draft(connection: &mut SqliteConnection, studio: &Studio, event: EventId) -> anyhow::Result<Sheet> {
    let today = Clock::Machine.today(&studio.zone);
    match quotes::pages::draft_file(connection, studio, event, today).await {
        Ok(sheet) => Ok(sheet),
        Err(Trouble::NotFound(_)) => bail!("There is no event {event}."),
        Err(Trouble::Conflict(why)) => bail!("{why}"),
        Err(other) => bail!("The draft is not written: {other:?}"),
    }
}

async fn sent(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (event, asked): (EventId, Option<i64>),
    change_note: bool,
) -> anyhow::Result<Sheet> {
    let versions = quotes::store::versions(connection, event).await?;
    let found = match asked {
        Some(number) => versions.iter().find(|version| version.number == number),
        None => versions.last(),
    };
    let Some(version) = found else { bail!("{}", nothing(event, asked, versions.len())) };
    if !change_note {
        return Ok(quotes::pages::file_of(connection, version, studio.formats).await?);
    }
    let note = quotes::pages::note_file(connection, version, studio.formats).await?;
    note.with_context(|| format!("Version {} of event {event}'s quote is no change note.", version.number))
}

fn nothing(event: EventId, version: Option<i64>, sent: usize) -> String {
    match version {
        Some(number) if sent > 0 => {
            format!("Event {event} has {sent} sent versions of its quote, and no version {number}.")
        }
        _ => format!("No version of a quote was sent for event {event}."),
    }
}
