//! What the desk is reminded of, read for all clients together in a handful of queries.

use std::collections::{BTreeMap, HashMap};

use sqlx::SqliteConnection;

use super::{invoices, payments, plan, terms};
use crate::accounts::document::Kind;
use crate::accounts::ledger::{Billed, ledgers};
use crate::accounts::reminders::{Reminders, reminders};
use crate::accounts::schedule::{Dates, Schedule, of_lines, schedule};
use crate::events::{self, Event};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, InvoiceId};
use crate::ground::money::Money;
use crate::quotes;

/// Events so long past or so far ahead are still asked about.
const LOOK_BACK: i64 = 120;
const LOOK_AHEAD: i64 = 800;

/// The reminders of a day.
pub async fn read(connection: &mut SqliteConnection, today: Day) -> Result<Reminders, sqlx::Error> {
    let (from, to) = (today.plus(-LOOK_BACK), today.plus(LOOK_AHEAD));
    let open = events::store::open_between(connection, from, to).await?;
    let ids: Vec<EventId> = open.iter().map(|event| event.id).collect();
    let billed = invoices::billed(connection, None).await?;
    let schedules = schedules(connection, &open, &ids, &billed).await?;
    let paid = payments::paid(connection, None).await?;
    Ok(reminders(&schedules, &ledgers(billed, paid), today))
}

/// The payment schedules of the events whose quote is accepted.
async fn schedules<'a>(
    connection: &mut SqliteConnection,
    open: &'a [Event],
    ids: &[EventId],
    billed: &[Billed],
) -> Result<Vec<(&'a Event, Schedule)>, sqlx::Error> {
    let standings = quotes::store::standing(connection, ids).await?;
    let accepted: HashMap<EventId, quotes::Accepted> =
        standings.into_iter().filter_map(|(event, standing)| Some((event, standing.accepted?))).collect();
    let versions: Vec<_> = accepted.values().map(|accepted| accepted.version_id).collect();
    let printed = quotes::store::instalments_of_versions(connection, &versions).await?;
    let mut plans = plan::plans(connection, ids).await?;
    let invoiced = invoices::invoiced_of_parts(connection, ids).await?;
    let usual = terms::terms(connection).await?.usual;
    let sums = invoiced_of_quotes(billed);
    let of = |event: &'a Event| {
        let accepted = accepted.get(&event.id)?;
        let dates = Dates { accepted_on: accepted.on, event: event.day };
        let of_version = printed.get(&accepted.version_id).map(|lines| of_lines(lines)).unwrap_or_default();
        let own = plans.remove(&event.id).map(|plan| plan.parts);
        let parts = own.unwrap_or_else(|| if of_version.is_empty() { usual.clone() } else { of_version });
        let all = sums.get(&event.id).copied().unwrap_or_default();
        Some((event, schedule(accepted.total, &parts, dates, &invoiced, all)))
    };
    Ok(open.iter().filter_map(of).collect())
}

/// What was invoiced of each event's quote after credits; extras stand beside it.
fn invoiced_of_quotes(billed: &[Billed]) -> BTreeMap<EventId, Money> {
    let kinds: BTreeMap<InvoiceId, Kind> = billed.iter().map(|row| (row.id, row.kind)).collect();
    let mut sums: BTreeMap<EventId, Money> = BTreeMap::new();
    for row in billed {
        let of = row.credits.and_then(|id| kinds.get(&id).copied()).unwrap_or(row.kind);
        let Some(event) = row.event_id.filter(|_| of != Kind::Other) else { continue };
        *sums.entry(event).or_default() += if row.credits.is_some() { -row.total } else { row.total };
    }
    sums
}
