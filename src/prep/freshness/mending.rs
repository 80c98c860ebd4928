//! What would mend a flower that ends early or stands shut: another delivery day, the cooler, a cooler venue, a substitute.
//! Each is tried on the same estimate and said only where it comes out better.
//!
//! May import: this room's lives and estimate, prep's inputs, the stem order's windows, `ground`.

use std::collections::BTreeMap;

use super::ageing::Ageing;
use super::estimate::{Estimate, Verdict, estimate};
use super::lives::{EventLives, Life};
use super::temperatures::Temperatures;
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::prep::plan::PrepInputs;
use crate::price_list::Material;
use crate::stem_order::weekend::WeekendEvent;
use crate::stem_order::windows::arrival;

/// A venue at which a vase life is meant.
const COOL_VENUE: i64 = 20;

/// So many substitutes are named at most.
const MOST_NAMED: usize = 3;

/// A day on which a supplier brings a material and still takes orders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SupplierDay {
    /// The day.
    pub day: Day,
    /// Who.
    pub supplier: String,
    /// Order by.
    pub order_by: (Day, TimeOfDay),
}

/// On which days materials can still be had.
pub type SupplierDays = BTreeMap<MaterialId, Vec<SupplierDay>>;

/// The materials of which delivery days are asked for: those of troubled rows.
#[must_use]
pub fn asked_for(lives: &[EventLives]) -> Vec<MaterialId> {
    let rows = lives.iter().flat_map(EventLives::troubled).filter(|row| !row.on_hand);
    let mut materials: Vec<MaterialId> = rows.map(|row| row.material).collect();
    materials.sort_unstable();
    materials.dedup();
    materials
}

/// What would mend a row, in sentences.
#[must_use]
pub fn mends(
    inputs: &PrepInputs,
    lives: &EventLives,
    row: &Life,
    days: &SupplierDays,
    formats: &Formats,
) -> Vec<String> {
    let (Some(event), Some(material)) =
        (inputs.weekend.events.get(lives.event), inputs.weekend.material(row.material))
    else {
        return Vec::new();
    };
    let case = Case { inputs, event, material, row, temperatures: lives.temperatures };
    if row.estimate.verdict == Verdict::Shut {
        let earlier = case.other_day(days, *formats);
        return earlier.into_iter().chain(case.substitutes()).collect();
    }
    let ways = [case.other_day(days, *formats), case.finished_in_the_cooler(), case.cooler_venue()];
    ways.into_iter().flatten().chain(case.substitutes()).collect()
}

struct Case<'a> {
    inputs: &'a PrepInputs,
    event: &'a WeekendEvent,
    material: &'a Material,
    row: &'a Life,
    temperatures: Temperatures,
}

impl Case<'_> {
    /// The delivery day on which it comes out best, if better than now.
    fn other_day(&self, days: &SupplierDays, formats: Formats) -> Option<String> {
        let window = arrival(self.material, self.event.event.day, self.row.made).ok()?;
        let known = days.get(&self.material.id).filter(|_| !self.row.on_hand)?;
        let fitting = known.iter().filter(|at| at.day != self.row.arrives && window.holds(at.day));
        let tried = fitting
            .map(|at| (at, self.inputs.climate.estimate(self.event, self.material, (at.day, self.row.made))));
        let better = tried.filter(|(_, found)| self.is_better(found));
        let (at, found) = better.max_by(|(_, one), (_, other)| rank(one).total_cmp(&rank(other)))?;
        let (by, time) = at.order_by;
        Some(format!(
            "Delivered {}, by {} (order by {} {time}): {}.",
            formats.weekday(at.day),
            at.supplier,
            formats.weekday(by),
            outcome(&found)
        ))
    }

    fn finished_in_the_cooler(&self) -> Option<String> {
        let finished = Some(self.temperatures.cooler_for(&self.material.care));
        let found = self.at(&Temperatures { finished, ..self.temperatures });
        self.is_better(&found)
            .then(|| format!("Finished pieces in the cooler until they are loaded: {}.", outcome(&found)))
    }

    fn cooler_venue(&self) -> Option<String> {
        if self.temperatures.venue <= COOL_VENUE {
            return None;
        }
        let found = self.at(&Temperatures { venue: COOL_VENUE, ..self.temperatures });
        let words = || format!("At {COOL_VENUE} °C at the venue, out of the heat: {}.", outcome(&found));
        self.is_better(&found).then(words)
    }

    /// Those that the recipes allow and that come out fine on the same days.
    fn substitutes(&self) -> Vec<String> {
        let wanted = |id: MaterialId| id == self.material.id || self.row.stands_in_for.contains(&id);
        let needs = self.inputs.weekend.needs.iter().filter(|need| wanted(need.material));
        let parts = needs.flat_map(|need| need.parts.iter().map(move |part| (need.material, part)));
        let own = parts.filter(|(_, part)| {
            self.inputs
                .weekend
                .events
                .get(part.event)
                .is_some_and(|event| event.event.id == self.event.event.id)
        });
        let mut ids: Vec<MaterialId> =
            own.flat_map(|(wanted, part)| part.substitutes.iter().copied().chain([wanted])).collect();
        ids.sort_unstable();
        ids.dedup();
        let materials = ids.into_iter().filter_map(|id| self.inputs.weekend.material(id));
        let others = materials.filter(|other| other.id != self.material.id && other.is_fresh());
        let words = others.filter_map(|other| {
            let found = self.inputs.climate.estimate(self.event, other, (self.row.arrives, self.row.made));
            let fine = found.verdict == Verdict::Fine;
            fine.then(|| format!("{} may stand in: {}.", other.name, outcome(&found)))
        });
        words.take(MOST_NAMED).collect()
    }

    fn at(&self, temperatures: &Temperatures) -> Estimate {
        estimate(self.material, self.row.estimate.journey, temperatures)
    }

    fn is_better(&self, found: &Estimate) -> bool {
        found.verdict > self.row.estimate.verdict
    }
}

fn rank(found: &Estimate) -> f64 {
    found.days_left.unwrap_or(0.0)
}

/// `about 2 days left`; of what cold harms no days are known, only whether it keeps.
fn outcome(found: &Estimate) -> String {
    if let Ageing::Tender { .. } = found.ageing {
        return match found.verdict {
            Verdict::Shut => "it keeps to the end of the event, but is still shut when guests come".into(),
            Verdict::LittleLeft => "it keeps to the end of the event, though not much longer".into(),
            _ => "it keeps to the end of the event".into(),
        };
    }
    match found.whole_days_left() {
        Some(0) => "it lasts to the end, with less than a day left".into(),
        Some(1) => "about 1 day left".into(),
        Some(days) => format!("about {days} days left"),
        None => "it is open in time".into(),
    }
}

#[cfg(test)]
mod tests;
