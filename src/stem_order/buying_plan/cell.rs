//! What stems in one cell cost: for every number of stems the cheapest whole packs. Exact dynamic programme,
//! whole numbers. Imports nothing.

/// Dearer than anything.
pub(super) const NEVER: i64 = i64::MAX / 4;

/// One kind of pack that may be bought for the cell, at a cost that the caller sets.
#[derive(Clone, Copy, Debug)]
pub(super) struct Item {
    pub(super) choice: usize,
    pub(super) size: i64,
    pub(super) cost: i64,
    pub(super) least: i64,
    pub(super) most: i64,
    /// At least `least` must be bought; otherwise none will do as well.
    pub(super) must: bool,
}

/// Least cost for each number of stems from 0 to `reach`, the last meaning "or more".
#[derive(Debug)]
pub(super) struct Curve {
    items: Vec<Item>,
    reach: usize,
    best: Vec<i64>,
    /// For every item and number of stems: packs of it, and stems before it.
    came: Vec<(usize, usize)>,
}

pub(super) fn index(stems: i64) -> usize {
    usize::try_from(stems).unwrap_or(0)
}

pub(super) fn count(index: usize) -> i64 {
    i64::try_from(index).unwrap_or(i64::MAX)
}

impl Curve {
    pub(super) fn new(items: Vec<Item>, reach: i64) -> Self {
        let reach = index(reach);
        let mut best = vec![NEVER; reach + 1];
        best[0] = 0;
        let mut came = Vec::with_capacity(items.len() * (reach + 1));
        for item in &items {
            let mut step: Vec<(usize, usize)> = (0..=reach).map(|q| (0, q)).collect();
            best = add(item, &best, reach, &mut step);
            came.append(&mut step);
        }
        Self { items, reach, best, came }
    }

    /// (stems, cost), both rising: every number of stems that costs less than all greater ones.
    pub(super) fn steps(&self) -> Vec<(i64, i64)> {
        let mut steps = Vec::new();
        let mut cheapest = NEVER;
        for stems in (0..=self.reach).rev() {
            if self.best[stems] < cheapest {
                cheapest = self.best[stems];
                steps.push((count(stems), cheapest));
            }
        }
        steps.reverse();
        steps
    }

    /// For every number of stems the least cost of that many or more.
    pub(super) fn at_least(&self) -> Vec<i64> {
        let mut costs = self.best.clone();
        for stems in (0..self.reach).rev() {
            costs[stems] = costs[stems].min(costs[stems + 1]);
        }
        costs
    }

    /// The cheapest packs with so many stems or more.
    pub(super) fn packs(&self, stems: i64) -> Vec<(usize, i64)> {
        let mut packs = Vec::new();
        let wanted = index(stems).min(self.reach);
        let mut at = (wanted..=self.reach).min_by_key(|&stems| self.best[stems]).unwrap_or(wanted);
        for (number, item) in self.items.iter().enumerate().rev() {
            let (bought, before) = self.came[number * (self.reach + 1) + at];
            if bought > 0 {
                packs.push((item.choice, count(bought)));
            }
            at = before;
        }
        packs
    }
}

fn add(item: &Item, best: &[i64], reach: usize, came: &mut [(usize, usize)]) -> Vec<i64> {
    let mut next = if item.must { vec![NEVER; reach + 1] } else { best.to_vec() };
    let (size, least) = (index(item.size), index(item.least));
    let enough = reach.div_ceil(size).max(least);
    let most = index(item.most).min(enough);
    if least <= 1 && most == enough && !item.must {
        for from in 0..reach {
            let to = (from + size).min(reach);
            if next[from] < NEVER && next[from] + item.cost < next[to] {
                next[to] = next[from] + item.cost;
                came[to] = (came[from].0 + 1, came[from].1);
            }
        }
        return next;
    }
    for (from, &before) in best.iter().enumerate() {
        if before == NEVER {
            continue;
        }
        for packs in least..=most {
            let to = (from + packs * size).min(reach);
            let cost = before + item.cost * count(packs);
            if cost < next[to] {
                next[to] = cost;
                came[to] = (packs, from);
            }
            if to == reach {
                break;
            }
        }
    }
    next
}
