//! `trug calendar`: the studio's calendar as an iCalendar file on the standard output.

use anyhow::bail;
use clap::Args;
use trug::clock::Clock;
use trug::db::Book;
use trug::desk::calendar::Covered;
use trug::desk::calendar::gathered::{feed_or_begun, gather};
use trug::desk::calendar::written::{Around, calendar};
use trug::desk::outlook::Desk;
use trug::ground::dates::Day;
use trug::stem_order::store::planning::local;
use trug::studio;

use super::DataArgs;
use super::papers::{read_day, say};

/// So many days from the first where no last day is said.
const USUAL_DAYS: i64 = 91;

#[derive(Args)]
pub(crate) struct CalendarArgs {
    /// The first day, such as 2026-05-16 [default: today]
    #[arg(long, value_name = "DATE", value_parser = read_day)]
    from: Option<Day>,
    /// The last day [default: three months after the first]
    #[arg(long, value_name = "DATE", value_parser = read_day)]
    to: Option<Day>,
    #[command(flatten)]
    data: DataArgs,
}

pub(crate) async fn run(args: CalendarArgs) -> anyhow::Result<()> {
    let book = Book::open_existing(&args.data.book_path()?).await?;
    let mut connection = book.read().await?;
    let studio = studio::store::studio(&mut connection).await?;
    let moment = Clock::Machine.now();
    let now = local(moment, &studio);
    let from = args.from.unwrap_or(now.day);
    let to = args.to.unwrap_or_else(|| from.plus(USUAL_DAYS));
    if to < from {
        bail!("The last day, {to}, is before the first, {from}.");
    }
    let desk = Desk { studio: &studio, now, moment };
    let entries = gather(&mut connection, &desk, Covered { from, to }).await?;
    if entries.is_empty() {
        bail!("Nothing stands in the calendar from {from} to {to}. Choose other days with --from and --to.");
    }
    let feed = feed_or_begun(&book, &mut connection).await?;
    let around = Around {
        studio: &studio.name,
        zone: &studio.zone,
        book: &feed.book,
        origin: None,
        reminder: feed.reminder,
        written_at: moment,
    };
    say(calendar(&entries, &around).as_bytes())
}
