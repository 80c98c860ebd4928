//! Every fresh material of every event, from the day it arrives to the event's end: the worst first.
//!
//! A material that arrives on two days, or of which some lies on hand, has a row for each; what stands in for another has its
//! own. Of the pieces that one arrival serves the first made decides, since it stands in the warm longest.
//!
//! May import: this room's estimate, prep's plan, bench plan and event work, `ground`, types of earlier rooms.

use std::collections::BTreeMap;

use super::estimate::{Estimate, Verdict, estimate};
use super::temperatures::Temperatures;
use super::way::Journey;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId};
use crate::prep::bench_plan::BenchPlan;
use crate::prep::event_work::{EventTimes, EventWork, times};
use crate::prep::plan::{Delivery, PrepInputs, Serves};
use crate::price_list::Material;
use crate::stem_order::weekend::{NeedPart, Weekend, WeekendEvent};
use crate::stem_order::windows::still_keeps;

/// How warm it is on the way to each event, and when its van leaves.
#[derive(Debug, Clone, Default)]
pub struct Climate {
    /// The setting.
    pub temperatures: Option<Temperatures>,
    /// Venues with a temperature of their own.
    pub venues: BTreeMap<EventId, i64>,
    /// What each event takes beside the making, where that was typed.
    pub works: BTreeMap<EventId, EventWork>,
}

/// The fresh materials of one event.
#[derive(Debug, Clone, PartialEq)]
pub struct EventLives {
    /// Which event, by its place in the weekend.
    pub event: usize,
    /// Its identity.
    pub id: EventId,
    /// Its name.
    pub name: String,
    /// The way's temperatures to its venue.
    pub temperatures: Temperatures,
    /// The rows, worst first.
    pub rows: Vec<Life>,
}

/// One material that arrives on one day for one event.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// Of what.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// Where it comes from, in words: a supplier, an order, the cooler.
    pub from: String,
    /// Whether it lies on hand.
    pub on_hand: bool,
    /// On which day it arrives or arrived.
    pub arrives: Day,
    /// On which day the first of its pieces is made.
    pub made: Day,
    /// For what it is wanted, where it stands in for another.
    pub stands_in_for: Vec<MaterialId>,
    /// What is left of it.
    pub estimate: Estimate,
}

impl Climate {
    /// The setting, or the usual one.
    #[must_use]
    pub fn temperatures(&self) -> Temperatures {
        self.temperatures.unwrap_or(Temperatures::USUAL)
    }

    /// The way's temperatures to an event's venue.
    #[must_use]
    pub fn to(&self, event: EventId) -> Temperatures {
        self.temperatures().at_venue(self.venues.get(&event).copied())
    }

    /// The clock of an event's day.
    #[must_use]
    pub fn times(&self, event: &WeekendEvent) -> EventTimes {
        let work = self.works.get(&event.event.id).copied().unwrap_or_default();
        let pieces = event.counts.iter().fold(0_i64, |sum, (_, count)| sum.saturating_add(*count));
        times(&event.event, &work.worked(pieces))
    }

    /// What is left of a material at the end of an event, if it arrives on one day and is made up on another.
    #[must_use]
    pub fn estimate(&self, event: &WeekendEvent, material: &Material, days: (Day, Day)) -> Estimate {
        let journey = Journey::of(&event.event, &self.times(event), days);
        estimate(material, journey, &self.to(event.event.id))
    }
}

impl EventLives {
    /// Rows that someone has to look at.
    pub fn troubled(&self) -> impl Iterator<Item = &Life> {
        self.rows.iter().filter(|row| row.estimate.wants_a_look())
    }

    /// What is wrong, a sentence a row: what ends early or is shut.
    #[must_use]
    pub fn troubles(&self) -> Vec<String> {
        self.rows.iter().filter_map(|row| row.estimate.trouble(&row.name)).collect()
    }

    /// `1 ends early, 2 with little left, 12 fine`.
    #[must_use]
    pub fn words(&self) -> String {
        let count = |verdict| self.count(verdict);
        let parts = [
            (count(Verdict::EndsEarly), "ends early", "end early"),
            (count(Verdict::Shut), "still shut", "still shut"),
            (count(Verdict::LittleLeft), "with little left", "with little left"),
            (count(Verdict::NotSaid), "of which nobody says", "of which nobody says"),
            (count(Verdict::Fine), "fine", "fine"),
        ];
        let said = parts.into_iter().filter(|(count, ..)| *count > 0);
        let words: Vec<String> = said
            .map(|(count, one, many)| format!("{count} {}", if count == 1 { one } else { many }))
            .collect();
        if words.is_empty() { "nothing fresh".into() } else { words.join(", ") }
    }

    /// The worst of its rows.
    #[must_use]
    pub fn worst(&self) -> Option<Verdict> {
        self.rows.iter().map(|row| row.estimate.verdict).min()
    }

    /// How many rows stand so.
    #[must_use]
    pub fn count(&self, verdict: Verdict) -> usize {
        self.rows.iter().filter(|row| row.estimate.verdict == verdict).count()
    }
}

/// Everything fresh of a weekend, by event, worst first; made up when its bench plan has it.
#[must_use]
pub fn lives(inputs: &PrepInputs, plan: &BenchPlan) -> Vec<EventLives> {
    let on_hand = on_hand(inputs);
    let events = inputs.weekend.events.iter().enumerate();
    let event = |(at, event): (usize, &WeekendEvent)| {
        let mut rows = rows(inputs, at, plan, &on_hand);
        rows.sort_by(|one, other| {
            let left = |row: &Life| row.estimate.days_left.unwrap_or(f64::MAX);
            let verdicts = one.estimate.verdict.cmp(&other.estimate.verdict);
            verdicts.then(left(one).total_cmp(&left(other))).then_with(|| one.name.cmp(&other.name))
        });
        let temperatures = inputs.climate.to(event.event.id);
        EventLives { event: at, id: event.event.id, name: event.event.name.clone(), temperatures, rows }
    };
    events.map(event).collect()
}

/// Stems on hand of one age.
struct OnHand {
    material: MaterialId,
    arrived: Day,
    serves: Vec<Serves>,
}

/// What the stem order takes from stock; without one, what lies there for each part, the oldest that still keeps.
fn on_hand(inputs: &PrepInputs) -> Vec<OnHand> {
    if let Some(plan) = &inputs.plan {
        let taken = plan.from_stock.iter();
        return taken
            .map(|taken| OnHand {
                material: taken.material,
                arrived: taken.arrived,
                serves: taken.serves.clone(),
            })
            .collect();
    }
    let needs = inputs.weekend.needs.iter();
    let parts =
        needs.flat_map(|need| need.parts.iter().filter(|part| part.from_hand > 0).map(move |p| (need, p)));
    let lot = |(need, part): (&crate::stem_order::weekend::MaterialNeed, &NeedPart)| {
        let event = inputs.weekend.events.get(part.event)?;
        let material = inputs.weekend.material(need.material)?;
        let keeps = |lot: &&crate::stem_order::weekend::OnHand| {
            still_keeps(material, lot.arrived_on, event.event.day)
        };
        let oldest = need.on_hand.iter().find(keeps)?;
        let serves = vec![Serves::part(need.material, part)];
        Some(OnHand { material: need.material, arrived: oldest.arrived_on, serves })
    };
    parts.filter_map(lot).collect()
}

/// What a row is told by: of what, when it arrives, whether it lies on hand.
type Key = (MaterialId, Day, bool);

/// What is known of a row while its deliveries are gathered: the first make day, from where, what it stands in for.
type Known = (Day, Vec<String>, Vec<MaterialId>);

type Gathered = BTreeMap<Key, Known>;

fn rows(inputs: &PrepInputs, at: usize, plan: &BenchPlan, on_hand: &[OnHand]) -> Vec<Life> {
    let mut gathered = Gathered::new();
    for delivery in &plan.work.arrivals {
        let from = from(inputs, delivery);
        let own = made(plan, at, &delivery.serves);
        gather(&mut gathered, (delivery.material, delivery.day, false), &own, &from);
    }
    for lot in on_hand {
        let own = made(plan, at, &lot.serves);
        gather(&mut gathered, (lot.material, lot.arrived, true), &own, "on hand");
    }
    let Some(event) = inputs.weekend.events.get(at) else { return Vec::new() };
    let row = |((id, arrives, on_hand), (made, from, others)): (Key, Known)| {
        let material = fresh(&inputs.weekend, id)?;
        Some(Life {
            material: id,
            name: material.name.clone(),
            from: from.join("; "),
            on_hand,
            arrives,
            made,
            stands_in_for: others,
            estimate: inputs.climate.estimate(event, material, (arrives, made)),
        })
    };
    gathered.into_iter().filter_map(row).collect()
}

fn fresh(weekend: &Weekend, id: MaterialId) -> Option<&Material> {
    weekend.material(id).filter(|material| material.is_fresh())
}

fn from(inputs: &PrepInputs, delivery: &Delivery) -> String {
    let unknown = if inputs.plan.is_some() { "not in the stem order" } else { "the latest safe day" };
    let supplier = delivery.supplier.as_deref().unwrap_or(unknown).to_owned();
    if delivery.note.is_empty() { supplier } else { format!("{supplier}, {}", lower_first(&delivery.note)) }
}

/// `Not ordered yet` within a sentence; an order's number stays as it is.
fn lower_first(note: &str) -> String {
    if note.starts_with("N°") {
        return note.to_owned();
    }
    let mut letters = note.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// For what of an event it is wanted, and from which day on that is made.
fn made(plan: &BenchPlan, at: usize, serves: &[Serves]) -> Vec<(MaterialId, Day)> {
    let own = serves.iter().filter(|serves| serves.event == at);
    own.map(|serves| (serves.material, plan.making_of(serves).0)).collect()
}

fn gather(gathered: &mut Gathered, key: Key, own: &[(MaterialId, Day)], from: &str) {
    let Some(made) = own.iter().map(|(_, made)| *made).min() else { return };
    let (first, sources, others) = gathered.entry(key).or_insert_with(|| (made, Vec::new(), Vec::new()));
    *first = made.min(*first);
    if !sources.iter().any(|known| known == from) {
        sources.push(from.to_owned());
    }
    for wanted in own.iter().map(|(wanted, _)| *wanted).filter(|wanted| *wanted != key.0) {
        if !others.contains(&wanted) {
            others.push(wanted);
        }
    }
}

#[cfg(test)]
mod tests;
