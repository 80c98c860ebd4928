//! Requirements that hang together by stems that may serve several of them: its cells, what may be bought for them,
//! and what must hold for every requirement to be served.
//!
//! A *cell* is all (material, date) pairs that serve the same requirements: stems in it are interchangeable. Imports
//! the model, the rows and the folding.

use std::collections::BTreeMap;

use super::hall::{Class, Hall};
use super::model::stock_serves;
use super::reduce::Reduction;
use super::set::Set;
use super::smooth::Network;
use super::{Day, Problem};

/// One offer on one delivery: packs of it may be bought.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    pub(super) offer: usize,
    pub(super) delivery: usize,
    pub(super) date: Day,
    pub(super) cell: usize,
    pub(super) size: i64,
    /// Of a pack, in minor units: what it adds to the goods of its delivery.
    pub(super) price: i64,
    /// Of a pack, in parts: what it adds to what the plan is judged by.
    pub(super) cost: i64,
    pub(super) least: i64,
    pub(super) most: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) choices: Vec<usize>,
    /// More stems than this are of no use in the cell.
    pub(super) reach: i64,
}

/// The most packs of one offer that several choices share.
#[derive(Clone, Debug)]
pub(super) struct Cap {
    pub(super) choices: Vec<usize>,
    pub(super) most: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Component {
    pub(super) choices: Vec<Choice>,
    pub(super) cells: Vec<Cell>,
    pub(super) hall: Hall,
    pub(super) caps: Vec<Cap>,
    /// How it is folded for covers, and what is left of it then.
    pub(super) reduction: Reduction,
    pub(super) core: Network,
    pub(super) core_hall: Hall,
    /// Covers are worked out to the end at any length.
    pub(super) thorough: bool,
    /// Some cover was not.
    pub(super) left_open: bool,
    /// Deliveries that serve a requirement of this component.
    pub(super) deliveries: Set,
}

impl Component {
    /// `chosen` are the choices, each with the requirements that it can serve.
    pub(super) fn new(problem: &Problem, needs: &[usize], chosen: &[(Choice, &Vec<usize>)]) -> Self {
        let lots: Vec<usize> = (0..problem.stock.len())
            .filter(|&l| needs.iter().any(|&r| stock_serves(problem, r, l)))
            .collect();
        let mut users: BTreeMap<&Vec<usize>, Vec<usize>> = BTreeMap::new();
        for (at, (_, served)) in chosen.iter().enumerate() {
            users.entry(served).or_default().push(at);
        }
        let mut choices: Vec<Choice> = chosen.iter().map(|(choice, _)| choice.clone()).collect();
        let mut deliveries = Set::none();
        let mut cells = Vec::new();
        for (cell, (served, members)) in users.iter().enumerate() {
            for &at in members {
                choices[at].cell = cell;
                if !served.is_empty() {
                    deliveries = deliveries.with(choices[at].delivery);
                }
            }
            cells.push(Cell { choices: members.clone(), reach: 0 });
        }
        let served: Vec<&Vec<usize>> = users.into_keys().collect();
        let classes = classes(problem, needs, &served, &lots);
        let lots: Vec<i64> = lots.iter().map(|&l| problem.stock[l].stems).collect();
        let caps = caps(&choices);
        let (reduction, core, core_hall) = reduce(cells.len(), &classes, &lots);
        for (at, cell) in cells.iter_mut().enumerate() {
            cell.reach = classes.iter().filter(|c| c.cells.contains(&at)).map(|c| c.stems).sum();
        }
        let hall = Hall::new(cells.len(), classes, lots);
        Self {
            choices,
            cells,
            hall,
            caps,
            reduction,
            core,
            core_hall,
            thorough: false,
            left_open: false,
            deliveries,
        }
    }

    /// Stems in every cell.
    pub(super) fn stems(&self, packs: &[(usize, i64)]) -> Vec<i64> {
        let mut stems = vec![0; self.cells.len()];
        for &(choice, count) in packs {
            stems[self.choices[choice].cell] += count * self.choices[choice].size;
        }
        stems
    }

    /// The first cap that these packs exceed.
    pub(super) fn exceeded(&self, packs: &[(usize, i64)]) -> Option<usize> {
        self.caps.iter().position(|cap| {
            let bought = packs.iter().filter(|p| cap.choices.contains(&p.0)).map(|p| p.1);
            bought.sum::<i64>() > cap.most
        })
    }
}

fn classes(problem: &Problem, needs: &[usize], served: &[&Vec<usize>], lots: &[usize]) -> Vec<Class> {
    let mut classes: Vec<Class> = Vec::new();
    for &r in needs {
        let stems = problem.requirements[r].stems;
        let cells: Vec<usize> = (0..served.len()).filter(|&c| served[c].binary_search(&r).is_ok()).collect();
        let lots: Vec<usize> = (0..lots.len()).filter(|&l| stock_serves(problem, r, lots[l])).collect();
        match classes.iter_mut().find(|class| class.cells == cells && class.lots == lots) {
            Some(class) => class.stems += stems,
            None => classes.push(Class { stems, cells, lots }),
        }
    }
    classes
}

/// The folding, with the network of what it leaves and its rows.
fn reduce(cells: usize, classes: &[Class], lots: &[i64]) -> (Reduction, Network, Hall) {
    let slots =
        |class: &Class| class.cells.iter().copied().chain(class.lots.iter().map(|lot| cells + lot)).collect();
    let reduction =
        Reduction::new(cells + lots.len(), classes.iter().map(|class| (class.stems, slots(class))).collect());
    let place = |slot: &usize| reduction.roots.iter().position(|root| root == slot).unwrap_or(usize::MAX);
    let links: Vec<Vec<usize>> =
        reduction.links.iter().map(|slots| slots.iter().map(place).collect()).collect();
    let class =
        |(&stems, cells): (&i64, &Vec<usize>)| Class { stems, cells: cells.clone(), lots: Vec::new() };
    let classes = reduction.demand.iter().zip(&links).map(class).collect();
    let hall = Hall::new(reduction.roots.len(), classes, Vec::new());
    let core = Network::new(reduction.demand.clone(), links, reduction.roots.len(), Vec::new());
    (reduction, core, hall)
}

fn caps(choices: &[Choice]) -> Vec<Cap> {
    let mut shared: BTreeMap<usize, Cap> = BTreeMap::new();
    for (at, choice) in choices.iter().enumerate().filter(|c| c.1.most < i64::MAX) {
        let cap = shared.entry(choice.offer).or_insert(Cap { choices: Vec::new(), most: choice.most });
        cap.choices.push(at);
    }
    shared.into_values().filter(|cap| cap.choices.len() > 1).collect()
}
