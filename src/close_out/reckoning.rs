//! The close-out's figures out of everything that was read: lines by material, fees, hours, typed costs, stems, proposals.
//!
//! May import: `rust_decimal`, plain values of the stages before and of this room.

mod lines;
mod unknown;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use rust_decimal::Decimal;

use super::figures::{Figures, Income, Line};
use super::materials::{Became, Bought, Called, FromStock, bought, called, stems};
use super::proposals::{self, Made, Used};
use super::variance::Amount;
use super::{Kind, Stems, Typed, labour};
use crate::events::Event;
use crate::ground::ids::{MaterialId, PlacedLineId, RecipeId};
use crate::ground::money::Money;
use crate::prep::event_work::{EventWork, times};
use crate::price_list::{Material, UnitCost};
use crate::pull_list::loans;
use crate::quotes::document::Frozen;
use crate::recipes::RecipeBook;
use crate::recipes::cost::Costing;
use crate::stem_order::placing::{PlacedLine, PlacedOrder};
use crate::studio::Studio;

/// What a close-out follows from.
#[derive(Debug)]
pub struct Read<'a> {
    /// Of which event.
    pub event: &'a Event,
    /// How the studio reckons.
    pub studio: &'a Studio,
    /// The accepted version.
    pub frozen: Option<Frozen>,
    /// Pieces by recipe: as accepted, and as they stand.
    pub counts: [BTreeMap<RecipeId, i64>; 2],
    /// The event's recipes.
    pub book: RecipeBook,
    /// Every material that is called for, was ordered, taken or lent.
    pub materials: HashMap<MaterialId, Material>,
    /// What each material cost on the quote's day, and on the event's.
    pub costs: [HashMap<MaterialId, UnitCost>; 2],
    /// The orders that were placed for it.
    pub orders: Vec<PlacedOrder>,
    /// What became of their lines.
    pub became: HashMap<PlacedLineId, Became>,
    /// What it took from stock.
    pub stock: Vec<FromStock>,
    /// Stems lost at the bench.
    pub bench: HashMap<MaterialId, i64>,
    /// What came back of what was lent.
    pub loans: Option<loans::Count>,
    /// Its crew and hours.
    pub work: EventWork,
    /// What was typed.
    pub typed: Typed,
    /// What was asked.
    pub income: Income,
}

/// The figures that follow.
#[must_use]
pub fn figures(read: &Read) -> Figures {
    let [quoted, planned, now] = [(0, 0), (1, 0), (1, 1)].map(|(counts, costs)| {
        called(&Costing::of(read.studio, &read.book, &read.costs[costs]), &read.counts[counts])
    });
    let parts = read.parts();
    let mut lines: Vec<Line> = read.material_lines(&parts, [&quoted, &planned, &now]);
    lines.extend(read.breakage());
    lines.extend(read.fees());
    let worked = read.work.worked(read.counts[1].values().copied().fold(0, i64::saturating_add));
    let making = i64::try_from(planned.minutes.round()).unwrap_or(i64::MAX);
    let rides = times(read.event, &worked).rides(&worked);
    let tasks = labour::planned(read.conditioning(&parts), making, &worked, rides);
    let made = read.made(&read.book);
    let untyped = labour::untyped(&made, &read.typed.hours);
    let hours = labour::hours(&tasks, &read.typed.hours, labour::planned_of(&made, &untyped));
    let quoted_making = Amount {
        cost: Money::rounded(quoted.labour),
        ..Amount::whole(i64::try_from(quoted.minutes.round()).unwrap_or(i64::MAX), Money::ZERO)
    };
    lines.extend(labour::lines(&hours, &read.typed.hours, read.studio.labour.rate, quoted_making));
    lines.extend(read.typed_costs());
    let mut proposals = proposals::minutes(&made, &read.typed.hours);
    proposals.extend(proposals::stems(&made, &read.used(&parts, &now)));
    Figures {
        currency: read.studio.formats.currency.code().to_owned(),
        lines,
        income: read.income,
        stems: read.stems(&parts),
        proposals,
        unknown: read.unknown(&parts, &now, (&hours, &read.names(&untyped))),
        hours,
    }
}

/// A line's part, with what is said of the line.
struct Part<'a> {
    material: MaterialId,
    line: &'a PlacedLine,
    order: String,
    became: Became,
    bought: Bought,
}

impl Read<'_> {
    fn material(&self, id: MaterialId) -> Option<&Material> {
        self.materials.get(&id)
    }

    fn names(&self, recipes: &[RecipeId]) -> String {
        let names = recipes.iter().filter_map(|id| self.book.recipes.get(id));
        names.map(|recipe| recipe.name.as_str()).collect::<Vec<_>>().join("; ")
    }

    /// Of a material that orders or stock hold: how many the recipes call for, without loss, and how many are held.
    fn held_of_called(&self, id: MaterialId, parts: &[Part], now: &Called) -> Option<(Decimal, Decimal)> {
        let own: Vec<&Part> = parts.iter().filter(|part| part.material == id).collect();
        let stocked = self.stocked(&[id]);
        let called: Decimal = now.bare.get(&id)?.values().copied().sum();
        let ordered: Decimal = own.iter().map(|part| part.bought.planned.quantity.decimal()).sum();
        (!own.is_empty() || stocked > 0).then(|| (ordered + Decimal::from(stocked), called))
    }

    /// Of hard goods that orders or stock hold in part, the share that they do not hold; nothing where they hold all. Of flowers and
    /// foliage what was ordered counts: an order cuts and spares otherwise than a recipe.
    fn unheld_share(&self, id: MaterialId, parts: &[Part], now: &Called) -> Option<Decimal> {
        let (held, called) = self.held_of_called(id, parts, now).filter(|_| !self.is_fresh(id))?;
        (held < called).then(|| (called - held) / called)
    }

    fn is_fresh(&self, id: MaterialId) -> bool {
        self.material(id).is_some_and(|material| Kind::of(material).is_fresh())
    }

    /// This event's part of every placed line.
    fn parts(&self) -> Vec<Part<'_>> {
        let lines = self.orders.iter().flat_map(|order| order.lines().map(|line| (order.name(), line)));
        let part = |(order, line): (String, _)| {
            let line: &PlacedLine = line;
            let became = self.became.get(&line.id).copied().unwrap_or_default();
            let bought = bought(line, became, self.event.id)?;
            Some(Part { material: line.material_id, line, order, became, bought })
        };
        lines.filter_map(part).collect()
    }

    /// Minutes of conditioning as planned: minutes a bunch × its part of the packs, rounded up.
    fn conditioning(&self, parts: &[Part]) -> i64 {
        let minutes = parts.iter().filter(|part| self.is_fresh(part.material)).filter_map(|part| {
            let each = Decimal::from(self.material(part.material)?.care.conditioning_minutes);
            Some(each * part.bought.planned.quantity.decimal() / Decimal::from(part.line.pack_size.max(1)))
        });
        i64::try_from(minutes.sum::<Decimal>().ceil()).unwrap_or(i64::MAX)
    }

    fn made(&self, book: &RecipeBook) -> BTreeMap<RecipeId, Made> {
        let costing = Costing::of(self.studio, book, &self.costs[0]);
        let made = self.counts[1].iter().filter_map(|(recipe, count)| {
            let name = book.recipes.get(recipe)?.name.clone();
            let minutes = costing.piece(*recipe, (*count).max(1)).ok()?.minutes;
            Some((*recipe, Made { name, count: *count, minutes }))
        });
        made.collect()
    }

    /// Fresh materials of which all is known: counted in, and said what was left over.
    fn used(&self, parts: &[Part], now: &Called) -> Vec<Used> {
        let ids: BTreeSet<MaterialId> = parts.iter().map(|part| part.material).collect();
        let used = ids.into_iter().filter(|id| self.is_fresh(*id)).filter_map(|id| {
            let own: Vec<&Part> = parts.iter().filter(|part| part.material == id).collect();
            let known = own.iter().all(|part| part.became.counted.is_some() && part.became.left.is_some());
            let bought: Vec<Bought> = own.iter().map(|part| part.bought).collect();
            let stems = stems(&bought, self.stocked(&[id]), self.bench.get(&id).copied().unwrap_or_default());
            let name = self.material(id)?.name.clone();
            let called = now.bare.get(&id)?.clone();
            known.then(|| Used { name, stems: stems.used(), called })
        });
        used.collect()
    }

    fn stocked(&self, ids: &[MaterialId]) -> i64 {
        self.stock.iter().filter(|used| ids.contains(&used.material)).map(|used| used.count).sum()
    }

    fn stems(&self, parts: &[Part]) -> Stems {
        let fresh: Vec<Bought> =
            parts.iter().filter(|part| self.is_fresh(part.material)).map(|part| part.bought).collect();
        let ids: Vec<MaterialId> = self.materials.keys().copied().filter(|id| self.is_fresh(*id)).collect();
        let bench = self.bench.iter().filter(|(id, _)| self.is_fresh(**id)).map(|(_, lost)| *lost).sum();
        stems(&fresh, self.stocked(&ids), bench)
    }
}
