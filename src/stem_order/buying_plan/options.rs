//! Every purchase of one component that could still be part of a best plan, told apart by the money it spends
//! on the deliveries that must reach a goods value. Imports the component, its cells and the labels.

use std::collections::HashMap;

use super::cell::{Item, NEVER, count, index};
use super::close::bundle;
use super::component::Component;
use super::cover::{cover, order, stage};
use super::labels::{Bundle, Finished, Stage, Tally, Task};
use super::price::{Priced, price, reward};
use super::set::Set;
use super::smooth::Network;

/// Purchases of a cell made from one kind of pack to the next at most: a bound on memory.
const MOST_MADE: usize = 300_000;

/// What the combination asks of a component.
pub(super) struct Wanted<'a> {
    pub(super) open: Set,
    /// Deliveries and the goods value they must reach.
    pub(super) required: &'a [(usize, i64)],
    pub(super) pull: &'a [i64],
    /// Of a pack of each choice, lessened by the pull.
    pub(super) costs: &'a [i64],
    /// Purchases from this cost on do not matter.
    pub(super) ceiling: i64,
    /// Purchases listed of a cell, and of the component.
    pub(super) most: usize,
}

/// Purchases of a component; not complete if there were too many to list.
pub(super) struct Options {
    pub(super) bundles: Vec<Bundle>,
    pub(super) complete: bool,
}

pub(super) fn options(
    component: &mut Component,
    wanted: &Wanted,
    may_go_on: &mut dyn FnMut() -> bool,
) -> Options {
    let touches = |d: usize| component.choices.iter().any(|c| c.delivery == d);
    if !wanted.required.iter().any(|&(d, _)| touches(d)) {
        let best = cover(component, wanted.open, wanted.costs, 1, may_go_on);
        let complete = best.bound == best.cost;
        return Options {
            bundles: vec![bundle(best.cost, vec![0; wanted.required.len()], best.packs)],
            complete,
        };
    }
    loop {
        let listing = Listing::new(component, wanted, may_go_on);
        let (finished, complete) = listing.finish(may_go_on);
        match listing.first_short(&finished) {
            None => return Options { bundles: listing.bundles(&finished), complete },
            Some(short) if component.hall.add_row(&short) => {}
            Some(_) => return Options { bundles: Vec::new(), complete },
        }
    }
}

/// The cells' purchases, ready to be put together.
struct Listing<'a> {
    component: &'a Component,
    ceiling: i64,
    /// The component's caps, then the required deliveries.
    tallies: Vec<Tally>,
    priced: Priced,
    stages: Vec<Stage>,
    most: usize,
    complete: bool,
}

impl<'a> Listing<'a> {
    fn new(component: &'a Component, wanted: &Wanted, may_go_on: &mut dyn FnMut() -> bool) -> Self {
        let useful = (0..component.cells.len()).filter(|&c| component.cells[c].reach > 0).collect();
        let ordered = order(&component.hall.rows, useful);
        let plain: Vec<Stage> =
            ordered.iter().map(|&cell| stage(component, cell, wanted.open, wanted.costs)).collect();
        let priced = price(&component.hall, &Network::whole(component), &plain);
        let caps = component.caps.iter().map(|cap| Tally::AtMost(cap.most));
        let spend = wanted.required.iter().map(|&(d, enough)| Tally::UpTo { enough, over: wanted.pull[d] });
        let tallies: Vec<Tally> = caps.chain(spend).collect();
        let mut listing = Self {
            component,
            ceiling: wanted.ceiling,
            tallies,
            priced,
            stages: Vec::new(),
            most: wanted.most,
            complete: true,
        };
        let idle = (0..component.cells.len()).filter(|c| component.cells[*c].reach == 0);
        for cell in ordered.iter().copied().chain(idle) {
            let items = listing.items(cell, wanted);
            let worth = reward(&listing.priced.rows, &listing.priced.prices, cell);
            let bundles = listing.cell(&items, cell, worth, wanted.ceiling - listing.priced.bound, may_go_on);
            listing.stages.push(Stage { cell, bundles });
        }
        listing
    }

    /// The open choices of a cell with what a pack adds to which tallies. An offer's dates that no requirement on
    /// goods tells apart are one.
    fn items(&self, cell: usize, wanted: &Wanted) -> Vec<(Item, Vec<i64>)> {
        let component = self.component;
        let must = |at: usize| wanted.required.iter().any(|r| r.0 == component.choices[at].delivery);
        let rank = |at: usize| (wanted.costs[at], std::cmp::Reverse(component.choices[at].date));
        let mut kept: Vec<usize> = Vec::new();
        for &at in &component.cells[cell].choices {
            let choice = &component.choices[at];
            if !wanted.open.has(choice.delivery) || (component.cells[cell].reach == 0 && !must(at)) {
                continue;
            }
            let twin =
                |other: &&mut usize| component.choices[**other].offer == choice.offer && !must(**other);
            match kept.iter_mut().find(twin).filter(|_| !must(at)) {
                Some(other) if rank(*other) > rank(at) => *other = at,
                Some(_) => {}
                None => kept.push(at),
            }
        }
        // Loose packs last: none of them is of use once the cell has all its stems.
        kept.sort_by_key(|&at| component.choices[at].is_loose());
        kept.into_iter().map(|at| (self.item(at, wanted.costs[at]), self.adds(at, wanted))).collect()
    }

    fn item(&self, at: usize, cost: i64) -> Item {
        let choice = &self.component.choices[at];
        Item { choice: at, size: choice.size, cost, least: choice.least, most: choice.most, must: false }
    }

    fn adds(&self, at: usize, wanted: &Wanted) -> Vec<i64> {
        let choice = &self.component.choices[at];
        let caps = self.component.caps.iter().map(|cap| i64::from(cap.choices.contains(&at)));
        let spend = wanted.required.iter().map(|r| if r.0 == choice.delivery { choice.price } else { 0 });
        caps.chain(spend).collect()
    }

    /// All purchases of a cell whose cost, less the worth of their stems, is within `slack` of the least.
    fn cell(
        &mut self,
        items: &[(Item, Vec<i64>)],
        cell: usize,
        worth: i64,
        slack: i64,
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Vec<Bundle> {
        let reach = self.component.cells[cell].reach;
        let ahead = ahead(items, index(reach), index(self.component.hall.own_need(cell)), worth);
        let limit = ahead[0][0].saturating_add(slack);
        let start = Bundle { stems: 0, cost: 0, adds: vec![0; self.tallies.len()], packs: Vec::new() };
        let mut partial = vec![start];
        for ((item, adds), ahead) in items.iter().zip(&ahead[1..]) {
            let made = self.with_item(&partial, (item, adds), reach, &Within { ahead, limit }, may_go_on);
            self.complete &= made.complete;
            partial = made.bundles;
            if partial.len() > self.most {
                partial.sort_by_key(|b| b.cost.saturating_add(ahead[index(b.stems)]));
                partial.truncate(self.most);
                self.complete = false;
            }
        }
        partial.sort_by(|a, b| (a.stems, a.cost, &a.adds).cmp(&(b.stems, b.cost, &b.adds)));
        partial
    }

    fn with_item(
        &self,
        partial: &[Bundle],
        (item, adds): (&Item, &[i64]),
        reach: i64,
        within: &Within,
        may_go_on: &mut dyn FnMut() -> bool,
    ) -> Made {
        let mut made = Made { complete: true, ..Made::default() };
        let loose = self.component.choices[item.choice].is_loose();
        for (number, base) in partial.iter().enumerate() {
            if number % 64 == 63 && !may_go_on() || made.bundles.len() > (4 * self.most).min(MOST_MADE) {
                made.complete = false;
                break;
            }
            made.take(base.clone());
            let mut next = base.clone();
            let mut packs = 0;
            while packs < item.most
                && !self.sated(&next, adds, reach, packs)
                && !(loose && next.stems == reach)
            {
                let more = if packs == 0 { item.least } else { 1 };
                packs += more;
                if !self.add(&mut next, item, adds, more, reach) {
                    break;
                }
                if next.cost.saturating_add(within.ahead[index(next.stems)]) < within.limit {
                    let mut with = next.clone();
                    with.packs.push((item.choice, packs));
                    made.take(with);
                } else if next.stems == reach {
                    break;
                }
            }
        }
        made
    }

    /// Whether one more pack could change nothing but the cost.
    fn sated(&self, at: &Bundle, adds: &[i64], reach: i64, packs: i64) -> bool {
        let counts = |((tally, add), so_far): ((&Tally, &i64), &i64)| match tally {
            Tally::AtMost(_) => false,
            Tally::UpTo { enough, .. } => *add > 0 && so_far < enough,
        };
        packs > 0 && at.stems == reach && !self.tallies.iter().zip(adds).zip(&at.adds).any(counts)
    }

    /// Adds packs of the item; false if a cap is exceeded.
    fn add(&self, to: &mut Bundle, item: &Item, adds: &[i64], packs: i64, reach: i64) -> bool {
        to.stems = (to.stems + packs * item.size).min(reach);
        to.cost += packs * item.cost;
        for ((tally, add), so_far) in self.tallies.iter().zip(adds).zip(&mut to.adds) {
            *so_far += packs * add;
            match *tally {
                Tally::AtMost(most) if *so_far > most => return false,
                Tally::AtMost(_) => {}
                Tally::UpTo { enough, over } => {
                    to.cost += over * (*so_far - enough).max(0);
                    *so_far = (*so_far).min(enough);
                }
            }
        }
        true
    }

    /// The cells' purchases put together.
    fn finish(&self, may_go_on: &mut dyn FnMut() -> bool) -> (Vec<Finished>, bool) {
        let task = Task {
            rows: &self.priced.rows,
            stages: &self.stages,
            tallies: &self.tallies,
            prices: &self.priced.prices,
            ceiling: self.ceiling,
            width: self.most,
        };
        let outcome = task.run(may_go_on);
        (outcome.finished, self.complete && outcome.dropped >= NEVER)
    }

    fn packs(&self, finished: &Finished) -> Vec<(usize, i64)> {
        let chosen = self.stages.iter().zip(&finished.bundles);
        chosen.flat_map(|(stage, &at)| stage.bundles[at].packs.iter().copied()).collect()
    }

    fn first_short(&self, finished: &[Finished]) -> Option<Vec<usize>> {
        if self.component.hall.classes.len() <= 1 && self.component.hall.lots.is_empty() {
            return None;
        }
        finished.iter().find_map(|f| self.component.hall.short(&self.component.stems(&self.packs(f))))
    }

    fn bundles(&self, finished: &[Finished]) -> Vec<Bundle> {
        let caps = self.component.caps.len();
        finished.iter().map(|f| bundle(f.cost, f.tallies[caps..].to_vec(), self.packs(f))).collect()
    }
}

/// Below which cost a purchase is of interest, once what the rest adds at least is added for its stems.
struct Within<'a> {
    ahead: &'a [i64],
    limit: i64,
}

/// Purchases told apart by their stems and tallies; of the same, the cheapest.
#[derive(Default)]
struct Made {
    bundles: Vec<Bundle>,
    at: HashMap<(i64, Vec<i64>), usize>,
    complete: bool,
}

impl Made {
    fn take(&mut self, bundle: Bundle) {
        let key = (bundle.stems, bundle.adds.clone());
        match self.at.get(&key) {
            Some(&known) if self.bundles[known].cost > bundle.cost => self.bundles[known] = bundle,
            Some(_) => {}
            None => {
                self.at.insert(key, self.bundles.len());
                self.bundles.push(bundle);
            }
        }
    }
}

/// For every item and number of stems so far: the least that the items from there on can add, less the worth of
/// all stems at the end, which must be the cell's own need at least.
fn ahead(items: &[(Item, Vec<i64>)], reach: usize, own: usize, worth: i64) -> Vec<Vec<i64>> {
    let end = |stems: usize| if stems < own { NEVER } else { -worth * count(stems) };
    let mut table = vec![(0..=reach).map(end).collect::<Vec<i64>>()];
    for (item, _) in items.iter().rev() {
        let after = &table[table.len() - 1];
        let mut here = after.clone();
        let size = index(item.size);
        for stems in (0..reach).rev() {
            let enough = index(item.most).min((reach - stems).div_ceil(size).max(index(item.least)));
            for packs in index(item.least)..=enough {
                let to = (stems + packs * size).min(reach);
                here[stems] = here[stems].min(item.cost * count(packs) + after[to]);
            }
        }
        table.push(here);
    }
    table.reverse();
    table
}
