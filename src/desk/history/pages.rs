//! The history of a record, or of the whole book.

use std::collections::BTreeMap;

use askama::Template;
use axum::Router;
use axum::routing::{get, post};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::telling::{Teller, Told, wanted};
use super::words::{KINDS, kind_words, parts_of};
use super::{Act, Asked, Changed, gone, store, undoing};
use crate::db::history::undo::hindrance;
use crate::db::schema::{self, Table};
use crate::ground::dates::{Day, Moment};
use crate::studio::record_pages::{page_of, undo_path};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::forms::Query;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/history", get(show))
        .route("/history/acts/{act}/undoing", post(undoing::undo))
        .route("/history/restorations/{record}", post(gone::put_back))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct HistoryQuery {
    of: String,
    kind: String,
    who: String,
    until: String,
    page: String,
}

#[derive(Template)]
#[template(path = "desk/history.html")]
struct HistoryPage {
    shell: Shell,
    asked: Asked,
    until: String,
    /// What the record is called, and its page.
    record: Option<(String, Option<String>)>,
    everyone: Vec<String>,
    /// Acts by day, the latest first.
    days: Vec<(String, Vec<Told>)>,
    number: i64,
    more: bool,
}

impl HistoryPage {
    fn path(&self) -> String {
        let asked = [
            ("of", self.asked.of.as_str()),
            ("kind", &self.asked.kind),
            ("who", &self.asked.who),
            ("until", &self.until),
        ];
        self.shell.list_path("/history", &asked)
    }

    fn kinds() -> &'static [(&'static str, &'static str)] {
        KINDS
    }

    fn is_kind(&self, kind: &str) -> bool {
        self.asked.kind == kind
    }

    fn is_who(&self, who: &str) -> bool {
        self.asked.who == who
    }
}

async fn show(mut visit: Visit, Query(query): Query<HistoryQuery>) -> Answer {
    let until = query.until.trim().parse::<Day>().ok();
    let asked = Asked { of: query.of, kind: query.kind, who: query.who, until };
    let before = until.and_then(|day| end_of(day, &visit));
    let number = query.page.parse::<i64>().unwrap_or(1).max(1);
    let tables = schema::tables(&mut visit.connection).await?;
    let mut acts = store::acts(&mut visit.connection, &asked, before, number - 1).await?;
    let more = acts.len() > usize::try_from(store::PAGE)?;
    acts.truncate(usize::try_from(store::PAGE)?);
    let told = told(&mut visit, &tables, &acts, &asked).await?;
    let record = record(&mut visit.connection, &tables, &asked.of).await?;
    let everyone =
        if asked.of.is_empty() { store::everyone(&mut visit.connection).await? } else { Vec::new() };
    let title = match &record {
        Some((name, _)) => format!("{name}, history"),
        None => "History of the book".into(),
    };
    page(&HistoryPage {
        shell: visit.shell(Section::Settings, title),
        until: until.map(|day| day.to_string()).unwrap_or_default(),
        asked,
        record,
        everyone,
        days: by_day(told),
        number,
        more,
    })
}

/// The moment at which a day ends where the studio is.
fn end_of(day: Day, visit: &Visit) -> Option<Moment> {
    day.plus(1).0.to_zoned_datetime(visit.studio.zone.clone()).ok().map(|start| Moment(start.timestamp()))
}

/// What a record is called, and its page.
async fn record(
    connection: &mut SqliteConnection,
    tables: &[Table],
    of: &str,
) -> Result<Option<(String, Option<String>)>, sqlx::Error> {
    if of.is_empty() {
        return Ok(None);
    }
    let (kind, number) = parts_of(of);
    let Some(number) = number else { return Ok(Some((kind_words(kind), page_of(of)))) };
    let row = (kind.to_owned(), number);
    let names = store::names(connection, tables, &[row.clone()].into()).await?;
    let name = names.get(&row).cloned().unwrap_or_else(|| format!("{} no. {number}", kind_words(kind)));
    Ok(Some((name, page_of(of))))
}

/// Acts with what they did, in words, and what can be taken back.
async fn told(
    visit: &mut Visit,
    tables: &[Table],
    acts: &[Act],
    asked: &Asked,
) -> Result<Vec<Told>, sqlx::Error> {
    let connection = &mut *visit.connection;
    let ids: Vec<i64> = acts.iter().map(|act| act.id).collect();
    let changes = store::changes(connection, &ids, &asked.of).await?;
    let counts = store::counts(connection, &ids, &asked.of).await?;
    let changes = store::with_rows(connection, tables, changes).await?;
    let names = store::names(connection, tables, &wanted(tables, &changes)).await?;
    let mut by_act: BTreeMap<i64, Vec<Changed>> = BTreeMap::new();
    for changed in changes {
        by_act.entry(changed.change.act_id).or_default().push(changed);
    }
    let teller = Teller { tables, names: &names, studio: &visit.studio };
    let mut told = Vec::new();
    for act in acts {
        let changes = by_act.remove(&act.id).unwrap_or_default();
        let in_all = counts.get(&act.id).copied().unwrap_or_default();
        let back = if asked.of.is_empty() { "/history".into() } else { format!("/history?of={}", asked.of) };
        let free = hindrance(connection, act.id).await?.is_none();
        let undo = free.then(|| undo_path(act.id, &back));
        told.push(Told { undo, ..teller.tell(act, &changes, in_all) });
    }
    Ok(told)
}

fn by_day(told: Vec<Told>) -> Vec<(String, Vec<Told>)> {
    let mut days: Vec<(String, Vec<Told>)> = Vec::new();
    for act in told {
        match days.last_mut() {
            Some((day, acts)) if *day == act.day => acts.push(act),
            _ => days.push((act.day.clone(), vec![act])),
        }
    }
    days
}
