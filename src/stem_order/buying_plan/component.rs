//! A group of materials tied by requirements that accept several of them: its cells, what may be bought for
//! them, and the rows that must hold for every requirement to be served.
//!
//! A *cell* is all (material, date) pairs that serve the same requirements: stems in it are interchangeable. A
//! *row* is a set of cells that must together hold so many stems, since requirements served from nowhere else
//! ask for them; by Hall's theorem the purchases serve everything exactly when all such rows hold. Imports the
//! model and the transport of stems.

use std::collections::{BTreeMap, BTreeSet};

use super::model::stock_serves;
use super::reduce::Reduction;
use super::set::Set;
use super::smooth::Network;
use super::transport::Transport;
use super::{Day, Problem};

/// Rows listed before the search; more are added when a purchase fails to serve everything.
const ROWS_AT_FIRST: usize = 40;

/// One offer on one delivery: packs of it may be bought.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    pub(super) offer: usize,
    pub(super) delivery: usize,
    pub(super) date: Day,
    pub(super) cell: usize,
    pub(super) size: i64,
    pub(super) price: i64,
    pub(super) least: i64,
    pub(super) most: i64,
}

#[derive(Clone, Debug)]
pub(super) struct Cell {
    pub(super) choices: Vec<usize>,
    /// More stems than this are of no use in the cell.
    pub(super) reach: i64,
}

/// Requirements with the same cells and stock lots.
#[derive(Clone, Debug)]
pub(super) struct Class {
    pub(super) stems: i64,
    pub(super) cells: Vec<usize>,
    pub(super) lots: Vec<usize>,
}

#[derive(Clone, Debug)]
pub(super) struct Row {
    pub(super) holds: Vec<bool>,
    pub(super) need: i64,
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
    pub(super) classes: Vec<Class>,
    pub(super) lots: Vec<i64>,
    pub(super) rows: Vec<Row>,
    pub(super) caps: Vec<Cap>,
    /// How it is folded for covers, and what is left of it then.
    pub(super) reduction: Reduction,
    pub(super) core: Network,
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
        let rows = Vec::new();
        let (reduction, core) = reduce(cells.len(), &classes, &lots);
        let mut made = Self { choices, cells, classes, lots, rows, caps, reduction, core, deliveries };
        made.first_rows();
        made
    }

    /// Rows for the connected unions of classes, as far as the limit goes.
    fn first_rows(&mut self) {
        let mut unions: BTreeSet<Vec<usize>> = (0..self.classes.len()).map(|c| vec![c]).collect();
        let mut queue: Vec<Vec<usize>> = unions.iter().cloned().collect();
        while let Some(union) = queue.pop() {
            for class in 0..self.classes.len() {
                if unions.len() >= ROWS_AT_FIRST || union.contains(&class) || !self.touches(&union, class) {
                    continue;
                }
                let mut wider = union.clone();
                wider.push(class);
                wider.sort_unstable();
                if unions.insert(wider.clone()) {
                    queue.push(wider);
                }
            }
        }
        unions.insert((0..self.classes.len()).collect());
        for union in unions {
            self.add_row(&union);
        }
        self.drop_idle_rows();
        self.set_reach();
    }

    fn touches(&self, union: &[usize], class: usize) -> bool {
        let wanted = &self.classes[class];
        union.iter().any(|&c| {
            let other = &self.classes[c];
            other.cells.iter().any(|x| wanted.cells.contains(x))
                || other.lots.iter().any(|x| wanted.lots.contains(x))
        })
    }

    /// Adds what the classes together need; false if it says nothing new.
    pub(super) fn add_row(&mut self, union: &[usize]) -> bool {
        let Some(row) = self.row(union) else { return false };
        match self.rows.iter_mut().find(|known| known.holds == row.holds) {
            Some(known) if known.need >= row.need => return false,
            Some(known) => known.need = row.need,
            None => self.rows.push(row),
        }
        true
    }

    /// The cells of the classes, and what all classes that are served from nowhere else need of them.
    pub(super) fn row(&self, union: &[usize]) -> Option<Row> {
        let mut holds = vec![false; self.cells.len()];
        let mut lots = vec![false; self.lots.len()];
        for &class in union {
            self.classes[class].cells.iter().for_each(|&c| holds[c] = true);
            self.classes[class].lots.iter().for_each(|&l| lots[l] = true);
        }
        let inside =
            |class: &&Class| class.cells.iter().all(|&c| holds[c]) && class.lots.iter().all(|&l| lots[l]);
        let wanted: i64 = self.classes.iter().filter(inside).map(|c| c.stems).sum();
        let stock: i64 = self.lots.iter().zip(&lots).filter(|l| *l.1).map(|l| l.0).sum();
        (wanted > stock).then_some(Row { holds, need: wanted - stock })
    }

    /// The classes in groups that have no cell or lot in common.
    pub(super) fn connected(&self, mut classes: Vec<usize>) -> Vec<Vec<usize>> {
        let mut groups = Vec::new();
        while let Some(first) = classes.pop() {
            let mut group = vec![first];
            while let Some(at) = classes.iter().position(|&class| self.touches(&group, class)) {
                group.push(classes.swap_remove(at));
            }
            groups.push(group);
        }
        groups
    }

    /// Leaves out rows that a smaller set of cells with no smaller need implies.
    fn drop_idle_rows(&mut self) {
        let rows = std::mem::take(&mut self.rows);
        let idle = |row: &Row| {
            rows.iter().any(|other| {
                other.holds != row.holds
                    && other.need >= row.need
                    && other.holds.iter().zip(&row.holds).all(|(inner, outer)| *outer || !*inner)
            })
        };
        self.rows = rows.iter().filter(|row| !idle(row)).cloned().collect();
    }

    fn set_reach(&mut self) {
        for (at, cell) in self.cells.iter_mut().enumerate() {
            cell.reach = self.classes.iter().filter(|c| c.cells.contains(&at)).map(|c| c.stems).sum();
        }
    }

    /// The classes that so many stems in the cells leave short, together with those that compete with them.
    pub(super) fn short(&self, stems: &[i64]) -> Option<Vec<usize>> {
        let cells = self.cells.len();
        let links = self
            .classes
            .iter()
            .map(|class| class.lots.iter().map(|l| cells + l).chain(class.cells.iter().copied()).collect());
        let demands: Vec<i64> = self.classes.iter().map(|c| c.stems).collect();
        let supply = stems.iter().chain(&self.lots).copied().collect();
        Transport::new(supply, links.collect()).assign(&demands).err()
    }

    /// Stems in every cell.
    pub(super) fn stems(&self, packs: &[(usize, i64)]) -> Vec<i64> {
        let mut stems = vec![0; self.cells.len()];
        for &(choice, count) in packs {
            stems[self.choices[choice].cell] += count * self.choices[choice].size;
        }
        stems
    }

    pub(super) fn all_stems(&self) -> i64 {
        self.classes.iter().map(|class| class.stems).sum()
    }

    /// Stems that the cell must hold whatever the others do.
    pub(super) fn own_need(&self, cell: usize) -> i64 {
        let alone = |row: &&Row| row.holds[cell] && row.holds.iter().filter(|h| **h).count() == 1;
        self.rows.iter().filter(alone).map(|row| row.need).max().unwrap_or(0)
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

/// The folding, with the network of what it leaves.
fn reduce(cells: usize, classes: &[Class], lots: &[i64]) -> (Reduction, Network) {
    let slots =
        |class: &Class| class.cells.iter().copied().chain(class.lots.iter().map(|lot| cells + lot)).collect();
    let reduction =
        Reduction::new(cells + lots.len(), classes.iter().map(|class| (class.stems, slots(class))).collect());
    let place = |slot: &usize| reduction.roots.iter().position(|root| root == slot).unwrap_or(usize::MAX);
    let links = reduction.links.iter().map(|slots| slots.iter().map(place).collect()).collect();
    let core = Network::new(reduction.demand.clone(), links, reduction.roots.len(), Vec::new());
    (reduction, core)
}

fn caps(choices: &[Choice]) -> Vec<Cap> {
    let mut shared: BTreeMap<usize, Cap> = BTreeMap::new();
    for (at, choice) in choices.iter().enumerate().filter(|c| c.1.most < i64::MAX) {
        let cap = shared.entry(choice.offer).or_insert(Cap { choices: Vec::new(), most: choice.most });
        cap.choices.push(at);
    }
    shared.into_values().filter(|cap| cap.choices.len() > 1).collect()
}
