//! From the book to an order: reads everything an order needs, then plans it away from the threads that answer
//! requests, within a time budget. Pages and the command line both come in here.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use sqlx::SqliteConnection;
use thiserror::Error;

use super::market::{market, sold};
use super::remembered::Basis;
use super::{LoadError, load_with_counted};
use crate::db::Book;
use crate::db::remembered::Remembered;
use crate::ground::dates::{Day, Moment, TimeOfDay};
use crate::ground::fingerprint::fingerprint;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId, OfferId};
use crate::price_list;
use crate::stem_order::buying_plan::{Plan, Problem, Reason, plan};
use crate::stem_order::calendar::{Deliveries, LocalTime};
use crate::stem_order::change::arriving::{Arriving, stem_uses};
use crate::stem_order::change::coming::{Coming, coming, counted_good};
use crate::stem_order::change::shown::{Changed, asides, changed};
use crate::stem_order::change::{self, OrderedBefore};
use crate::stem_order::choices::one_fewer::{FewerSuppliers, NoFewer, fewer_suppliers};
use crate::stem_order::choices::pinned::{Pinned, in_force, name_pinned_away, pinned};
use crate::stem_order::choices::pins::{Pins, narrowed};
use crate::stem_order::choices::space::Space;
use crate::stem_order::choices::why::{Why, why};
use crate::stem_order::closed_days;
use crate::stem_order::order::{Planned, Sold, StemOrder, order};
use crate::stem_order::placing;
use crate::stem_order::posed::{Market, days_to_read, wants};
use crate::stem_order::weekend::Weekend;
use crate::studio::Studio;

/// How long the plan of an order may take: a setting of the studio.
#[must_use]
pub fn time_limit(studio: &Studio) -> Duration {
    Duration::from_secs(studio.plan_seconds.max(1).unsigned_abs())
}

/// How long each comparison may take: an event by itself, a supplier by itself.
const COMPARISON: Duration = Duration::from_secs(1);

/// How long the order's page looks for the cheapest order with one supplier fewer; that page of its own may take longer.
const FEWER: Duration = Duration::from_millis(300);

/// How many plans are remembered, comparisons among them.
const REMEMBERED: usize = 48;

/// How many orders are remembered, each with its comparisons.
const ORDERS_REMEMBERED: usize = 4;

/// What order is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// For which events.
    pub events: Vec<EventId>,
    /// On which delivery days.
    pub deliveries: Deliveries,
    /// What the buyer chose by hand.
    pub pins: Pins,
    /// As if nothing had been ordered before.
    pub anew: bool,
}

/// An order with the need behind it.
#[derive(Debug, Clone)]
pub struct Ordered {
    /// The need.
    pub weekend: Weekend,
    /// The order.
    pub order: StemOrder,
    /// What choices made by hand cost.
    pub pinned: Pinned,
    /// The cheapest with one supplier fewer.
    pub fewer: Result<FewerSuppliers, NoFewer>,
    /// What has changed since orders were placed for these events, of which this order is then the top-up; none where nothing
    /// was ordered.
    pub changed: Option<Changed>,
}

/// Why there is no order.
#[derive(Debug, Error)]
pub enum OrderError {
    /// The weekend cannot be loaded.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// The plan broke off.
    #[error("the plan broke off: {0}")]
    BrokeOff(#[from] tokio::task::JoinError),
}

impl From<sqlx::Error> for OrderError {
    fn from(error: sqlx::Error) -> OrderError {
        OrderError::Load(error.into())
    }
}

/// The moment by the studio's clock.
#[must_use]
pub fn local(now: Moment, studio: &Studio) -> LocalTime {
    let there = now.0.to_zoned_datetime(studio.zone.clone());
    LocalTime { day: Day(there.date()), time: TimeOfDay(there.time()) }
}

/// The order for some events. The plan takes at most about `budget`; what it has not proven by then it says. Meanwhile nobody is
/// kept from reading the book.
pub async fn plan_order(
    book: &Book,
    studio: &Studio,
    asked: &Asked,
    now: Moment,
    budget: Duration,
) -> Result<Ordered, OrderError> {
    static ORDERS: Remembered<OrderKey, Ordered> = Remembered::new(ORDERS_REMEMBERED, |new, old| {
        new.basis.of_one_book(&old.basis) && new.asked == old.asked && new.budget == old.budget
    });
    let planned = async {
        let prepared = prepare(&mut *book.read().await?, studio, asked, now).await?;
        Ok::<Ordered, OrderError>(tokio::task::spawn_blocking(move || prepared.ordered(budget)).await?)
    };
    let basis = Basis::of(&mut *book.read().await?, studio, &asked.events, now).await?;
    let key = basis.map(|basis| OrderKey { basis, asked: asked.clone(), budget });
    let ordered = ORDERS.or_read(key, planned).await?;
    Ok(Arc::unwrap_or_clone(ordered))
}

/// From what an order was planned, and within which time.
#[derive(PartialEq)]
struct OrderKey {
    basis: Basis,
    asked: Asked,
    budget: Duration,
}

/// Reads everything that an order is made of.
pub async fn prepare(
    connection: &mut SqliteConnection,
    studio: &Studio,
    asked: &Asked,
    now: Moment,
) -> Result<Prepared, OrderError> {
    let now = local(now, studio);
    let mut before = if asked.anew {
        OrderedBefore::default()
    } else {
        change::store::ordered_before(connection, &asked.events, now.day).await?
    };
    let events = before.planned_with(&asked.events);
    let lines = coming(&before, now);
    let weekend = load_with_counted(connection, studio, &events, counted_good(&lines)).await?;
    let (wants, _) = wants(&weekend, asked.deliveries);
    let mut materials: Vec<MaterialId> =
        wants.iter().flat_map(|want| &want.accepts).map(|(material, _)| *material).collect();
    materials.sort_unstable();
    materials.dedup();
    let suppliers = price_list::store::suppliers(connection).await?;
    let closed = closed_days::store::closed_days(connection).await?;
    let days = days_to_read(&wants, (&suppliers, &closed), asked.deliveries, now);
    let market = market(connection, (suppliers, closed), &materials, days).await?;
    let sold = sold(connection, &materials).await?;
    if let (Some(first), Some(last)) = before.days_with(market.offers.keys().copied()) {
        before.deliveries = placing::store::deliveries_between(connection, first, last).await?;
    }
    Ok(Prepared { weekend, market, sold, asked: asked.clone(), before, lines, now, formats: studio.formats })
}

/// Everything that an order is made of, read; to be planned on a thread that may be kept waiting.
pub struct Prepared {
    weekend: Weekend,
    market: Market,
    sold: Vec<Sold>,
    asked: Asked,
    before: OrderedBefore,
    lines: Vec<Coming>,
    now: LocalTime,
    formats: Formats,
}

impl Prepared {
    /// What the order could be made of.
    #[must_use]
    pub fn space(&self) -> Space<'_> {
        Space {
            weekend: &self.weekend,
            market: &self.market,
            asked: self.asked.deliveries,
            now: self.now,
            formats: &self.formats,
            lines: &self.lines,
            deliveries: &self.before.deliveries,
        }
    }

    /// Plans the order within about the budget, and the comparisons beside it.
    #[must_use]
    pub fn ordered(self, budget: Duration) -> Ordered {
        let force = in_force(&self.space(), &self.asked.pins);
        let market = narrowed(&self.market, &force);
        let posed = self.space().posed(&force);
        let found = solved(&posed.problem, budget);
        let planned = Planned {
            weekend: &self.weekend,
            market: &market,
            sold: &self.sold,
            asked: self.asked.deliveries,
            now: self.now,
            formats: &self.formats,
        };
        let mut compare = comparing(budget.min(COMPARISON * 5));
        let mut order = order(&planned, &posed, &found, &mut compare);
        let pinned = pinned(&self.space(), &self.asked.pins, (&posed, &found), &mut compare);
        name_pinned_away(&self.space(), &pinned, &posed, &mut order);
        let changed = (!self.before.is_empty()).then(|| {
            let plan = (&posed, &found, &order);
            changed(&self.space(), &self.before, &self.asked.events, &force, plan, &mut comparing(budget))
        });
        let fewer = match changed {
            Some(_) => Err(NoFewer::OneAlready),
            None => fewer_suppliers(&self.space(), (&posed, &found), &mut comparing(FEWER.min(budget))),
        };
        Ordered { weekend: self.weekend, order, pinned, fewer, changed }
    }

    /// What comes of placed orders, and what tops them up: the bench needs no comparisons.
    #[must_use]
    pub fn arriving(self, budget: Duration) -> Arriving {
        let space = self.space();
        let posed = space.posed(&in_force(&space, &self.asked.pins));
        let found = solved(&posed.problem, budget);
        let planned = Planned {
            weekend: &self.weekend,
            market: &self.market,
            sold: &self.sold,
            asked: self.asked.deliveries,
            now: self.now,
            formats: &self.formats,
        };
        let order = order(&planned, &posed, &found, &mut comparing(Duration::ZERO));
        let (uses, asides) = (stem_uses(&posed, &found, &self.market.suppliers), asides(&space, &posed));
        let ready = posed.placed.iter().map(|lot| (lot.material, lot.day)).collect();
        Arriving { weekend: self.weekend, order, lines: self.lines, uses, ready, asides }
    }

    /// Why a line of the order is so, within about the budget; none where the order has no such line.
    #[must_use]
    pub fn why(&self, line: (OfferId, Day), budget: Duration) -> Option<Why> {
        let space = self.space();
        let force = in_force(&space, &self.asked.pins);
        let posed = space.posed(&force);
        let found = solved(&posed.problem, budget);
        why(&space, &force, (&posed, &found), line, &mut comparing(budget))
    }

    /// The cheapest order with one supplier fewer, within about the budget.
    pub fn fewer(&self, budget: Duration) -> Result<FewerSuppliers, NoFewer> {
        let space = self.space();
        let posed = space.posed(&in_force(&space, &self.asked.pins));
        let found = solved(&posed.problem, budget);
        fewer_suppliers(&space, (&posed, &found), &mut comparing(budget))
    }
}

/// Plans comparisons, each for at most [`COMPARISON`] and all together within about the budget.
fn comparing(budget: Duration) -> impl FnMut(&Problem) -> Plan {
    let end = Instant::now() + budget;
    move |problem| solved(problem, COMPARISON.min(end.saturating_duration_since(Instant::now())))
}

/// The plan of a problem: as remembered, or computed within the budget. A plan that was cut short is remembered too,
/// so that the papers of an order say the same as its page; a longer budget searches anew, for the proof or for the ties.
/// A problem lists every offer on every day; of one that is remembered only the fingerprint is kept.
fn solved(problem: &Problem, budget: Duration) -> Plan {
    static PLANS: Mutex<VecDeque<(String, Plan, Duration)>> = Mutex::new(VecDeque::new());
    let plans = || PLANS.lock().unwrap_or_else(PoisonError::into_inner);
    let asked = fingerprint(problem);
    let known = plans().iter().find(|(known, ..)| *known == asked).cloned();
    if let Some((_, plan, _)) = known.filter(|(_, plan, took)| plan.ties_settled || budget <= *took) {
        return plan;
    }
    let end = Instant::now() + budget;
    let found = plan(problem, &mut || Instant::now() < end);
    let decided = !found.unmet.iter().any(|unmet| unmet.reason == Reason::NotDecidedInTime);
    if decided {
        let mut plans = plans();
        plans.retain(|(known, ..)| *known != asked);
        plans.push_front((asked, found.clone(), budget));
        plans.truncate(REMEMBERED);
    }
    found
}
