//! What lies ahead of some events: pieces, open counts, order deadlines, days of making, the quote. Read for all of them
//! together, in a handful of queries.

use std::collections::{BTreeMap, HashMap};

use rust_decimal::Decimal;
use sqlx::SqliteConnection;

use super::arrivals::Arrivals;
use super::deadlines::{Deadline, Market, Orders, orders};
use super::next_step::{Known, NextStep, next_step};
use super::standing::{Quoted, Standing};
use crate::events::{self, Event, Piece};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, MaterialId, RecipeId};
use crate::prep::bench_plan;
use crate::price_list;
use crate::quotes;
use crate::recipes::explosion::made;
use crate::recipes::{self, RecipeBook};
use crate::stem_order::store::planning::{OrderError, local};
use crate::stem_order::windows::make_days;
use crate::stem_order::{closed_days, placing};
use crate::studio::Studio;
use crate::studio::visit::Visit;

/// What lies ahead of one event.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The event.
    pub event: Event,
    /// Its pieces, by place.
    pub pieces: Vec<Piece>,
    /// What was ordered for it.
    pub arrivals: Arrivals,
    /// Until when the rest of its stems must be ordered.
    pub orders: Orders,
    /// Minutes of making pieces by day, as the bench plan has it; none where a recipe is a part of itself.
    pub bench: BTreeMap<Day, Decimal>,
    /// How its quote stands.
    pub quoted: Quoted,
    /// Its last version, and the one accepted.
    pub quote: Option<quotes::Standing>,
    /// How far it is.
    pub standing: Standing,
    /// What is next.
    pub next: Option<NextStep>,
}

/// Whose outlook it is, and when.
#[derive(Debug, Clone, Copy)]
pub struct Desk<'a> {
    /// The studio's settings.
    pub studio: &'a Studio,
    /// The present moment by its clock.
    pub now: Deadline,
    /// The same for any clock.
    pub moment: Moment,
}

/// The present moment by the studio's clock.
#[must_use]
pub fn local_now(visit: &Visit) -> Deadline {
    local(visit.now, &visit.studio)
}

/// The outlook of these events, in their order.
pub async fn outlooks(
    connection: &mut SqliteConnection,
    desk: &Desk<'_>,
    events: Vec<Event>,
) -> Result<Vec<Outlook>, OrderError> {
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let Desk { studio, now, moment } = *desk;
    let mut pieces = by_event(events::store::pieces(connection, &ids).await?);
    let roots = roots(&pieces);
    let book = recipes::store::recipe_book(connection, &roots).await?;
    let market = market(connection, &book, now.day).await?;
    let mut sent = quotes::store::standing(connection, &ids).await?;
    let placed = placing::store::orders_of_events(connection, &ids).await?;
    let mut making = bench_plan::store::making(connection, studio, moment, &events).await?;
    let outlook = |event: Event| {
        let pieces = pieces.remove(&event.id).unwrap_or_default();
        let quote = sent.remove(&event.id);
        let quoted = quote.as_ref().map(Quoted::from).unwrap_or_default();
        let kinds: Vec<RecipeId> = pieces.iter().map(|piece| piece.recipe_id).collect();
        let arrivals = Arrivals::of(event.id, &placed);
        let mut orders = orders(&book, (event.day, &kinds), &market, &arrivals);
        let mut bench = making.remove(&event.id).unwrap_or_else(|| usual_days(&book, &event, &pieces));
        if !event.is_open() {
            // What was called off or lost is neither ordered nor made: only what was ordered already is still to arrive.
            orders.by.clear();
            bench.clear();
        }
        let standing = Standing::of(&event, &quoted, now.day, &studio.formats);
        let known = Known {
            event: &event,
            pieces: pieces.len(),
            open_counts: pieces.iter().filter(|piece| event.count_of(piece).is_none()).count(),
            quoted: &quoted,
            arrivals: &arrivals,
            orders: &orders,
            first_bench: bench.keys().next().copied(),
            now,
            formats: studio.formats,
        };
        let next = next_step(&known);
        Outlook { event, pieces, arrivals, orders, bench, quoted, quote, standing, next }
    };
    Ok(events.into_iter().map(outlook).collect())
}

fn by_event(pieces: Vec<Piece>) -> HashMap<EventId, Vec<Piece>> {
    let mut sorted: HashMap<EventId, Vec<Piece>> = HashMap::new();
    for piece in pieces {
        sorted.entry(piece.event_id).or_default().push(piece);
    }
    sorted
}

fn roots(pieces: &HashMap<EventId, Vec<Piece>>) -> Vec<RecipeId> {
    let mut roots: Vec<RecipeId> = pieces.values().flatten().map(|piece| piece.recipe_id).collect();
    roots.sort_unstable();
    roots.dedup();
    roots
}

/// Where what wilts is bought at today's prices.
async fn market(
    connection: &mut SqliteConnection,
    book: &RecipeBook,
    today: Day,
) -> Result<Market, sqlx::Error> {
    let fresh = book.materials.values().filter(|material| material.is_fresh());
    let fresh: Vec<MaterialId> = fresh.map(|material| material.id).collect();
    let costs = price_list::store::unit_costs(connection, &fresh, today).await?;
    let suppliers = price_list::store::suppliers(connection).await?;
    Ok(Market {
        bought_from: costs.into_iter().map(|(material, cost)| (material, cost.supplier_id)).collect(),
        suppliers: suppliers.into_iter().map(|supplier| (supplier.id, supplier)).collect(),
        closed: closed_days::store::closed_days(connection).await?,
    })
}

/// Minutes of making by usual make day: own minutes of every recipe × how many of it are made, parts too.
/// Open counts make none yet.
fn usual_days(book: &RecipeBook, event: &Event, pieces: &[Piece]) -> BTreeMap<Day, Decimal> {
    let counted: Vec<(RecipeId, i64)> =
        pieces.iter().filter_map(|piece| Some((piece.recipe_id, event.count_of(piece)?))).collect();
    let days = make_days(book, event.day, counted.iter().map(|(recipe, _)| *recipe));
    let mut minutes: BTreeMap<Day, Decimal> = BTreeMap::new();
    for (recipe, count) in made(book, &counted).unwrap_or_default() {
        let own = book.recipes.get(&recipe).map(|recipe| recipe.minutes.decimal()).unwrap_or_default();
        if let Some(day) = days.get(&recipe) {
            let before = minutes.entry(*day).or_default();
            *before = before.saturating_add(own.saturating_mul(count));
        }
    }
    minutes
}

/// `9 h 20 min`, from minutes rounded up to whole ones.
#[must_use]
pub fn hours_words(minutes: Decimal) -> String {
    let whole = minutes.ceil().normalize();
    let (hours, rest) = ((whole / Decimal::from(60)).floor(), whole % Decimal::from(60));
    match (hours.is_zero(), rest.is_zero()) {
        (true, _) => format!("{rest} min"),
        (false, true) => format!("{hours} h"),
        (false, false) => format!("{hours} h {rest} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_read_as_hours() {
        assert_eq!(hours_words(Decimal::new(56_000, 2)), "9 h 20 min");
        assert_eq!(hours_words(Decimal::from(120)), "2 h");
        assert_eq!(hours_words(Decimal::new(445, 1)), "45 min");
        assert_eq!(hours_words(Decimal::ZERO), "0 min");
    }
}
