//! What reminders follow from, read across the rooms in a handful of queries.

use std::collections::{BTreeMap, HashMap};

use sqlx::SqliteConnection;

use super::listing::{Known, KnownEvent, reminders, sorted};
use super::{Reminders, store};
use crate::accounts::store::{invoices, reminders as money};
use crate::desk::outlook::{Desk, Outlook};
use crate::desk::standing::Quoted;
use crate::events::{self, Event};
use crate::ground::dates::Day;
use crate::ground::ids::{ClientId, EventId};
use crate::pull_list::loans;
use crate::pull_list::loans::store::LoansError;
use crate::quotes;

/// Quotes of events so far ahead are asked about.
const LOOK_AHEAD: i64 = 800;
/// Loans that should have been back so long ago are still asked about.
const LOANS_BACK: i64 = 60;

/// The reminders of the present moment; `near` are the outlooks of the coming weeks' events.
pub async fn read(
    connection: &mut SqliteConnection,
    desk: &Desk<'_>,
    near: &[Outlook],
) -> Result<Reminders, sqlx::Error> {
    let today = desk.now.day;
    let far = far_events(connection, today, near).await?;
    let money = money::read(connection, today).await?;
    let loans = loans_due(connection, desk).await?;
    let clients: BTreeMap<ClientId, String> = invoices::client_names(connection).await?;
    let rules = store::rules(connection).await?;
    let near = near.iter().map(of_outlook);
    let events: Vec<KnownEvent> = near.chain(far.iter().map(of_far)).collect();
    let known = Known {
        events: &events,
        money: &money,
        loans: &loans,
        clients: &clients,
        rules,
        now: desk.now,
        formats: desk.studio.formats,
    };
    let all = reminders(&known);
    let keys: Vec<&str> = all.iter().map(|one| one.key.as_str()).collect();
    let marks = store::marks(connection, &keys).await?;
    Ok(sorted(all, marks, today))
}

fn of_outlook(outlook: &Outlook) -> KnownEvent<'_> {
    let event = &outlook.event;
    KnownEvent {
        event,
        quoted: &outlook.quoted,
        open_counts: outlook.pieces.iter().filter(|piece| event.count_of(piece).is_none()).count(),
        orders: Some(&outlook.orders),
    }
}

/// An event whose orders are far off, with its quote.
struct Far {
    event: Event,
    quoted: Quoted,
}

fn of_far(far: &Far) -> KnownEvent<'_> {
    KnownEvent { event: &far.event, quoted: &far.quoted, open_counts: 0, orders: None }
}

async fn far_events(
    connection: &mut SqliteConnection,
    today: Day,
    near: &[Outlook],
) -> Result<Vec<Far>, sqlx::Error> {
    let known: Vec<EventId> = near.iter().map(|outlook| outlook.event.id).collect();
    let mut events = events::store::open_between(connection, today, today.plus(LOOK_AHEAD)).await?;
    events.retain(|event| !known.contains(&event.id));
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let standings: HashMap<EventId, quotes::Standing> =
        quotes::store::standing(connection, &ids).await?.into_iter().collect();
    let far = |event: Event| {
        let standing = standings.get(&event.id)?;
        Some(Far { quoted: Quoted::from(standing), event })
    };
    Ok(events.into_iter().filter_map(far).collect())
}

/// Events whose loans should have been counted back. Where recipes make no sense nothing is said here.
async fn loans_due(
    connection: &mut SqliteConnection,
    desk: &Desk<'_>,
) -> Result<Vec<(EventId, String, Day)>, sqlx::Error> {
    let today = desk.now.day;
    let span = loans::bookings::Span { from: today.plus(-LOANS_BACK), to: today };
    let bookings = match loans::store::booked(connection, span, &desk.studio.formats).await {
        Err(LoansError::Recipes(_)) => return Ok(Vec::new()),
        Err(LoansError::Book(error)) => return Err(error),
        Ok(bookings) => bookings,
    };
    let due = bookings.loans.iter().filter(|loan| loan.is_due(today)).map(|loan| {
        let event = &loan.borrower.event;
        (event.id, event.name.clone(), loan.borrower.period.returns(event.day))
    });
    Ok(due.collect())
}
