//! When purchases serve everything. A *row* is a set of cells that must together hold so many stems, since
//! requirements served from nowhere else ask for them; by Hall's theorem the purchases serve everything exactly when
//! all such rows hold. There may be very many: some are listed at first, others when they fail. Imports the transport
//! of stems.

use std::collections::BTreeSet;

use super::transport::Transport;

/// Rows listed before the search; more are added when a purchase fails to serve everything.
const ROWS_AT_FIRST: usize = 40;

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

/// Classes with the cells that serve them, and the rows known so far.
#[derive(Clone, Debug)]
pub(super) struct Hall {
    cells: usize,
    pub(super) classes: Vec<Class>,
    pub(super) lots: Vec<i64>,
    pub(super) rows: Vec<Row>,
}

impl Hall {
    pub(super) fn new(cells: usize, classes: Vec<Class>, lots: Vec<i64>) -> Self {
        let mut hall = Self { cells, classes, lots, rows: Vec::new() };
        hall.first_rows();
        hall
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
        let mut holds = vec![false; self.cells];
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

    /// The classes that so many stems in the cells leave short, together with those that compete with them.
    pub(super) fn short(&self, stems: &[i64]) -> Option<Vec<usize>> {
        let cells = self.cells;
        let links = self
            .classes
            .iter()
            .map(|class| class.lots.iter().map(|l| cells + l).chain(class.cells.iter().copied()).collect());
        let demands: Vec<i64> = self.classes.iter().map(|c| c.stems).collect();
        let supply = stems.iter().chain(&self.lots).copied().collect();
        Transport::new(supply, links.collect()).assign(&demands).err()
    }

    pub(super) fn all_stems(&self) -> i64 {
        self.classes.iter().map(|class| class.stems).sum()
    }

    /// Stems that the cell must hold whatever the others do.
    pub(super) fn own_need(&self, cell: usize) -> i64 {
        let alone = |row: &&Row| row.holds[cell] && row.holds.iter().filter(|h| **h).count() == 1;
        self.rows.iter().filter(alone).map(|row| row.need).max().unwrap_or(0)
    }
}
