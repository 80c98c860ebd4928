//! The history of the book: each write transaction that changes something is one act, with who did it, when, by which
//! way, and what each changed row was before. Written by triggers of the connection that writes, made from the schema
//! whenever a book is opened ([`triggers`]), so that no store can forget it and a new table is in it by itself.
//!
//! Whoever takes a request says who asks ([`as_whom`]) and what for ([`on_errand`]); [`super::Book::write`] writes it down.

pub mod records;
pub mod triggers;
pub mod undo;

use std::future::Future;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use sqlx::SqliteConnection;

use crate::ground::dates::Moment;

tokio::task_local! {
    static WHO: String;
    static ERRAND: Errand;
}

/// What is being done, for as long as it is being done: when it was asked for and by which way.
#[derive(Debug, Clone)]
pub struct Errand {
    at: Moment,
    way: String,
    /// The number of the act that was begun last; 0 before the first.
    act: Arc<AtomicI64>,
}

impl Errand {
    /// An errand: the moment, and the way it came by ("POST /clients/{id}", "trug import").
    #[must_use]
    pub fn new(at: Moment, way: impl Into<String>) -> Errand {
        Errand { at, way: way.into(), act: Arc::new(AtomicI64::new(0)) }
    }
}

/// Does something in someone's name: acts begun meanwhile bear it. Without this, somebody at the studio's computer did it. An
/// empty name is nobody's: then whoever was said before holds.
pub async fn as_whom<F: Future>(who: impl Into<String>, work: F) -> F::Output {
    let who = Some(who.into()).filter(|who| !who.is_empty());
    let who = who.or_else(|| WHO.try_with(String::clone).ok()).unwrap_or_default();
    WHO.scope(who, work).await
}

/// Does something as one errand: acts begun meanwhile bear its moment and way. Without this, the machine's own time.
pub async fn on_errand<F: Future>(errand: Errand, work: F) -> F::Output {
    ERRAND.scope(errand, work).await
}

/// The number that the errand's latest act has, if it changed anything, and its moment: together they name one act only.
#[must_use]
pub fn act_of_this_errand() -> Option<(i64, Moment)> {
    let of = |errand: &Errand| (errand.act.load(Ordering::Relaxed), errand.at);
    ERRAND.try_with(of).ok().filter(|(act, _)| *act > 0)
}

/// What the triggers write down of the present act: at most one row. It is the writing connection's own.
const PRESENT: &str = "CREATE TEMP TABLE present_act (
    id INTEGER PRIMARY KEY CHECK (id = 1), act INTEGER NOT NULL, done_at TEXT NOT NULL, who TEXT NOT NULL,
    way TEXT NOT NULL, undoes_id INTEGER, recording INTEGER NOT NULL
);
INSERT INTO present_act VALUES (1, 0, '', '', '', NULL, 0);";

/// Makes ready a connection that is to write: what [`begin`] and the triggers need.
pub(super) async fn make_ready(connection: &mut SqliteConnection, triggers: &str) -> Result<(), sqlx::Error> {
    let statements = format!("PRAGMA temp_store = MEMORY; {PRESENT} {triggers}");
    sqlx::raw_sql(sqlx::AssertSqlSafe(statements)).execute(connection).await.map(drop)
}

/// Begins an act in a transaction that has just begun. It is written down with its first change, or never.
///
/// `last` is the highest number given so far: no number is given twice, not even that of an act that was rolled back.
pub(super) async fn begin(connection: &mut SqliteConnection, last: &AtomicI64) -> Result<(), sqlx::Error> {
    let who = WHO.try_with(String::clone).unwrap_or_default();
    let errand = ERRAND.try_with(Errand::clone).ok();
    let act: i64 = sqlx::query_scalar(
        "UPDATE present_act SET act = 1 + max(?, (SELECT coalesce(max(id), 0) FROM act)),
        done_at = coalesce(?, strftime('%Y-%m-%dT%H:%M:%SZ', 'now')), who = ?, way = ?, undoes_id = NULL, recording = 1
        RETURNING act",
    )
    .bind(last.load(Ordering::Relaxed))
    .bind(errand.as_ref().map(|errand| errand.at.to_string()))
    .bind(who)
    .bind(errand.as_ref().map_or("", |errand| &errand.way))
    .fetch_one(connection)
    .await?;
    last.store(act, Ordering::Relaxed);
    if let Some(errand) = errand {
        errand.act.store(act, Ordering::Relaxed);
    }
    Ok(())
}

/// Leaves the rest of this transaction out of the history: for what makes a book whole in one go.
pub(super) async fn leave_out(connection: &mut SqliteConnection) -> Result<(), sqlx::Error> {
    sqlx::query("UPDATE present_act SET recording = 0").execute(connection).await.map(drop)
}

/// The act of a number, if it was done at that moment: what a notice speaks of is this act and no other.
pub async fn is_act_of(connection: &mut SqliteConnection, act: i64, at: Moment) -> Result<bool, sqlx::Error> {
    sqlx::query_scalar("SELECT EXISTS (SELECT 1 FROM act WHERE id = ? AND done_at = ?)")
        .bind(act)
        .bind(at.to_string())
        .fetch_one(connection)
        .await
}
