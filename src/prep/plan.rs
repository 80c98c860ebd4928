//! The prep plan: what is done on each day before the events of a weekend, backwards from the events (C7's order of tasks).
//!
//! Condition as it arrives → dress vessels → cut → make, personal flowers last. All numbers come from the same pooled
//! [`Weekend`] as the stem order. The rules, all common practice, no published source:
//! - a piece that holds at least 24 h is made the day before its event, else on the day (`stem_order::windows`);
//! - flowers are conditioned on the day they arrive, and used not before they stood in water for their hours and are
//!   open; where no buying plan says when they arrive, on the latest day on which that leaves time to make the piece;
//! - foliage is cut on the day it is placed, and not earlier than it keeps once cut (24 h where nothing else is known);
//! - vessels are dressed, and ribbon is cut, any day before; here the day before the first piece is made.
//!
//! Where somebody has said who works when, the days of dressing and making are the bench plan's instead ([`super::bench_plan`]),
//! and so is the day of cutting, which goes along with the making; a task may then be split over days.
//!
//! Hours of work are what recipes and materials say (minutes × count, minutes × bunches), rounded up a task.
//!
//! May import: types and calculations of the rooms before it, `rust_decimal`, `jiff` civil times, `serde`.

mod bench;
mod clock;
mod cuts;
mod dressing;
mod flowers;
mod making;
mod planned;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use jiff::civil::DateTime;
use serde::Serialize;

use super::Step;
use super::bench_plan::shifts::hours_words as hours;
use super::bench_plan::{self, BenchInputs, BenchPlan};
use super::freshness::lives::Climate;
use super::stations::Station;
use crate::events::Piece;
use crate::ground::caution::Caution;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, RecipeId, StockLotId, SupplierId};
use crate::recipes::Category;
use crate::recipes::explosion::ExplosionError;
use crate::stem_order::weekend::{NeedPart, Weekend};

pub(crate) use clock::hours_after;
pub use clock::{BENCH_CLOSES, BENCH_OPENS, IN_WATER_BY, said};
pub use flowers::arrivals;
pub(crate) use flowers::{bunches, conditioning_key, ready};
pub use planned::{ordered, placed};

/// Hours that foliage keeps once it is cut, where its material says nothing. Common practice, no published source.
pub const CUT_KEEPS_HOURS: i64 = 24;

/// Everything the prep plan is computed from.
#[derive(Debug, Clone)]
pub struct PrepInputs {
    /// The events with what they need, pooled.
    pub weekend: Weekend,
    /// Their pieces, with their places.
    pub pieces: Vec<Piece>,
    /// In which packs materials come.
    pub packs: HashMap<MaterialId, Pack>,
    /// What the stem order has delivered; without one, flowers arrive on the latest safe day.
    pub plan: Option<OrderedPlan>,
    /// Whether there is no order because its plan was stopped before it had an answer.
    pub undecided: bool,
    /// How warm it is on the way, and what each event takes beside the making.
    pub climate: Climate,
    /// Who works when, what events take beside the making, what is pinned to a day.
    pub bench: BenchInputs,
}

/// What prep has to know of the stem order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OrderedPlan {
    /// What is delivered.
    pub deliveries: Vec<Delivery>,
    /// What cannot be had; it is prepared for the latest safe day, and named.
    pub unmet: Vec<Unmet>,
    /// What the order takes from stock.
    pub from_stock: Vec<StockTaken>,
    /// What the buyer has still to see to.
    pub open: Vec<OpenOrder>,
}

/// Stems from stock for pieces of one event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StockTaken {
    /// Of which lot.
    pub lot: StockLotId,
    /// Of what.
    pub material: MaterialId,
    /// When they came.
    pub arrived: Day,
    /// How many.
    pub stems: i64,
    /// What they serve.
    pub serves: Vec<Serves>,
}

/// Something that the buyer has still to see to: stems that were not ordered yet, or that come on a day of no use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenOrder {
    /// On which day the bench meets it; none where it is no matter of one day.
    pub day: Option<Day>,
    /// What, and why.
    pub sentence: String,
}

/// Stems that the stem order could not have.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unmet {
    /// Of what.
    pub material: MaterialId,
    /// For which event, by its place in the weekend.
    pub event: usize,
    /// How many.
    pub stems: i64,
    /// Why, and what would mend it.
    pub sentence: String,
}

/// A pack, as it is conditioned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pack {
    /// What it is called.
    pub name: String,
    /// How many stems are in it.
    pub size: i64,
}

/// What arrives of one material on one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// Of what.
    pub material: MaterialId,
    /// When.
    pub day: Day,
    /// How many stems.
    pub stems: i64,
    /// How many of them nobody needs: they come with whole packs, or are not needed any more.
    pub over: i64,
    /// In so many of which packs, where that is known.
    pub packs: Option<(i64, Pack)>,
    /// From whom, where that is known.
    pub supplier: Option<String>,
    /// The same by identity.
    pub supplier_id: Option<SupplierId>,
    /// Whether it is still to be ordered beside what was ordered.
    pub open: bool,
    /// What it serves; nothing where nobody needs it any more.
    pub serves: Vec<Serves>,
    /// On which order it stands, and what came of it; empty where there is nothing to say.
    pub note: String,
}

/// Pieces of one event that a delivery serves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Serves {
    /// What they call for; the delivery may be of a substitute.
    pub material: MaterialId,
    /// Which event, by its place in the weekend.
    pub event: usize,
    /// Its recipes that call for the material.
    pub recipes: Vec<RecipeId>,
    /// On which day the first of them is usually made; the bench plan may have moved it.
    pub make_day: Day,
}

impl Serves {
    /// What a part of the weekend's need is for.
    #[must_use]
    pub fn part(material: MaterialId, part: &NeedPart) -> Serves {
        let make_day = part.window.as_ref().map_or_else(|empty| empty.make_day, |window| window.make_day);
        let recipes = part.need.called_by.keys().copied().collect();
        Serves { material, event: part.event, recipes, make_day }
    }
}

impl Delivery {
    /// The events it serves, once each.
    #[must_use]
    pub fn events(&self) -> Vec<usize> {
        let events: BTreeSet<usize> = self.serves.iter().map(|serves| serves.event).collect();
        events.into_iter().collect()
    }
}

/// The sheets of all days on which something is done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PrepSheets {
    /// The days, in order.
    pub days: Vec<PrepDay>,
    /// Windows that are empty, stems that cannot be cut.
    pub conflicts: Vec<Conflict>,
    /// Pieces that are not counted yet, and so on no sheet.
    pub open_counts: Vec<String>,
}

/// What does not fit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Conflict {
    /// On which day it shows.
    pub day: Day,
    /// What, and why.
    pub sentence: String,
    /// Whether the stem order is where it is mended.
    pub buying: bool,
}

/// The work of one day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PrepDay {
    /// Which day.
    pub day: Day,
    /// For which events.
    pub events: Vec<String>,
    /// The tasks, in the order in which they are done.
    pub steps: Vec<PrepStep>,
    /// Person-minutes of the day.
    pub minutes: i64,
    /// Where its work can hurt someone.
    pub cautions: Vec<Caution>,
    /// The same by station.
    pub cautions_at: BTreeMap<Station, Vec<Caution>>,
}

/// The tasks of one kind.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PrepStep {
    /// Which kind.
    pub step: Step,
    /// The tasks.
    pub tasks: Vec<PrepTask>,
}

/// One task.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PrepTask {
    /// The same each time the plan is made, so that a tick stays where it was set.
    pub key: String,
    /// How many.
    pub count: i64,
    /// Of what unit; empty for single things.
    pub unit: String,
    /// What.
    pub what: String,
    /// How, one line each.
    pub how: Vec<String>,
    /// For which event and place.
    pub wanted_for: String,
    /// Not earlier than this.
    pub not_before: Option<DateTime>,
    /// Person-minutes; 0 where nobody says.
    pub minutes: i64,
    /// The sums behind it, in words.
    pub working: String,
    /// What is made, where pieces are.
    pub makes: Option<Makes>,
}

/// The recipe by which pieces are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Makes {
    /// Which.
    pub recipe: RecipeId,
    /// What kind of piece it makes.
    pub category: Category,
}

impl PrepSheets {
    /// The sheet of one day.
    #[must_use]
    pub fn day(&self, day: Day) -> Option<&PrepDay> {
        self.days.iter().find(|sheet| sheet.day == day)
    }
}

impl PrepDay {
    /// The day's person-hours.
    #[must_use]
    pub fn hours(&self) -> String {
        hours(self.minutes)
    }
}

impl PrepTask {
    /// Its person-hours; nothing where nobody says.
    #[must_use]
    pub fn hours(&self) -> Option<String> {
        (self.minutes > 0).then(|| hours(self.minutes))
    }
}

/// The prep sheets of a weekend, by its bench plan.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn sheets(inputs: &PrepInputs, formats: &Formats) -> Result<PrepSheets, ExplosionError> {
    sheets_of(inputs, &bench_plan::plan(inputs, formats)?, formats)
}

/// The prep sheets of a bench plan.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn sheets_of(
    inputs: &PrepInputs,
    plan: &BenchPlan,
    formats: &Formats,
) -> Result<PrepSheets, ExplosionError> {
    let mut bench = bench::Bench::new(inputs, plan, formats);
    flowers::condition(&mut bench, &plan.work.arrivals);
    cuts::cut(&mut bench)?;
    dressing::dress(&mut bench)?;
    making::make(&mut bench, &plan.work.arrivals)?;
    for conflict in plan.conflicts.iter().filter(|conflict| conflict.overfull) {
        bench.conflict(conflict.day, conflict.sentence.clone());
    }
    Ok(bench.sheets())
}

#[cfg(test)]
mod tests;
