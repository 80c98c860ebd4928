//! The days' tasks as they are put on the bench, and the sheets they make in the end.

use std::collections::{BTreeMap, BTreeSet};

use super::{Conflict, PrepDay, PrepInputs, PrepSheets, PrepStep, PrepTask};
use crate::ground::caution::{Caution, Cautions};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::prep::Step;
use crate::prep::bench_plan::BenchPlan;
use crate::prep::stations::Station;
use crate::price_list::Material;
use crate::stem_order::weekend::WeekendEvent;

/// The bench, filling up.
pub(super) struct Bench<'a> {
    pub(super) inputs: &'a PrepInputs,
    pub(super) plan: &'a BenchPlan,
    pub(super) formats: &'a Formats,
    conflicts: Vec<Conflict>,
    days: BTreeMap<Day, Work>,
}

#[derive(Default)]
struct Work {
    /// Kind of task, place in its order, task.
    tasks: Vec<(Step, i64, PrepTask)>,
    events: BTreeSet<usize>,
    cautions: BTreeMap<Station, Cautions>,
}

/// Where a task goes.
pub(super) struct Slot<'s> {
    pub(super) day: Day,
    pub(super) step: Step,
    /// Lower comes first within its kind.
    pub(super) order: i64,
    pub(super) events: &'s [usize],
    pub(super) cautions: Cautions,
}

impl<'a> Bench<'a> {
    pub(super) fn new(inputs: &'a PrepInputs, plan: &'a BenchPlan, formats: &'a Formats) -> Bench<'a> {
        Bench { inputs, plan, formats, conflicts: Vec::new(), days: BTreeMap::new() }
    }

    pub(super) fn put(&mut self, slot: &Slot<'_>, task: PrepTask) {
        let work = self.days.entry(slot.day).or_default();
        work.events.extend(slot.events);
        let station = work.cautions.entry(Station::of(&task, slot.step)).or_default();
        *station = station.and(slot.cautions).and(usual(slot.step));
        work.tasks.push((slot.step, slot.order, task));
    }

    /// Names what does not fit on a day, once.
    pub(super) fn conflict(&mut self, day: Day, sentence: String) {
        self.name_once(Conflict { day, sentence, buying: false });
    }

    /// Names what is mended by ordering, once.
    pub(super) fn await_order(&mut self, day: Day, sentence: String) {
        self.name_once(Conflict { day, sentence, buying: true });
    }

    fn name_once(&mut self, conflict: Conflict) {
        if !self.conflicts.contains(&conflict) {
            self.conflicts.push(conflict);
        }
    }

    pub(super) fn events(&self) -> &'a [WeekendEvent] {
        &self.inputs.weekend.events
    }

    pub(super) fn material(&self, id: MaterialId) -> Option<&'a Material> {
        self.inputs.weekend.material(id)
    }

    /// The names of events, once each.
    pub(super) fn names(&self, events: &[usize]) -> String {
        let mut names: Vec<&str> = Vec::new();
        for name in events.iter().filter_map(|at| self.events().get(*at)).map(|event| &*event.event.name) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names.join("; ")
    }

    /// `8 of 14 here, 6 on Thu 14 May 2026`, where work is split over days.
    pub(super) fn split(&self, days: &[(Day, i64)], day: Day, some: i64) -> Option<String> {
        let all = days.iter().fold(0_i64, |sum, (_, count)| sum.saturating_add(*count));
        let others = days.iter().filter(|(other, _)| *other != day);
        let others = others.map(|(other, count)| format!("{count} on {}", self.formats.weekday(*other)));
        let others = others.collect::<Vec<_>>().join(", ");
        (some < all).then(|| format!("{some} of {all} on this day, {others}"))
    }

    pub(super) fn sheets(mut self) -> PrepSheets {
        self.conflicts.sort_by_key(|conflict| conflict.day);
        let open = self.inputs.weekend.open_counts.iter().map(|open| {
            let event = self.names(&[open.event]);
            format!("{event}: {}, {} ({})", open.recipe, open.place, open.rule.label())
        });
        let open_counts = open.collect();
        let days = self.days.iter().map(|(day, work)| PrepDay {
            day: *day,
            events: work.events.iter().map(|at| self.names(&[*at])).collect(),
            steps: steps(&work.tasks),
            minutes: work.tasks.iter().fold(0, |sum, (_, _, task)| task.minutes.saturating_add(sum)),
            cautions: work.cautions.values().fold(Cautions::default(), |all, own| all.and(*own)).list(),
            cautions_at: work.cautions.iter().map(|(station, own)| (*station, own.list())).collect(),
        });
        PrepSheets { days: days.collect(), open_counts, conflicts: self.conflicts }
    }
}

fn steps(tasks: &[(Step, i64, PrepTask)]) -> Vec<PrepStep> {
    let steps = Step::ALL.iter().map(|step| {
        let mut own: Vec<_> = tasks.iter().filter(|(kind, _, _)| kind == step).collect();
        own.sort_by_key(|(_, order, _)| *order);
        PrepStep { step: *step, tasks: own.into_iter().map(|(_, _, task)| task.clone()).collect() }
    });
    steps.filter(|step| !step.tasks.is_empty()).collect()
}

/// The usual cautions of a kind of work.
fn usual(step: Step) -> Cautions {
    match step {
        Step::Dress => Cautions::default(),
        Step::Condition => Cautions::of(&[Caution::Sharp, Caution::Residue]),
        Step::Cut | Step::Make => Cautions::of(&[Caution::Sharp]),
    }
}
