//! `trug order`, `trug prep`, `trug pull`: the weekend's papers on the standard output, from the same rooms as the
//! pages: as text to read, as JSON or CSV for other programs.

mod table;
mod text;

use std::io::{self, Write};

use anyhow::{Context, bail};
use clap::{Args, ValueEnum};
use serde::Serialize;
use sqlx::SqliteConnection;
use trug::clock::Clock;
use trug::db::Book;
use trug::ground::dates::{Day, Moment};
use trug::ground::ids::EventId;
use trug::prep::plan::PrepSheets;
use trug::pull_list::pull::PullList;
use trug::stem_order::calendar::Deliveries;
use trug::stem_order::choices::pins::Pins;
use trug::stem_order::order::StemOrder;
use trug::stem_order::order_csv;
use trug::stem_order::store::planning::{Asked, plan_order, time_limit};
use trug::studio::Studio;
use trug::{events, prep, pull_list, studio};

use super::DataArgs;

#[derive(Args)]
pub(crate) struct PaperArgs {
    /// The first day of the events, such as 2026-05-16 [default: today]
    #[arg(long, value_name = "DATE", value_parser = read_day)]
    from: Option<Day>,
    /// Their last day [default: six days after the first]
    #[arg(long, value_name = "DATE", value_parser = read_day)]
    to: Option<Day>,
    /// How it is written
    #[arg(long, value_enum, default_value_t = Form::Text)]
    format: Form,
    #[command(flatten)]
    data: DataArgs,
}

#[derive(Clone, Copy, ValueEnum)]
enum Form {
    /// To read and print
    Text,
    /// All there is to know, for other programs
    Json,
    /// A row a line, for spreadsheets
    Csv,
}

pub(super) fn read_day(text: &str) -> Result<Day, String> {
    text.parse().map_err(|_| "write the day as year, month and day: 2026-05-16".into())
}

pub(crate) async fn order(args: PaperArgs) -> anyhow::Result<()> {
    let mut desk = Desk::open(args).await?;
    let order = desk.order().await?;
    let formats = desk.studio.formats;
    match desk.form {
        Form::Text => say(text::order(&order, &desk.studio).as_bytes()),
        Form::Json => say_json(&order),
        Form::Csv => say(&order_csv::csv(&order, &formats, None)?),
    }
}

pub(crate) async fn prep(args: PaperArgs) -> anyhow::Result<()> {
    let mut desk = Desk::open(args).await?;
    let sheets = desk.prep().await?;
    match desk.form {
        Form::Text => say(text::prep(&sheets, &desk.studio).as_bytes()),
        Form::Json => say_json(&sheets),
        Form::Csv => say(&table::prep(&sheets)?),
    }
}

pub(crate) async fn pull(args: PaperArgs) -> anyhow::Result<()> {
    let mut desk = Desk::open(args).await?;
    let lists = desk.pull().await?;
    match desk.form {
        Form::Text => say(text::pull(&lists, &desk.studio).as_bytes()),
        Form::Json => say_json(&lists),
        Form::Csv => say(&table::pull(&lists)?),
    }
}

/// An open book with what was asked of it.
struct Desk {
    book: Book,
    studio: Studio,
    now: Moment,
    events: Vec<EventId>,
    form: Form,
}

impl Desk {
    async fn open(args: PaperArgs) -> anyhow::Result<Desk> {
        let book = Book::open_existing(&args.data.book_path()?).await?;
        let mut connection = book.read().await?;
        let studio = studio::store::studio(&mut connection).await?;
        let (now, today) = (Clock::Machine.now(), Clock::Machine.today(&studio.zone));
        let from = args.from.or(args.to.filter(|to| *to < today)).unwrap_or(today);
        let to = args.to.unwrap_or_else(|| from.plus(6));
        if to < from {
            bail!("The last day, {to}, is before the first, {from}.");
        }
        let events = chosen(&mut connection, from, to).await?;
        drop(connection);
        Ok(Desk { book, studio, now, events, form: args.format })
    }

    async fn order(&mut self) -> anyhow::Result<StemOrder> {
        let asked = Asked {
            events: self.events.clone(),
            deliveries: Deliveries::ByCalendar,
            pins: Pins::default(),
            anew: false,
        };
        let ordered = plan_order(&self.book, &self.studio, &asked, self.now, time_limit(&self.studio)).await;
        Ok(ordered.context("There is no order")?.order)
    }

    async fn prep(&mut self) -> anyhow::Result<PrepSheets> {
        let mut connection = self.book.read().await?;
        // Who works when is planned by the week, so whole weeks are prepared together, as on the pages.
        let asked = events::store::events(&mut connection, &self.events).await?;
        let days = || asked.iter().map(|event| event.day);
        let events = match (days().min(), days().max()) {
            (Some(first), Some(last)) => {
                chosen(&mut connection, first.monday(), last.monday().plus(6)).await?
            }
            _ => self.events.clone(),
        };
        let inputs = prep::store::load(&mut connection, &self.studio, &events, self.now).await;
        let inputs = inputs.context("There are no prep sheets")?;
        prep::plan::sheets(&inputs, &self.studio.formats).context("There are no prep sheets")
    }

    async fn pull(&mut self) -> anyhow::Result<Vec<PullList>> {
        let mut connection = self.book.read().await?;
        let mut lists = Vec::new();
        for event in &self.events {
            if let Some(inputs) = pull_list::store::load(&mut connection, *event).await? {
                let list = pull_list::pull::list(&inputs, &self.studio.formats);
                lists.push(list.with_context(|| format!("There is no pull list for {}", inputs.event.name))?);
            }
        }
        Ok(lists)
    }
}

async fn chosen(connection: &mut SqliteConnection, from: Day, to: Day) -> anyhow::Result<Vec<EventId>> {
    let events = events::store::open_between(connection, from, to).await?;
    if events.is_empty() {
        bail!("There is no event from {from} to {to}. Choose other days with --from and --to.");
    }
    Ok(events.into_iter().map(|event| event.id).collect())
}

fn say_json(paper: &impl Serialize) -> anyhow::Result<()> {
    let mut text = serde_json::to_string_pretty(paper)?;
    text.push('\n');
    say(text.as_bytes())
}

/// Writes all at once; that nobody reads on is no failure.
pub(super) fn say(bytes: &[u8]) -> anyhow::Result<()> {
    match io::stdout().lock().write_all(bytes) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(error).context("The paper is not written")
        }
        _ => Ok(()),
    }
}
