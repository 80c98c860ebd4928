//! A day with all its events: which crew goes where with which van, in how many loads, and what of it clashes.
//!
//! Events are set up in the order of the load sheet. Those that cannot be fetched one by one share a load; whether it fits the
//! van or needs several trips the load sheet computes. An event whose things travel in several trips is set up in so many
//! parts, its person-minutes divided by what each trip brings (C5). A second crew, with the next van, takes the events that are
//! given to it.
//!
//! May import: types and calculations of this stage and of earlier rooms, `jiff` civil times.

use std::collections::{BTreeMap, HashMap};

use jiff::civil::DateTime;

use super::clashes::{Clash, clashes};
use super::rounds::{Between, Job, Stop, What, in_order, outings, round};
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, VanId};
use crate::ground::largest_remainder::split_by;
use crate::prep::event_work::{EventTimes, EventWork, Worked, times};
use crate::pull_list::loading::sheet::{LoadInputs, LoadSheet, sheet};
use crate::pull_list::loading::{CrateKind, Van};
use crate::pull_list::pull::{PullInputs, PullList, list};
use crate::recipes::explosion::ExplosionError;

/// Everything a day is computed from.
#[derive(Debug, Clone)]
pub struct DayInputs {
    /// Which day.
    pub day: Day,
    /// Its events, crates and vans.
    pub load: LoadInputs,
    /// What was typed about each event's work.
    pub works: HashMap<EventId, EventWork>,
    /// Minutes of driving between two events' venues, where that was typed.
    pub drives: HashMap<(EventId, EventId), i64>,
    /// The van that is driven first.
    pub van: Option<VanId>,
    /// The events that a second crew takes.
    pub second: Vec<EventId>,
}

/// A day as it is driven.
#[derive(Debug, Clone)]
pub struct RunDay {
    /// Its events, in the order in which they may be set up.
    pub sites: Vec<Site>,
    /// What each crew does.
    pub rounds: Vec<Round>,
}

/// An event with what is known of its day.
#[derive(Debug, Clone)]
pub struct Site {
    /// Which.
    pub event: Event,
    /// What leaves the door for it.
    pub pull: PullList,
    /// What it takes.
    pub worked: Worked,
    /// Its clock, if it were alone.
    pub times: EventTimes,
    /// How many crates its pieces and goods fill.
    pub crates: usize,
}

/// What one crew does with its van.
#[derive(Debug, Clone)]
pub struct Round {
    /// What the van is called; none where none is written down, or no other one is there.
    pub van: Option<String>,
    /// What is to be done.
    pub jobs: Vec<Job>,
    /// When.
    pub stops: Vec<Stop>,
    /// What of it cannot be done in time.
    pub clashes: Vec<Clash>,
    /// The events of each load, by trip, by their places in the day.
    pub loads: Vec<Vec<usize>>,
}

/// A day as it is driven.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn run(inputs: DayInputs, formats: &Formats) -> Result<RunDay, ExplosionError> {
    let DayInputs { day, load, works, drives, van, second } = inputs;
    let LoadInputs { mut drops, kinds, vans } = load;
    drops.sort_by_key(|drop| {
        let event = &drop.event;
        (event.set_up_time.is_none(), event.set_up_time, event.start_time, event.id)
    });
    let whole = sheet(LoadInputs { drops: drops.clone(), kinds: kinds.clone(), vans: Vec::new() }, formats)?;
    let mut sites = Vec::new();
    for (inputs, drop) in drops.iter().zip(&whole.drops) {
        let crates = drop.packed.crates.len() + drop.goods.crates.len();
        sites.push(site(inputs, &works, crates, *formats)?);
    }
    let between = sites.iter().enumerate().flat_map(|(at, from)| {
        let to = sites.iter().enumerate();
        let drives = &drives;
        to.filter_map(move |(other, to)| Some(((at, other), *drives.get(&(from.event.id, to.event.id))?)))
    });
    let plan = Plan { day, between: between.collect(), sites: &sites, drops: &drops, kinds: &kinds, formats };
    let (first_van, second_van) = chosen(&vans, van);
    let (second, first): (Vec<usize>, Vec<usize>) =
        (0..sites.len()).partition(|at| second.contains(&sites[*at].event.id));
    let mut rounds = Vec::new();
    for (own, van) in [(first, first_van), (second, second_van)] {
        if !own.is_empty() {
            rounds.push(plan.round(&own, van)?);
        }
    }
    Ok(RunDay { sites, rounds })
}

fn site(
    inputs: &PullInputs,
    works: &HashMap<EventId, EventWork>,
    crates: usize,
    formats: Formats,
) -> Result<Site, ExplosionError> {
    let event = inputs.event.clone();
    let pieces = inputs.pieces.iter().filter_map(|piece| event.count_of(piece)).fold(0, i64::saturating_add);
    let worked = works.get(&event.id).copied().unwrap_or_default().worked(pieces);
    Ok(Site { pull: list(inputs, &formats)?, times: times(&event, &worked), event, worked, crates })
}

/// The van that is asked for, else the studio's first; then the first of the others.
fn chosen(vans: &[Van], asked: Option<VanId>) -> (Option<&Van>, Option<&Van>) {
    let first = vans.iter().find(|van| asked.is_some() && van.id == asked).or_else(|| vans.first());
    let other = vans.iter().find(|van| first.is_some_and(|first| first.id != van.id));
    (first, other)
}

struct Plan<'a> {
    day: Day,
    between: Between,
    sites: &'a [Site],
    drops: &'a [PullInputs],
    kinds: &'a [CrateKind],
    formats: &'a Formats,
}

impl Plan<'_> {
    fn round(&self, own: &[usize], van: Option<&Van>) -> Result<Round, ExplosionError> {
        let alone: Vec<Job> = own.iter().map(|at| self.job(*at, What::SetUp)).collect();
        let mut loads: Vec<Vec<usize>> = Vec::new();
        let mut set_ups = Vec::new();
        for outing in outings(&alone, &self.between) {
            let events: Vec<usize> = outing.into_iter().map(|at| own[at]).collect();
            let trips = self.trips(&events, van)?;
            set_ups.extend(self.parts(&events, &trips, loads.len()));
            loads.extend(trips.into_iter().map(|trip| trip.into_keys().collect()));
        }
        let strikes = own.iter().map(|at| self.job(*at, What::Strike)).collect();
        let jobs = in_order(set_ups, strikes);
        let stops = round(&jobs, &self.between);
        let clashes = clashes(&jobs, &stops);
        Ok(Round { van: van.map(|van| van.name.clone()), jobs, stops, clashes, loads })
    }

    fn job(&self, at: usize, what: What) -> Job {
        let Site { worked, times, .. } = &self.sites[at];
        let (from, by, work) = match what {
            What::SetUp => (times.on_site, Some(self.minutes(times.set_by)), worked.set),
            What::Strike => (times.strike_from, None, worked.strike),
        };
        Job {
            event: at,
            what,
            trip: 0,
            load: worked.by_the_clock(worked.load),
            from: self.minutes(from),
            by,
            work,
            people: worked.crew,
            drive: worked.drive,
        }
    }

    /// Minutes from the midnight with which the day begins.
    fn minutes(&self, moment: DateTime) -> i64 {
        moment.duration_since(self.day.0.at(0, 0, 0, 0)).as_mins()
    }

    /// For each trip, how many crates, cans and loose things it brings to which event. Every event is on one at least.
    fn trips(
        &self,
        events: &[usize],
        van: Option<&Van>,
    ) -> Result<Vec<BTreeMap<usize, u64>>, ExplosionError> {
        let drops = events.iter().map(|at| self.drops[*at].clone()).collect();
        let vans = van.cloned().into_iter().collect();
        let loaded = sheet(LoadInputs { drops, kinds: self.kinds.to_vec(), vans }, self.formats)?;
        let mut trips: Vec<BTreeMap<usize, u64>> = loaded.vans.first().map_or_else(Vec::new, |(_, load)| {
            load.trips.iter().map(|trip| brought(&loaded, &trip.stacks, events)).collect()
        });
        if trips.is_empty() {
            trips.push(BTreeMap::new());
        }
        for at in events {
            if trips.iter().all(|trip| !trip.contains_key(at)) {
                trips[0].insert(*at, 1);
            }
        }
        Ok(trips)
    }

    /// The set-ups of some trips: an event's work and loading, divided by what each trip brings.
    fn parts(&self, events: &[usize], trips: &[BTreeMap<usize, u64>], first: usize) -> Vec<Job> {
        let mut parts: BTreeMap<(usize, usize), Job> = BTreeMap::new();
        for at in events {
            let whole = self.job(*at, What::SetUp);
            let brings: Vec<u64> = trips.iter().map(|trip| trip.get(at).copied().unwrap_or(0)).collect();
            let (work, load) = (split_by(whole.work, &brings), split_by(whole.load, &brings));
            for (trip, _) in brings.iter().enumerate().filter(|(_, brings)| **brings > 0) {
                let part = Job { trip: first + trip, work: work[trip], load: load[trip], ..whole };
                parts.insert((trip, *at), part);
            }
        }
        parts.into_values().collect()
    }
}

fn brought(
    loaded: &LoadSheet,
    stacks: &[crate::pull_list::loading::vans::Standing],
    events: &[usize],
) -> BTreeMap<usize, u64> {
    let mut brings = BTreeMap::new();
    for cargo in stacks.iter().flat_map(|stack| &stack.cargo) {
        // The events are in the order of the load sheet's drops.
        if let Some(at) = loaded.freight.get(*cargo).and_then(|freight| events.get(freight.drop())) {
            *brings.entry(*at).or_default() += 1;
        }
    }
    brings
}

#[cfg(test)]
mod tests;
