//! What does not fit in words: windows that are empty, set-ups that take too long, days that are too full together; and what
//! would mend it, tried before it is said.
//!
//! May import: this room's calculations, this stage's plan, `ground`.

use std::collections::{BTreeMap, BTreeSet};

use super::overfull::{Tight, tight};
use super::pins::{Lot, pinned, settle};
use super::plan::words;
use super::shifts::{Exception, Otherwise, Shifts, hours_words};
use super::solve::{Posed, Solved};
use super::spells::CrewJob;
use super::tasks::{MINUTE, Task, Work, tasks_of};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::prep::plan::{Delivery, PrepInputs, said};
use crate::stem_order::windows::still_keeps;

/// More flowers than this are not tried to arrive earlier.
const MOST_TRIED: usize = 4;
/// More tasks than this are not named.
const MOST_NAMED: usize = 4;

/// No more people than this are proposed for a day.
const MOST_PEOPLE: i64 = 3;
/// And for no more half hours.
const MOST_HALF_HOURS: i64 = 16;
/// In minutes.
const HALF_HOUR: i64 = 30;

/// What does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanConflict {
    /// On which day it shows first.
    pub day: Day,
    /// What, why and by how much.
    pub sentence: String,
    /// What would mend it.
    pub mends: Vec<Mend>,
    /// Whether it is about too little room, not about one task's window.
    pub overfull: bool,
}

/// What would mend a conflict, and where that is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mend {
    /// In a sentence.
    pub words: String,
    /// Where.
    pub way: Way,
}

/// Where a conflict is mended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// With other shifts.
    Shifts,
    /// With other deliveries.
    StemOrder,
    /// By pins, in the rows of the conflict's day.
    Pins,
    /// With other hours or another crew of the event at a place of the weekend.
    EventWork(usize),
}

impl Mend {
    fn new(way: Way, words: impl Into<String>) -> Mend {
        Mend { words: words.into(), way }
    }
}

/// What conflicts are told from.
pub(super) struct Told<'a> {
    pub(super) inputs: &'a PrepInputs,
    pub(super) work: &'a Work,
    pub(super) lots: &'a [Lot],
    pub(super) jobs: &'a [CrewJob],
    pub(super) solved: &'a Solved,
    pub(super) formats: &'a Formats,
}

impl Told<'_> {
    pub(super) fn conflicts(&self) -> Vec<PlanConflict> {
        let mut conflicts = self.windows();
        conflicts.extend(self.set_ups());
        if self.inputs.bench.shifts.are_known() {
            conflicts.extend(self.crews());
            let spells = &self.solved.posed.spells.spells;
            let sets = tight(spells, &self.solved.posed.loads(), &self.solved.spread);
            conflicts.extend(sets.iter().map(|set| self.overfull(set)));
        }
        conflicts.sort_by_key(|conflict| conflict.day);
        conflicts
    }

    /// Tasks whose window is empty.
    fn windows(&self) -> Vec<PlanConflict> {
        let empty = self.work.tasks.iter().filter_map(|task| Some((task, task.short_by?)));
        let told = empty.map(|(task, short)| {
            let latest = &task.latest_why;
            let sentence = format!(
                "{} for {}: {}, but it must be done by {} ({latest}). That is {} too late.",
                task.what,
                task.wanted_for,
                task.earliest_why,
                said(task.latest),
                words(short.saturating_mul(MINUTE))
            );
            let at = Way::EventWork(task.events.first().copied().unwrap_or_default());
            let name = self.slow(task).and_then(|id| self.inputs.weekend.material(id));
            let name = name.map(|slow| slow.name.as_str());
            let mend = name.map_or_else(
                || Mend::new(at, "Make it at the venue, or have more time before the guests come."),
                |name| Mend::new(Way::StemOrder, format!("Have {name} delivered earlier, or load later.")),
            );
            PlanConflict { day: Day(task.latest.date()), sentence, mends: vec![mend], overfull: false }
        });
        told.collect()
    }

    /// The flower that comes too late for a task whose window is empty, for it or for what goes into it; none where it is its
    /// holding life that leaves no time.
    fn slow(&self, task: &Task) -> Option<MaterialId> {
        let (mut open, mut seen) = (vec![task], BTreeSet::new());
        let mut late = Vec::new();
        while let Some(of) = open.pop() {
            let waits = of.ready.iter().filter(|(_, from)| *from > of.holds_from && *from >= task.latest);
            late.extend(waits.map(|(id, from)| (*from, *id)));
            let parts = of.after.iter().filter(|part| seen.insert(**part));
            open.extend(parts.map(|part| &self.work.tasks[*part]));
        }
        late.into_iter().max().map(|(_, id)| id)
    }

    /// Set-ups that end after all must stand.
    fn set_ups(&self) -> Vec<PlanConflict> {
        let events = self.inputs.weekend.events.iter().zip(self.work.times.iter().zip(&self.work.worked));
        let late = events.enumerate().filter_map(|(at, (event, (times, worked)))| {
            let ends = times.set_ends(worked);
            let late = ends.duration_since(times.set_by).as_mins();
            (late > 0).then(|| PlanConflict {
                day: Day(times.set_by.date()),
                sentence: format!(
                    "{}: setting up takes {} people until {}, but all must stand by {}.",
                    event.event.name,
                    worked.crew,
                    said(ends),
                    said(times.set_by)
                ),
                mends: vec![Mend::new(Way::EventWork(at), "A larger crew, or an earlier set-up.")],
                overfull: false,
            })
        });
        late.collect()
    }

    /// Crews that need more hands at one time than work.
    fn crews(&self) -> Vec<PlanConflict> {
        let spells = &self.solved.posed.spells;
        let days = (0_i64..).zip(&spells.days).filter(|(_, day)| day.crew_over >= MINUTE);
        let told = days.map(|(number, room)| {
            let day = spells.day(number);
            let own = self.jobs.iter().filter(|job| Day(job.from.date()) == day);
            let events: BTreeSet<usize> = own.map(|job| job.event).collect();
            let names: Vec<&str> = events
                .iter()
                .filter_map(|at| Some(&*self.inputs.weekend.events.get(*at)?.event.name))
                .collect();
            PlanConflict {
                day,
                sentence: format!(
                    "{}: crews out at the same time ({}) need {} more than the shift has while they are out.",
                    self.formats.weekday(day),
                    names.join("; "),
                    words(room.crew_over)
                ),
                mends: vec![Mend::new(
                    Way::Shifts,
                    "One person more that day, a smaller crew, or hours that do not meet.",
                )],
                overfull: true,
            }
        });
        told.collect()
    }

    /// Days that are too full together.
    fn overfull(&self, set: &Tight) -> PlanConflict {
        let days = self.stretches(set);
        let first = days.keys().next().copied().unwrap_or(self.solved.posed.spells.first);
        let when = days.values().cloned().collect::<Vec<_>>().join(", ");
        let mut tasks: Vec<(i64, usize)> = Vec::new();
        for load in &set.loads {
            let lot = &self.lots[*load];
            tasks.push((super::tasks::work(lot.count, self.work.tasks[lot.task].unit), lot.task));
        }
        tasks.sort_by(|one, other| other.cmp(one));
        let named = tasks.iter().take(MOST_NAMED).map(|(work, at)| {
            let task = &self.work.tasks[*at];
            format!("{} × {} for {} ({})", task.count, task.what, task.wanted_for, words(*work))
        });
        let more = match tasks.len().saturating_sub(MOST_NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let sentence = format!(
            "{when}: {} too much. {} of work can be done at no other time, {} are there for it. It is {}{more}.",
            words(set.over()),
            words(set.work),
            words(set.room),
            named.collect::<Vec<_>>().join("; ")
        );
        let at: Vec<usize> = tasks.iter().map(|(_, at)| *at).collect();
        PlanConflict { day: first, sentence, mends: self.mends(set, &at, &days), overfull: true }
    }

    /// When the spells of a set are, by day: `Fri 15 May`, `Sat 16 May until 08:15`.
    fn stretches(&self, set: &Tight) -> BTreeMap<Day, String> {
        let spells = &self.solved.posed.spells;
        let mut days: BTreeMap<i64, (usize, usize)> = BTreeMap::new();
        for at in &set.spells {
            let here = days.entry(spells.spells[*at].day).or_insert((*at, *at));
            *here = (here.0.min(*at), here.1.max(*at));
        }
        let works = |at: &usize| spells.spells[*at].room > 0 || self.solved.spread.overtime[*at] > 0;
        let told = days.into_iter().filter_map(|(number, (first, last))| {
            (first..=last).find(works)?;
            let day = spells.day(number);
            let (from, until) = (spells.hours[first].0, spells.hours[last].1);
            let name = self.formats.weekday(day);
            let shift = self.inputs.bench.shifts.day(day);
            let whole = (from <= shift.from, until >= shift.until);
            let told = match whole {
                (true, true) => name,
                (true, false) => format!("{name} until {}", crate::ground::dates::TimeOfDay(until.time())),
                (false, true) => format!("{name} from {}", crate::ground::dates::TimeOfDay(from.time())),
                (false, false) => format!("{name}, {} to {}", said(from), said(until)),
            };
            Some((day, told))
        });
        told.collect()
    }

    /// Overtime of the same week with other shifts or other windows.
    fn tried(&self, shifts: &Shifts, tasks: &[Task], lots: &[Lot]) -> i64 {
        let posed = Posed::new(tasks, lots, shifts, self.jobs);
        let crew = posed.crew_over();
        super::spread::least_overtime(&posed.spells.spells, &posed.loads()) + crew
    }

    fn mends(&self, set: &Tight, tasks: &[usize], days: &BTreeMap<Day, String>) -> Vec<Mend> {
        let now = self.solved.least();
        let mut mends: Vec<Mend> = self.people_more(set, days, now).into_iter().collect();
        mends.extend(self.arriving_earlier(tasks, now));
        mends.extend(self.up_to_loading(tasks, now));
        mends
    }

    /// The fewest people and half hours more on one of the days that mend it: as they would be typed into the shifts, so spread
    /// over the hours of the day.
    fn people_more(&self, set: &Tight, days: &BTreeMap<Day, String>, now: i64) -> Option<Mend> {
        let goal = now - set.over();
        let on = |people: i64| {
            days.keys().filter_map(move |day| Some((self.half_hours((people, *day), goal)?, *day)))
        };
        let (people, (half_hours, day)) =
            (1..=MOST_PEOPLE).find_map(|people| Some((people, on(people).min()?)))?;
        let who = if people == 1 { "One person".to_owned() } else { format!("{people} people") };
        let (hours, day) = (hours_words(half_hours * HALF_HOUR), self.formats.weekday(day));
        Some(Mend::new(Way::Shifts, format!("{who} more for {hours} on {day} mends it.")))
    }

    /// For how many half hours so many people more on a day bring the overtime down to a goal; none if a whole day does not.
    fn half_hours(&self, (people, day): (i64, Day), goal: i64) -> Option<i64> {
        let mends = |half_hours: &i64| {
            let mut shifts = self.inputs.bench.shifts.clone();
            let minutes = half_hours * HALF_HOUR;
            let more = Exception { day, kind: Otherwise::More, people, minutes, note: String::new() };
            shifts.exceptions.push(more);
            self.tried(&shifts, &self.work.tasks, self.lots) <= goal
        };
        mends(&MOST_HALF_HOURS).then(|| (1..=MOST_HALF_HOURS).find(mends)).flatten()
    }

    /// Flowers that would have to arrive a day earlier.
    fn arriving_earlier(&self, tasks: &[usize], now: i64) -> Vec<Mend> {
        let mut slow: Vec<MaterialId> = Vec::new();
        for at in tasks {
            let task = &self.work.tasks[*at];
            let waits = task.ready.iter().filter(|(_, from)| *from > task.holds_from);
            if let Some((id, _)) =
                waits.max_by_key(|(id, from)| (*from, *id)).filter(|(id, _)| !slow.contains(id))
            {
                slow.push(*id);
            }
        }
        slow.truncate(MOST_TRIED);
        slow.into_iter().filter_map(|id| self.earlier(id, now)).collect()
    }

    /// The week anew with all of a flower a day earlier: conditioned that day, its pieces' windows and the pins as they are then.
    fn earlier(&self, id: MaterialId, now: i64) -> Option<Mend> {
        let work = tasks_of(self.inputs, self.a_day_earlier(id)?).ok()?;
        let lots = pinned(&work.tasks, &self.inputs.bench.pins, self.formats).lots;
        let saved = now - self.tried(&self.inputs.bench.shifts, &work.tasks, &lots);
        let name = &self.inputs.weekend.material(id)?.name;
        let told = || format!("{name} a day earlier saves {}.", words(saved));
        (saved >= MINUTE).then(|| Mend::new(Way::StemOrder, told()))
    }

    /// What arrives, with all of one flower a day earlier; none where it would not keep to its events then.
    fn a_day_earlier(&self, id: MaterialId) -> Option<Vec<Delivery>> {
        let material = self.inputs.weekend.material(id)?;
        let mut arrivals = self.work.arrivals.clone();
        for delivery in arrivals.iter_mut().filter(|delivery| delivery.material == id) {
            delivery.day = delivery.day.plus(-1);
            let events = delivery.events();
            let mut events = events.iter().filter_map(|at| self.inputs.weekend.events.get(*at));
            if !events.all(|event| still_keeps(material, delivery.day, event.event.day)) {
                return None;
            }
        }
        Some(arrivals)
    }

    /// Work that keeps a day and more, finished on the event's morning.
    fn up_to_loading(&self, tasks: &[usize], now: i64) -> Option<Mend> {
        let later = |lot: &Lot| {
            let task = &self.work.tasks[lot.task];
            let free = lot.pin.is_none() && tasks.contains(&lot.task) && task.short_by.is_none();
            Lot { latest: if free { task.at_most.max(lot.latest) } else { lot.latest }, ..lot.clone() }
        };
        let mut lots: Vec<Lot> = self.lots.iter().map(later).collect();
        settle(&self.work.tasks, &mut lots);
        let saved = now - self.tried(&self.inputs.bench.shifts, &self.work.tasks, &lots);
        let told = || {
            format!(
                "Finishing on the event's own morning, before loading, saves {}: pin pieces to that day.",
                words(saved)
            )
        };
        (saved >= MINUTE).then(|| Mend::new(Way::Pins, told()))
    }
}

#[cfg(test)]
mod tests;
