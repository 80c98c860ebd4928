//! Whole weeks for pages that look at many: whether one fits its shifts, and on which days the bench makes the pieces of events.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use rust_decimal::Decimal;
use sqlx::SqliteConnection;

use super::{pinned_events, shifts};
use crate::db::remembered::Remembered;
use crate::events::Event;
use crate::ground::dates::{Day, Moment};
use crate::ground::formats::Formats;
use crate::ground::ids::EventId;

use crate::prep::bench_plan::week_fit::{WeekFit, week_fit as fit};
use crate::prep::bench_plan::{BenchPlan, plan};
use crate::prep::freshness::lives::{EventLives, lives};
use crate::prep::plan::{PrepInputs, PrepSheets, sheets_of};
use crate::prep::store::{events_of_week, glance};
use crate::recipes::explosion::ExplosionError;
use crate::stem_order::placing;
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::{OrderError, local};
use crate::studio::Studio;

/// Weeks for which something was ordered are planned so many days back and ahead.
const ORDERED_DAYS: i64 = 28;
/// Weeks for which nothing is ordered yet are planned so many days ahead: this one and the next.
const OPEN_DAYS: i64 = 7;
/// So many weeks' plans are remembered, each with what it was made from.
const REMEMBERED: usize = 8;

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
    if ids.is_empty() {
        // Nothing to do: only the room of the shifts, which is that of this week.
        return Ok(fit(&*glance(connection, studio, &ids, now).await?, monday).ok());
    }
    let week = as_its_page(connection, studio, (&ids, now)).await?;
    Ok(week.and_then(|week| week.fit))
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
        let Some(week) = as_its_page(connection, studio, (&ids, now)).await? else { continue };
        making.extend(week.making.iter().map(|(event, days)| (*event, days.clone())));
    }
    Ok(making)
}

/// How the flowers of an event last, by the plan of its whole week; none where recipes make no sense.
pub async fn lives_of(
    connection: &mut SqliteConnection,
    studio: &Studio,
    event: &Event,
    now: Moment,
) -> Result<Option<EventLives>, OrderError> {
    let ids = events_of_week(connection, event.day).await?;
    let week = as_its_page(connection, studio, (&ids, now)).await?;
    Ok(week.and_then(|week| week.lives.iter().find(|lives| lives.id == event.id).cloned()))
}

/// What other pages tell of a week.
struct Week {
    fit: Option<WeekFit>,
    making: HashMap<EventId, BTreeMap<Day, Decimal>>,
    lives: Vec<EventLives>,
}

impl Week {
    fn of(inputs: &PrepInputs, plan: Option<&BenchPlan>) -> Week {
        let first = inputs.weekend.events.iter().map(|at| at.event.day.monday()).min();
        let fit = first.and_then(|monday| fit(inputs, monday).ok());
        let (mut making, mut lasting) = (HashMap::new(), Vec::new());
        if let Some(plan) = plan {
            let places = inputs.weekend.events.iter().enumerate();
            making.extend(places.map(|(at, event)| (event.event.id, plan.making(at))));
            lasting = lives(inputs, plan);
        }
        Week { fit, making, lives: lasting }
    }
}

/// A week as its own page plans it; none where recipes make no sense. Planned once for the same inputs.
async fn as_its_page(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (ids, now): (&[EventId], Moment),
) -> Result<Option<Arc<Week>>, OrderError> {
    static WEEKS: Remembered<Made, Week> = Remembered::new(REMEMBERED, |_, _| false);
    let inputs = match glance(connection, studio, ids, now).await {
        Err(OrderError::Load(LoadError::Weekend(_))) => return Ok(None),
        loaded => loaded?,
    };
    let plan = planned(&inputs, studio.formats).await.ok();
    let week = async { Ok::<Week, OrderError>(Week::of(&inputs, plan.as_deref())) };
    Ok(Some(WEEKS.or_read(Made(Arc::clone(&inputs)), week).await?))
}

/// The bench plan of remembered inputs, made once for them.
pub async fn planned(inputs: &Arc<PrepInputs>, formats: Formats) -> Result<Arc<BenchPlan>, ExplosionError> {
    static PLANS: Remembered<Made, BenchPlan> = Remembered::new(REMEMBERED, |_, _| false);
    PLANS.or_read(Made(Arc::clone(inputs)), async { plan(inputs, &formats) }).await
}

/// The prep sheets of remembered inputs, written once for them.
pub async fn sheets(inputs: &Arc<PrepInputs>, formats: Formats) -> Result<Arc<PrepSheets>, ExplosionError> {
    static SHEETS: Remembered<Made, PrepSheets> = Remembered::new(REMEMBERED, |_, _| false);
    let plan = planned(inputs, formats).await?;
    SHEETS.or_read(Made(Arc::clone(inputs)), async { sheets_of(inputs, &plan, &formats) }).await
}

/// From what a week was planned: the same where it is the same that is remembered.
struct Made(Arc<PrepInputs>);

impl PartialEq for Made {
    fn eq(&self, other: &Made) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}
