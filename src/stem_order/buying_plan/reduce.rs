//! A component made smaller before it is searched. Cells that stand in no circle of requirements can be folded
//! into one another exactly: where all classes of two cells are the same, their costs are added up in the best
//! way; where a cell serves one class only, and that class only one other cell besides, the class is decided for
//! every number of stems that the other cell may further be asked for. Chains of arrival windows and trees of
//! substitutes vanish in this way altogether. Which cells are folded depends on the requirements only and is
//! found once; the costs are folded anew for each question. Imports nothing but the cell's numbers.

use std::collections::BTreeSet;

use super::cell::{NEVER, count, index};

/// One step of folding; slots are the cells, then the stock lots.
#[derive(Clone, Debug)]
enum Fold {
    /// A class that only this slot serves.
    Own { slot: usize, need: i64 },
    /// Two slots with the same classes.
    Together { into: usize, from: usize, reach: i64 },
    /// A class that is served by `leaf`, which serves no other, and by `into`.
    Class { leaf: usize, into: usize, need: i64, reach: i64 },
    /// The slot may give no more than this to the class that it alone shares with others.
    Cut { slot: usize, most: i64 },
}

/// How a component is folded, and what is left of it.
#[derive(Clone, Debug, Default)]
pub(super) struct Reduction {
    folds: Vec<Fold>,
    /// Stems and slots of each class that is left.
    pub(super) demand: Vec<i64>,
    pub(super) links: Vec<Vec<usize>>,
    /// Slots that are left.
    pub(super) roots: Vec<usize>,
}

/// For every number of stems the least cost of that many or more.
pub(super) type Costs = Vec<i64>;

/// Costs after folding, and how each fold came by its numbers.
pub(super) struct Folded {
    pub(super) costs: Vec<Costs>,
    shares: Vec<Vec<usize>>,
}

impl Reduction {
    pub(super) fn new(slots: usize, classes: Vec<(i64, BTreeSet<usize>)>) -> Self {
        let mut state = State { classes, alive: (0..slots).collect(), folds: Vec::new() };
        while state.own() || state.together() || state.class() || state.same() {}
        let (demand, links) =
            state.classes.into_iter().map(|(need, slots)| (need, slots.into_iter().collect())).unzip();
        Self { folds: state.folds, demand, links, roots: state.alive.into_iter().collect() }
    }

    pub(super) fn fold(&self, mut costs: Vec<Costs>) -> Folded {
        let mut shares = Vec::with_capacity(self.folds.len());
        for fold in &self.folds {
            shares.push(match *fold {
                Fold::Own { slot, need } => {
                    let dropped = index(need).min(costs[slot].len());
                    costs[slot].drain(..dropped);
                    Vec::new()
                }
                Fold::Cut { slot, most } => {
                    costs[slot].truncate(index(most) + 1);
                    Vec::new()
                }
                Fold::Together { into, from, reach } => {
                    let (sum, share) = together(&costs[into], &costs[from], index(reach));
                    costs[into] = sum;
                    share
                }
                Fold::Class { leaf, into, need, reach } => {
                    let (sum, share) = class(&costs[leaf], &costs[into], index(need), index(reach));
                    costs[into] = sum;
                    share
                }
            });
        }
        Folded { costs, shares }
    }

    /// Stems of every slot, from the stems of the slots that are left.
    pub(super) fn unfold(&self, folded: &Folded, stems: &mut [i64]) {
        for (fold, share) in self.folds.iter().zip(&folded.shares).rev() {
            match *fold {
                Fold::Own { slot, need } => stems[slot] += need,
                Fold::Cut { .. } => {}
                Fold::Together { into, from, .. } => {
                    stems[from] = count(share[index(stems[into])]);
                    stems[into] -= stems[from];
                }
                Fold::Class { leaf, into, need, .. } => {
                    stems[leaf] = count(share[index(stems[into])]);
                    stems[into] += need - stems[leaf];
                }
            }
        }
    }
}

/// The last number of stems of each cost, with the cost.
pub(super) fn steps(costs: &[i64]) -> Vec<(i64, i64)> {
    let mut steps = Vec::new();
    for (stems, &cost) in costs.iter().enumerate() {
        if cost < NEVER && costs.get(stems + 1).is_none_or(|&next| next > cost) {
            steps.push((count(stems), cost));
        }
    }
    steps
}

/// So many stems of two slots together, and how many of them come from the second.
fn together(one: &[i64], other: &[i64], reach: usize) -> (Costs, Vec<usize>) {
    let mut sum = vec![NEVER; reach + 1];
    let mut share = vec![0; reach + 1];
    let first = steps(one);
    for (step, price) in steps(other) {
        let step = index(step);
        for &(rest, cost) in &first {
            let rest = index(rest);
            let stems = (rest + step).min(reach);
            if cost + price < sum[stems] {
                (sum[stems], share[stems]) = (cost + price, stems.min(step));
            }
            if rest + step > reach {
                break;
            }
        }
    }
    at_least(sum, share)
}

/// So many stems from `into` beside what it gives to the class, and how many the class has from the leaf.
fn class(leaf: &[i64], into: &[i64], need: usize, reach: usize) -> (Costs, Vec<usize>) {
    let mut sum = vec![NEVER; reach + 1];
    let mut share = vec![0; reach + 1];
    for (step, price) in steps(leaf) {
        let step = index(step).min(need);
        for stems in 0..=reach {
            let Some(&cost) = into.get(need - step + stems).filter(|c| **c < NEVER) else { break };
            if cost + price < sum[stems] {
                (sum[stems], share[stems]) = (cost + price, step);
            }
        }
    }
    (sum, share)
}

/// Lets fewer stems cost no more than more of them.
fn at_least(mut costs: Costs, mut share: Vec<usize>) -> (Costs, Vec<usize>) {
    for stems in (0..costs.len().saturating_sub(1)).rev() {
        if costs[stems + 1] < costs[stems] {
            costs[stems] = costs[stems + 1];
            share[stems] = share[stems + 1].min(stems);
        }
    }
    (costs, share)
}

struct State {
    classes: Vec<(i64, BTreeSet<usize>)>,
    alive: BTreeSet<usize>,
    folds: Vec<Fold>,
}

impl State {
    fn classes_of(&self, slot: usize) -> Vec<usize> {
        (0..self.classes.len()).filter(|&c| self.classes[c].1.contains(&slot)).collect()
    }

    fn reach(&self, slot: usize) -> i64 {
        self.classes_of(slot).into_iter().map(|c| self.classes[c].0).sum()
    }

    /// The slot that serves this class and no other.
    fn leaf(&self, class: usize) -> Option<usize> {
        self.classes[class].1.iter().copied().find(|&slot| self.classes_of(slot).len() == 1)
    }

    fn own(&mut self) -> bool {
        let Some(class) = self.classes.iter().position(|class| class.1.len() == 1) else { return false };
        let (need, slots) = self.classes.remove(class);
        self.folds.extend(slots.into_iter().map(|slot| Fold::Own { slot, need }));
        true
    }

    fn together(&mut self) -> bool {
        let slots: Vec<(usize, Vec<usize>)> = self.alive.iter().map(|&s| (s, self.classes_of(s))).collect();
        for (at, (into, classes)) in slots.iter().enumerate() {
            let twin = slots[at + 1..].iter().find(|other| !classes.is_empty() && other.1 == *classes);
            if let Some(&(from, _)) = twin {
                self.folds.push(Fold::Together { into: *into, from, reach: self.reach(*into) });
                self.remove(from);
                return true;
            }
        }
        false
    }

    fn class(&mut self) -> bool {
        for class in 0..self.classes.len() {
            let Some(leaf) = self.leaf(class).filter(|_| self.classes[class].1.len() == 2) else { continue };
            let Some(into) = self.classes[class].1.iter().copied().find(|&slot| slot != leaf) else {
                continue;
            };
            let (need, _) = self.classes.remove(class);
            self.folds.push(Fold::Class { leaf, into, need, reach: self.reach(into) });
            self.remove(leaf);
            return true;
        }
        false
    }

    /// Two classes that share the same slots but for one leaf each become one.
    fn same(&mut self) -> bool {
        let shared: Vec<(Option<usize>, BTreeSet<usize>)> = (0..self.classes.len())
            .map(|class| {
                let leaf = self.leaf(class);
                (leaf, self.classes[class].1.iter().copied().filter(|&s| Some(s) != leaf).collect())
            })
            .collect();
        for class in 0..shared.len() {
            let Some(twin) = (class + 1..shared.len()).find(|&other| shared[other].1 == shared[class].1)
            else {
                continue;
            };
            for at in [class, twin] {
                let most = self.classes[at].0;
                self.folds.extend(shared[at].0.map(|slot| Fold::Cut { slot, most }));
            }
            let (need, slots) = self.classes.remove(twin);
            self.classes[class].0 += need;
            self.classes[class].1.extend(slots);
            return true;
        }
        false
    }

    fn remove(&mut self, slot: usize) {
        self.alive.remove(&slot);
        for class in &mut self.classes {
            class.1.remove(&slot);
        }
    }
}
