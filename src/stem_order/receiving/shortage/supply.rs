//! What each event may count on: its part of every placed line, of the reserved stock, less what the bench lost.

use std::collections::{BTreeMap, BTreeSet};

use super::{Came, PartNeed};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId};
use crate::ground::largest_remainder::split_by;

/// A placed line as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Of what.
    pub material: MaterialId,
    /// When it comes, or came.
    pub day: Day,
    /// From whom.
    pub supplier: String,
    /// Whether it was counted in.
    pub received: bool,
    /// What came good; before it is counted, what is expected.
    pub stems: i64,
    /// How many each event was promised when it was placed.
    pub promised: Vec<(EventId, i64)>,
}

/// Stock that lies reserved for an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reserved {
    /// For which.
    pub event: EventId,
    /// Of what.
    pub material: MaterialId,
    /// How many.
    pub count: i64,
}

/// What the bench lost of these events' stems.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BenchLost {
    /// Of which event's; none where that is not known.
    pub event: Option<EventId>,
    /// Of what.
    pub material: MaterialId,
    /// How many.
    pub count: i64,
}

/// What an event may count on of a material.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Have {
    /// Good, and here.
    pub(super) here: i64,
    /// Still to come.
    pub(super) coming: i64,
    /// From stock.
    pub(super) reserved: i64,
}

impl Have {
    pub(super) fn total(self) -> i64 {
        self.here.saturating_add(self.coming).saturating_add(self.reserved)
    }
}

/// What all events may count on.
#[derive(Debug, Default)]
pub(super) struct Supply {
    have: BTreeMap<(EventId, MaterialId), Have>,
    /// Good stems that were promised to nobody.
    over: BTreeMap<MaterialId, i64>,
    promised: BTreeSet<(EventId, MaterialId)>,
}

impl Supply {
    pub(super) fn of(came: &Came<'_>, needs: &[PartNeed<'_>]) -> Supply {
        let mut supply = Supply::default();
        for reserved in came.reserved {
            let key = (reserved.event, reserved.material);
            supply.have.entry(key).or_default().reserved += reserved.count;
            supply.promised.insert(key);
        }
        // What the bench lost of nobody's in particular was lost of what was counted in.
        let mut lost: BTreeMap<MaterialId, i64> = BTreeMap::new();
        for bench in came.bench.iter().filter(|bench| bench.event.is_none()) {
            *lost.entry(bench.material).or_default() += bench.count;
        }
        for line in came.lines {
            let mut stems = line.stems.max(0);
            if let Some(lost) = lost.get_mut(&line.material).filter(|_| line.received) {
                let gone = stems.min(*lost);
                (stems, *lost) = (stems - gone, *lost - gone);
            }
            supply.take(came, needs, line, stems);
        }
        for bench in came.bench {
            let Some(event) = bench.event else { continue };
            if let Some(have) = supply.have.get_mut(&(event, bench.material)) {
                have.here = (have.here - bench.count).max(0);
            }
        }
        supply
    }

    /// Shares a line's stems: first what pieces still need, then what else was promised, then nobody's.
    fn take(&mut self, came: &Came<'_>, needs: &[PartNeed<'_>], line: &Line, stems: i64) {
        let known = |event: EventId| came.weekend.events.iter().position(|known| known.event.id == event);
        // Events of the order that are over or were called off took their part with them.
        let promised: Vec<u64> =
            line.promised.iter().map(|(_, stems)| u64::try_from(*stems).unwrap_or(0)).collect();
        let called_for: Vec<u64> = line
            .promised
            .iter()
            .zip(&promised)
            .map(|((event, _), promised)| {
                let Some(at) = known(*event) else { return *promised };
                let still = needed(needs, at, line.material) - self.at(*event, line.material).total();
                (*promised).min(u64::try_from(still).unwrap_or(0))
            })
            .collect();
        let given = shared(stems, &called_for, &promised);
        let over = stems - given.iter().sum::<i64>();
        if line.received && over > 0 {
            *self.over.entry(line.material).or_default() += over;
        }
        for ((event, meant), given) in line.promised.iter().zip(given) {
            let key = (*event, line.material);
            let have = self.have.entry(key).or_default();
            if line.received {
                have.here += given;
            } else {
                have.coming += given;
            }
            if *meant > 0 {
                self.promised.insert(key);
            }
        }
    }

    pub(super) fn at(&self, event: EventId, material: MaterialId) -> Have {
        self.have.get(&(event, material)).copied().unwrap_or_default()
    }

    /// What an event may count on, by material.
    pub(super) fn of_event(&self, event: EventId) -> impl Iterator<Item = (MaterialId, Have)> {
        self.have
            .iter()
            .filter(move |((of, _), _)| *of == event)
            .map(|((_, material), have)| (*material, *have))
    }

    /// Whether any was ordered or reserved for an event.
    pub(super) fn promised(&self, event: EventId, material: MaterialId) -> bool {
        self.promised.contains(&(event, material))
    }

    /// Good stems of a material that were promised to nobody.
    pub(super) fn over(&self, material: MaterialId) -> i64 {
        self.over.get(&material).copied().unwrap_or(0)
    }
}

/// What an event's pieces can use of a material: where they call for it, and where it may stand in.
fn needed(needs: &[PartNeed<'_>], at: usize, material: MaterialId) -> i64 {
    let serves = |need: &&PartNeed<'_>| {
        need.part.event == at && (need.need.material == material || need.part.substitutes.contains(&material))
    };
    needs.iter().filter(serves).map(|need| need.stems).sum()
}

/// Shares stems among events: first what is called for, in proportion where that is too much; then up to what was
/// promised, again in proportion.
pub(super) fn shared(stems: i64, called_for: &[u64], promised: &[u64]) -> Vec<i64> {
    let sum = |weights: &[u64]| i64::try_from(weights.iter().sum::<u64>()).unwrap_or(i64::MAX);
    if stems <= sum(called_for) {
        return split_or_none(stems, called_for);
    }
    let more: Vec<u64> = promised.iter().zip(called_for).map(|(all, first)| all - first.min(all)).collect();
    let rest = (stems - sum(called_for)).min(sum(&more));
    let rest = split_or_none(rest, &more);
    let first = called_for.iter().map(|first| i64::try_from(*first).unwrap_or(i64::MAX));
    first.zip(rest).map(|(first, rest)| first + rest).collect()
}

/// As [`split_by`], but nothing is handed out where nobody is called for.
fn split_or_none(total: i64, weights: &[u64]) -> Vec<i64> {
    if weights.iter().all(|weight| *weight == 0) { vec![0; weights.len()] } else { split_by(total, weights) }
}
