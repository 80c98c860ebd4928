//! Whole weeks for pages that look at many: whether one fits its shifts, and on which days the bench makes the pieces of events.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::time::Duration;

use rust_decimal::Decimal;
use sqlx::SqliteConnection;

use super::{pinned_events, shifts};
use crate::events::Event;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::EventId;
use crate::prep::bench_plan::plan;
use crate::prep::bench_plan::week_fit::{WeekFit, week_fit as fit};
use crate::prep::plan::PrepInputs;
use crate::prep::store::{events_of_week, load_within};
use crate::stem_order::placing;
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::{OrderError, local};
use crate::studio::Studio;

/// Weeks for which something was ordered are planned so many days back and ahead.
const ORDERED_DAYS: i64 = 28;
/// Weeks for which nothing is ordered yet are planned so many days ahead: this one and the next.
const OPEN_DAYS: i64 = 7;
/// How long a week's order may be planned for a page that only names its days.
const PLAN_BUDGET: Duration = Duration::from_millis(500);

/// How a week fits its shifts, with all its events or without one of them, as its own page has it; none where nobody has said
/// who works when, or where recipes make no sense.
pub async fn week_fit(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (day, now): (Day, Moment),
    without: Option<EventId>,
) -> Result<Option<WeekFit>, OrderError> {
    if !shifts(connection).await?.are_known() {
        return Ok(None);
    }
    let monday = day.monday();
    let mut ids = events_of_week(connection, monday).await?;
    ids.retain(|id| Some(*id) != without);
    let inputs = as_its_page(connection, studio, (&ids, now)).await?;
    Ok(inputs.and_then(|inputs| fit(&inputs, monday).ok()))
}

/// On which days the bench makes the pieces of some events, by the plan of their whole week as its own page has it. Not told are
/// events whose pieces stand on their usual days: where nobody has said who works when and nothing is pinned; in weeks farther
/// ahead for which nothing is ordered or pinned, or over long since; and where recipes make no sense.
pub async fn making(
    connection: &mut SqliteConnection,
    studio: &Studio,
    now: Moment,
    events: &[Event],
) -> Result<HashMap<EventId, BTreeMap<Day, Decimal>>, OrderError> {
    let known = shifts(connection).await?.are_known();
    let pinned: BTreeSet<EventId> = pinned_events(connection).await?.into_iter().collect();
    let mut making = HashMap::new();
    if !known && pinned.is_empty() {
        return Ok(making);
    }
    let today = local(now, studio).day;
    let from_now = |monday: Day| monday.days_after(today.monday());
    let near = |day: Day| (-ORDERED_DAYS..=ORDERED_DAYS).contains(&from_now(day.monday()));
    let own = events.iter().filter(|event| near(event.day) || pinned.contains(&event.id));
    let mondays: BTreeSet<Day> = own.map(|event| event.day.monday()).collect();
    for monday in mondays {
        let ids = events_of_week(connection, monday).await?;
        let moved = ids.iter().any(|id| pinned.contains(id));
        let planned = moved
            || known
                && ((0..=OPEN_DAYS).contains(&from_now(monday))
                    || !placing::store::orders_of_events(connection, &ids).await?.is_empty());
        if !planned {
            continue;
        }
        let Some(inputs) = as_its_page(connection, studio, (&ids, now)).await? else { continue };
        let Ok(plan) = plan(&inputs, &studio.formats) else { continue };
        let places = inputs.weekend.events.iter().enumerate();
        making.extend(places.map(|(at, event)| (event.event.id, plan.making(at))));
    }
    Ok(making)
}

/// What a week's own page plans it from; none where recipes make no sense.
async fn as_its_page(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (ids, now): (&[EventId], Moment),
) -> Result<Option<PrepInputs>, OrderError> {
    match load_within(connection, studio, ids, now, PLAN_BUDGET).await {
        Err(OrderError::Load(LoadError::Weekend(_))) => Ok(None),
        loaded => Ok(Some(loaded?)),
    }
}
