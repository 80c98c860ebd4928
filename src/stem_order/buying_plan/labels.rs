//! Purchases of a component built up cell by cell. A *label* is what is still needed after some cells, with the
//! least cost to get there; labels that cannot lead below a ceiling are dropped. Exact as long as no label is
//! dropped for want of room, and then it says how cheap the dropped ones might have become.

use super::cell::NEVER;
use super::hall::Row;
use super::price::reward;

/// Labels against which each new one is compared.
const COMPARED: usize = 48;
const STEPS_BETWEEN_ASKING: usize = 10_000;
/// Labels made from one cell to the next at most: a bound on memory.
const MOST_LABELS: usize = 300_000;

/// Something to buy for one cell.
#[derive(Clone, Debug)]
pub(super) struct Bundle {
    pub(super) stems: i64,
    pub(super) cost: i64,
    /// What it adds to each tally.
    pub(super) adds: Vec<i64>,
    /// (choice, packs), where they are told apart.
    pub(super) packs: Vec<(usize, i64)>,
}

/// One cell with what may be bought for it, by rising stems.
pub(super) struct Stage {
    pub(super) cell: usize,
    pub(super) bundles: Vec<Bundle>,
}

/// A sum kept over all cells.
#[derive(Clone, Copy, Debug)]
pub(super) enum Tally {
    /// Must not exceed this: packs of one offer.
    AtMost(i64),
    /// More than `enough` counts as `enough`, and each unit over it costs `over`: money spent on a delivery.
    UpTo { enough: i64, over: i64 },
}

pub(super) struct Task<'a> {
    pub(super) rows: &'a [Row],
    pub(super) stages: &'a [Stage],
    pub(super) tallies: &'a [Tally],
    /// Prices of the rows.
    pub(super) prices: &'a [i64],
    /// Only purchases below this are of interest.
    pub(super) ceiling: i64,
    /// Labels kept after each cell.
    pub(super) width: usize,
}

/// A finished purchase: its cost, tallies, and the bundle of each stage.
pub(super) struct Finished {
    pub(super) cost: i64,
    pub(super) tallies: Vec<i64>,
    pub(super) bundles: Vec<usize>,
}

pub(super) struct Outcome {
    pub(super) finished: Vec<Finished>,
    /// The least bound among labels dropped for want of room.
    pub(super) dropped: i64,
}

/// How one row passes through one stage.
struct Slot {
    row: usize,
    before: Option<usize>,
    held: bool,
    after: Option<usize>,
}

impl Task<'_> {
    pub(super) fn run(&self, may_go_on: &mut dyn FnMut() -> bool) -> Outcome {
        let tails = self.tails();
        let mut layer = Layer::new(self.tallies.len());
        layer.offer(&vec![0; self.tallies.len()], 0, 0, (0, 0));
        let mut history = Vec::new();
        let mut dropped = NEVER;
        for (at, stage) in self.stages.iter().enumerate() {
            let slots = self.slots(at);
            let next = self.advance(&layer, stage, &slots, tails[at + 1], may_go_on);
            layer = self.trim(&next, slots_after(&slots));
            dropped = dropped.min(layer.dropped);
            history.push(layer.from.clone());
        }
        Outcome { finished: finish(&layer, &history), dropped }
    }

    /// For each number of stages done: what the rest adds at least, beside the rows begun.
    fn tails(&self) -> Vec<i64> {
        let mut tails = vec![0_i64; self.stages.len() + 1];
        for at in (0..self.stages.len()).rev() {
            let stage = &self.stages[at];
            let worth = reward(self.rows, self.prices, stage.cell);
            let cheapest = stage.bundles.iter().map(|b| b.cost - worth * b.stems).min().unwrap_or(NEVER);
            tails[at] = tails[at + 1].saturating_add(cheapest);
        }
        for (at, tail) in tails.iter_mut().enumerate() {
            let untouched = |row: &Row| self.stages[..at].iter().all(|s| !row.holds[s.cell]);
            let waiting = self.rows.iter().zip(self.prices).filter(|(row, _)| untouched(row));
            *tail = tail.saturating_add(waiting.map(|(row, price)| row.need * price).sum());
        }
        tails
    }

    /// The rows begun before this stage, or that its cell belongs to.
    fn slots(&self, at: usize) -> Vec<Slot> {
        let meets = |row: &Row, stages: &[Stage]| stages.iter().any(|s| row.holds[s.cell]);
        let (mut before, mut after) = (0, 0);
        let mut slots = Vec::new();
        for (number, row) in self.rows.iter().enumerate() {
            let begun = meets(row, &self.stages[..at]);
            let held = row.holds[self.stages[at].cell];
            let later = meets(row, &self.stages[at + 1..]);
            if !(held || begun && later) {
                continue;
            }
            slots.push(Slot {
                row: number,
                before: begun.then_some(before),
                held,
                after: later.then_some(after),
            });
            before += usize::from(begun);
            after += usize::from(later);
        }
        slots
    }

    fn advance(
        &self,
        layer: &Layer,
        stage: &Stage,
        slots: &[Slot],
        tail: i64,
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Layer {
        let begun = slots.iter().filter(|s| s.before.is_some()).count();
        let mut next = Layer::new(slots_after(slots) + self.tallies.len());
        let mut reached = Vec::new();
        let mut steps = 0;
        for label in 0..layer.costs.len() {
            steps += stage.bundles.len() + 1;
            if steps > STEPS_BETWEEN_ASKING && !may_go_on() || next.costs.len() > MOST_LABELS {
                next.dropped = layer.bounds[label..].iter().copied().min().unwrap_or(NEVER);
                break;
            }
            let from = layer.state(label);
            if steps > STEPS_BETWEEN_ASKING {
                steps = 0;
            }
            let (required, useful) = self.wanted(slots, from);
            let first = stage.bundles.partition_point(|b| b.stems < required);
            for (number, bundle) in stage.bundles.iter().enumerate().skip(first) {
                if let Some((over, bound)) = self.step(slots, from, begun, bundle, &mut reached) {
                    let cost = layer.costs[label] + bundle.cost + over;
                    let bound = cost.saturating_add(bound).saturating_add(tail);
                    if bound < self.ceiling {
                        next.offer(&reached, cost, bound, (label, number));
                    }
                }
                if self.tallies.is_empty() && bundle.stems >= useful {
                    break;
                }
            }
        }
        next
    }

    /// Stems the cell must have since no later cell can serve the row, and beyond which they are of no use.
    fn wanted(&self, slots: &[Slot], from: &[i64]) -> (i64, i64) {
        let (mut required, mut useful) = (0, 0);
        for slot in slots.iter().filter(|s| s.held) {
            let need = slot.before.map_or(self.rows[slot.row].need, |at| from[at]);
            useful = need.max(useful);
            if slot.after.is_none() {
                required = need.max(required);
            }
        }
        (required, useful)
    }

    /// The state after a bundle, what it costs beyond its own cost, and what the rows begun still cost at least;
    /// nothing if a tally is exceeded.
    fn step(
        &self,
        slots: &[Slot],
        from: &[i64],
        begun: usize,
        bundle: &Bundle,
        state: &mut Vec<i64>,
    ) -> Option<(i64, i64)> {
        state.clear();
        let (mut extra, mut bound) = (0, 0);
        for slot in slots.iter().filter(|s| s.after.is_some()) {
            let need = slot.before.map_or(self.rows[slot.row].need, |at| from[at]);
            let left = if slot.held { (need - bundle.stems).max(0) } else { need };
            bound += left * self.prices[slot.row];
            state.push(left);
        }
        for ((tally, add), so_far) in self.tallies.iter().zip(&bundle.adds).zip(&from[begun..]) {
            match *tally {
                Tally::AtMost(most) if so_far + add > most => return None,
                Tally::AtMost(_) => state.push(so_far + add),
                Tally::UpTo { enough, over } => {
                    extra += over * (so_far + add - enough).max(0);
                    state.push((so_far + add).min(enough));
                }
            }
        }
        Some((extra, bound))
    }

    /// Keeps the most promising labels that no other one beats in every respect.
    fn trim(&self, layer: &Layer, rows: usize) -> Layer {
        let mut order: Vec<usize> = (0..layer.costs.len()).collect();
        order.sort_unstable_by_key(|&l| (layer.bounds[l], layer.costs[l], layer.from[l]));
        let mut kept = Layer::new(layer.stride);
        kept.dropped = layer.dropped;
        for label in order {
            let state = layer.state(label);
            let whole = self.whole(layer.costs[label], state, rows);
            let beaten = (0..kept.costs.len().min(COMPARED)).any(|other| {
                let known = kept.state(other);
                self.whole(kept.costs[other], known, rows) <= whole && self.beats(known, state, rows)
            });
            if beaten {
                continue;
            }
            if kept.costs.len() == self.width {
                kept.dropped = kept.dropped.min(layer.bounds[label]);
                break;
            }
            kept.push(state, layer.costs[label], layer.bounds[label], layer.from[label]);
        }
        kept
    }

    /// The cost without what is credited for money spent: more spent than another may later count for nothing.
    fn whole(&self, cost: i64, state: &[i64], rows: usize) -> i64 {
        let credits = self.tallies.iter().zip(&state[rows..]).map(|(tally, so_far)| match tally {
            Tally::AtMost(_) => 0,
            Tally::UpTo { over, .. } => over * so_far,
        });
        cost + credits.sum::<i64>()
    }

    fn beats(&self, better: &[i64], other: &[i64], rows: usize) -> bool {
        better[..rows].iter().zip(&other[..rows]).all(|(b, o)| b <= o)
            && self.tallies.iter().enumerate().all(|(at, tally)| match tally {
                Tally::AtMost(_) => better[rows + at] <= other[rows + at],
                Tally::UpTo { .. } => better[rows + at] >= other[rows + at],
            })
    }
}

fn slots_after(slots: &[Slot]) -> usize {
    slots.iter().filter(|s| s.after.is_some()).count()
}

fn finish(layer: &Layer, history: &[Vec<(u32, u32)>]) -> Vec<Finished> {
    let ends = (0..layer.costs.len()).map(|label| {
        let mut at = label;
        let mut bundles = Vec::with_capacity(history.len());
        for from in history.iter().rev() {
            let (label, bundle) = from[at];
            bundles.push(wide(bundle));
            at = wide(label);
        }
        bundles.reverse();
        Finished { cost: layer.costs[label], tallies: layer.state(label).to_vec(), bundles }
    });
    ends.collect()
}

pub(super) fn wide(number: u32) -> usize {
    usize::try_from(number).unwrap_or(usize::MAX)
}

pub(super) fn narrow(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// The labels after one cell; of labels in the same state only the cheapest.
struct Layer {
    stride: usize,
    states: Vec<i64>,
    costs: Vec<i64>,
    bounds: Vec<i64>,
    from: Vec<(u32, u32)>,
    /// Open addressing: label + 1, or 0.
    table: Vec<u32>,
    dropped: i64,
}

impl Layer {
    fn new(stride: usize) -> Self {
        Self {
            stride,
            states: Vec::new(),
            costs: Vec::new(),
            bounds: Vec::new(),
            from: Vec::new(),
            table: vec![0; 64],
            dropped: NEVER,
        }
    }

    fn state(&self, label: usize) -> &[i64] {
        &self.states[label * self.stride..(label + 1) * self.stride]
    }

    fn push(&mut self, state: &[i64], cost: i64, bound: i64, from: (u32, u32)) {
        self.states.extend_from_slice(state);
        self.costs.push(cost);
        self.bounds.push(bound);
        self.from.push(from);
    }

    /// Takes the label unless its state is known at no greater cost.
    fn offer(&mut self, state: &[i64], cost: i64, bound: i64, from: (usize, usize)) {
        let from = (narrow(from.0), narrow(from.1));
        let place = self.place(state);
        let known = self.table[place];
        if known > 0 {
            let label = wide(known) - 1;
            if cost < self.costs[label] {
                (self.costs[label], self.bounds[label], self.from[label]) = (cost, bound, from);
            }
            return;
        }
        self.push(state, cost, bound, from);
        self.table[place] = narrow(self.costs.len());
        if self.costs.len() * 2 > self.table.len() {
            self.grow();
        }
    }

    fn place(&self, state: &[i64]) -> usize {
        let mask = self.table.len() - 1;
        let mut hash = 0x9E37_79B9_7F4A_7C15_u64;
        for value in state {
            hash = (hash ^ value.unsigned_abs()).wrapping_mul(0x0100_0000_01B3).rotate_left(23);
        }
        let mut at = usize::try_from(hash >> 20).unwrap_or(0) & mask;
        while self.table[at] > 0 && self.state(wide(self.table[at]) - 1) != state {
            at = (at + 1) & mask;
        }
        at
    }

    fn grow(&mut self) {
        self.table = vec![0; self.table.len() * 4];
        for label in 0..self.costs.len() {
            let place = self.place(&self.states[label * self.stride..(label + 1) * self.stride]);
            self.table[place] = narrow(label + 1);
        }
    }
}
