//! Reads all that the prep plan is computed from; keeps how the studio stands its stems in pails.

use std::collections::HashMap;
use std::sync::Arc;
use std::time::Duration;

use sqlx::SqliteConnection;

use super::pails::beside::Beside;
use super::pails::{PailRule, days};
use super::plan::{OrderedPlan, Pack, PrepInputs, ordered, placed};
use super::{bench_plan, freshness};
use crate::db::remembered::Remembered;
use crate::events;
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, PlacedLineId};
use crate::ground::quantity::Quantity;
use crate::price_list::{self, Material};
use crate::stem_order::calendar::Deliveries;
use crate::stem_order::change::coming::counted_good;
use crate::stem_order::choices::pins::Pins;
use crate::stem_order::placing;
use crate::stem_order::receiving;
use crate::stem_order::stock;
use crate::stem_order::store::load_with_counted;
use crate::stem_order::store::planning::{Asked, OrderError, local, prepare};
use crate::stem_order::store::remembered::Basis;
use crate::stem_order::weekend::{Weekend, WeekendEvent};
use crate::studio::Studio;

/// How long a page that only names days may wait for it.
const GLANCE_BUDGET: Duration = Duration::from_millis(500);

/// How long a sheet may wait for the order's plan; one that the order's page has found is remembered.
const PLAN_BUDGET: Duration = Duration::from_secs(2);

/// So many plans' inputs are remembered: a busy fortnight's, seen from a handful of pages.
const REMEMBERED: usize = 8;

/// Everything the prep plan of some events is computed from. Where orders are placed for them: what comes of these, and the
/// top-up that the rest would need. Else the same order as the stem order's page, planned for the moment or, once that has
/// come, for the Monday of the first event's week: so the sheets still show the deliveries that were to be ordered in time.
/// What was read is remembered while nothing of it changes.
pub async fn load(
    connection: &mut SqliteConnection,
    studio: &Studio,
    events: &[EventId],
    now: Moment,
) -> Result<Arc<PrepInputs>, OrderError> {
    remembered(connection, studio, (events, now), PLAN_BUDGET).await
}

/// The same for a page that only glances at it, with little time for the order's plan; where that is not enough, flowers stand
/// on their latest safe day.
pub async fn glance(
    connection: &mut SqliteConnection,
    studio: &Studio,
    events: &[EventId],
    now: Moment,
) -> Result<Arc<PrepInputs>, OrderError> {
    remembered(connection, studio, (events, now), GLANCE_BUDGET).await
}

async fn remembered(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (events, now): (&[EventId], Moment),
    budget: Duration,
) -> Result<Arc<PrepInputs>, OrderError> {
    let planning = Planning::of(connection, studio, events, now).await?;
    let Some(basis) = Basis::of(connection, studio, events, planning.at).await? else {
        return Ok(Arc::new(read(connection, studio, (events, &planning), budget).await?));
    };
    let longer = Key { basis: basis.clone(), events: events.to_vec(), budget: PLAN_BUDGET };
    if let Some(known) = INPUTS.known(&longer) {
        return Ok(known);
    }
    let read = read(connection, studio, (events, &planning), budget);
    INPUTS.or_read(Key { budget, ..longer }, read).await
}

/// What was asked for, from what it was read, and how long the order's plan might take.
#[derive(PartialEq)]
struct Key {
    basis: Basis,
    events: Vec<EventId>,
    budget: Duration,
}

static INPUTS: Remembered<Key, PrepInputs> = Remembered::new(REMEMBERED, |new, old| {
    new.basis.of_one_book(&old.basis) && new.events == old.events && new.budget >= old.budget
});

/// For which moment a plan is made, and whether anything was ordered.
struct Planning {
    at: Moment,
    placed: bool,
}

impl Planning {
    async fn of(
        connection: &mut SqliteConnection,
        studio: &Studio,
        events: &[EventId],
        now: Moment,
    ) -> Result<Planning, sqlx::Error> {
        let found = events::store::events(connection, events).await?;
        let days = || found.iter().map(|event| event.day);
        let monday = days().min().and_then(|day| week_begins(day, studio));
        let placed = !placing::store::orders_of_events(connection, events).await?.is_empty();
        let over = days().max().is_some_and(|day| day < local(now, studio).day);
        let at = if placed && !over { now } else { monday.map_or(now, |monday| monday.min(now)) };
        Ok(Planning { at, placed })
    }
}

async fn read(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (events, planning): (&[EventId], &Planning),
    budget: Duration,
) -> Result<PrepInputs, OrderError> {
    let asked = Asked {
        events: events.to_vec(),
        deliveries: Deliveries::ByCalendar,
        pins: Pins::default(),
        anew: !planning.placed,
    };
    let (weekend, plan, undecided) = if planning.placed {
        arriving(connection, studio, &asked, (planning.at, budget)).await?
    } else {
        planned(connection, studio, &asked, (planning.at, budget)).await?
    };
    let ids: Vec<EventId> = weekend.events.iter().map(|event| event.event.id).collect();
    let pieces = events::store::pieces(connection, &ids).await?;
    let materials = weekend.book.materials.values().filter(|material| material.is_fresh());
    let fresh: Vec<MaterialId> = materials.map(|material: &Material| material.id).collect();
    let packs = packs(connection, &fresh, local(planning.at, studio).day).await?;
    let climate = freshness::store::climate(connection, &ids).await?;
    let bench = bench_plan::store::inputs(connection, &ids).await?;
    Ok(PrepInputs { weekend, pieces, packs, plan, undecided, climate, bench })
}

/// The events in the week of a day, Monday to Sunday, that were not lost or cancelled: they are prepared together.
pub async fn events_of_week(
    connection: &mut SqliteConnection,
    day: Day,
) -> Result<Vec<EventId>, sqlx::Error> {
    let monday = day.monday();
    let events = events::store::open_between(connection, monday, monday.plus(6)).await?;
    Ok(events.into_iter().map(|event| event.id).collect())
}

/// A weekend, what arrives for it, and whether the plan had no answer.
type Arrivals = (Weekend, Option<OrderedPlan>, bool);

async fn planned(
    connection: &mut SqliteConnection,
    studio: &Studio,
    asked: &Asked,
    (at, budget): (Moment, Duration),
) -> Result<Arrivals, OrderError> {
    let prepared = prepare(connection, studio, asked, at).await?;
    let arriving = tokio::task::spawn_blocking(move || prepared.arriving(budget)).await?;
    let undecided = arriving.undecided();
    let plan = (!undecided).then(|| ordered(&arriving));
    Ok((arriving.weekend, plan, undecided))
}

/// What comes of placed orders. These may name events of other weeks, which are planned with them but not prepared here.
async fn arriving(
    connection: &mut SqliteConnection,
    studio: &Studio,
    asked: &Asked,
    (at, budget): (Moment, Duration),
) -> Result<Arrivals, OrderError> {
    let prepared = prepare(connection, studio, asked, at).await?;
    let arriving = tokio::task::spawn_blocking(move || prepared.arriving(budget)).await?;
    let own = |event: &WeekendEvent| asked.events.contains(&event.event.id);
    let weekend = if arriving.weekend.events.iter().all(own) {
        arriving.weekend.clone()
    } else {
        load_with_counted(connection, studio, &asked.events, counted_good(&arriving.lines)).await?
    };
    let plan = placed(&arriving, &weekend, &studio.formats);
    Ok((weekend, Some(plan), false))
}

/// What else stands in the cooler on a weekend's days: every lot on hand, and what was ordered for those days.
pub async fn standing_beside(
    connection: &mut SqliteConnection,
    inputs: &PrepInputs,
) -> Result<Beside, sqlx::Error> {
    let holdings = stock::store::holdings(connection).await?;
    let (first, last) = days(inputs);
    let deliveries = placing::store::deliveries_between(connection, first, last).await?;
    let lines = || deliveries.iter().flat_map(|delivery| &delivery.lines);
    let ids: Vec<PlacedLineId> = lines().map(|line| line.id).collect();
    let receipts = receiving::store::receipts(connection, &ids).await?;
    let materials: Vec<MaterialId> =
        lines().map(|line| line.material_id).chain(holdings.iter().map(|held| held.lot.material)).collect();
    let materials = price_list::store::materials(connection, &materials).await?;
    let shares = lines().flat_map(|line| &line.shares);
    let named: Vec<EventId> = shares.map(|share| share.event_id).collect();
    let events = events::store::events(connection, &named).await?;
    let event_days = events.into_iter().map(|event| (event.id, event.day)).collect();
    Ok(Beside { holdings, deliveries, receipts, materials, event_days })
}

/// How the studio stands its stems; the usual figures where nothing was typed.
pub async fn pail_rule(connection: &mut SqliteConnection) -> Result<PailRule, sqlx::Error> {
    let kept = sqlx::query_as!(
        PailRule,
        r#"SELECT version, small, medium, large, foliage, litres AS "litres: Quantity", cooler FROM pail_rule WHERE id = 1"#
    )
    .fetch_optional(connection)
    .await?;
    Ok(kept.unwrap_or(PailRule::USUAL))
}

/// Keeps how the studio stands its stems, and counts the save.
pub async fn keep_pail_rule(connection: &mut SqliteConnection, rule: &PailRule) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO pail_rule (id, small, medium, large, foliage, litres, cooler) VALUES (1, ?, ?, ?, ?, ?, ?)
        ON CONFLICT (id) DO UPDATE SET version = version + 1, small = excluded.small, medium = excluded.medium,
            large = excluded.large, foliage = excluded.foliage, litres = excluded.litres, cooler = excluded.cooler",
        rule.small,
        rule.medium,
        rule.large,
        rule.foliage,
        rule.litres,
        rule.cooler
    )
    .execute(connection)
    .await
    .map(drop)
}

fn week_begins(day: Day, studio: &Studio) -> Option<Moment> {
    let midnight = day.monday().0.to_zoned_datetime(studio.zone.clone()).ok()?;
    Some(Moment(midnight.timestamp()))
}

/// The pack in which each material is bought by preference.
pub(super) async fn packs(
    connection: &mut SqliteConnection,
    materials: &[MaterialId],
    on: Day,
) -> Result<HashMap<MaterialId, Pack>, sqlx::Error> {
    let costs = price_list::store::unit_costs(connection, materials, on).await?;
    let pack = |cost: price_list::UnitCost| Pack { name: cost.pack_name, size: cost.pack_size };
    Ok(costs.into_iter().map(|(material, cost)| (material, pack(cost))).collect())
}
