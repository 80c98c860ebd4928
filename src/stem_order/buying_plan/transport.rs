//! Who is served from where: stems of supplies handed to demands that may use them. Whole numbers, by
//! augmenting paths. Pure; imports nothing.

use std::collections::VecDeque;

/// Supplies and what they have handed to the demands served so far.
pub(super) struct Transport {
    /// For every demand the supplies it may use, preferred first.
    links: Vec<Vec<usize>>,
    users: Vec<Vec<usize>>,
    spare: Vec<i64>,
    flow: Flow,
}

/// For every demand its (supply, stems).
pub(super) type Flow = Vec<Vec<(usize, i64)>>;

/// A demand that cannot be served in full.
pub(super) struct Stuck {
    pub(super) missing: i64,
    /// The demands that compete for the supplies it could use, itself among them.
    pub(super) rivals: Vec<bool>,
}

impl Transport {
    pub(super) fn new(supply: Vec<i64>, links: Vec<Vec<usize>>) -> Self {
        let mut users = vec![Vec::new(); supply.len()];
        for (demand, links) in links.iter().enumerate() {
            for &supply in links {
                users[supply].push(demand);
            }
        }
        let flow = vec![Vec::new(); links.len()];
        Self { links, users, spare: supply, flow }
    }

    /// Serves every demand, or says which demands together ask for more than all their supplies have.
    pub(super) fn assign(mut self, demands: &[i64]) -> Result<Flow, Vec<usize>> {
        for (demand, &stems) in demands.iter().enumerate() {
            if let Err(stuck) = self.serve(demand, stems) {
                return Err((0..self.links.len()).filter(|&d| stuck.rivals[d]).collect());
            }
        }
        Ok(self.flow)
    }

    /// Serves a demand as far as can be without taking from the others.
    pub(super) fn serve(&mut self, demand: usize, stems: i64) -> Result<(), Stuck> {
        let mut missing = stems;
        for at in 0..self.links[demand].len() {
            let supply = self.links[demand][at];
            let stems = missing.min(self.spare[supply]);
            self.shift(demand, supply, stems);
            self.spare[supply] -= stems;
            missing -= stems;
        }
        while missing > 0 {
            match self.augment(demand, missing) {
                Ok(stems) => missing -= stems,
                Err(rivals) => return Err(Stuck { missing, rivals }),
            }
        }
        Ok(())
    }

    /// Takes back what a demand was served.
    pub(super) fn release(&mut self, demand: usize) {
        for (supply, stems) in std::mem::take(&mut self.flow[demand]) {
            self.spare[supply] += stems;
        }
    }

    pub(super) fn add(&mut self, supply: usize, stems: i64) {
        self.spare[supply] += stems;
    }

    /// Supplies that one of the demands may use.
    pub(super) fn supplies_of(&self, demands: &[bool]) -> Vec<bool> {
        let mut supplies = vec![false; self.spare.len()];
        for (links, _) in self.links.iter().zip(demands).filter(|(_, asked)| **asked) {
            for &supply in links {
                supplies[supply] = true;
            }
        }
        supplies
    }

    /// One shortest path of hand-overs that frees stems for `root`; the demands reached when there is none.
    fn augment(&mut self, root: usize, wanted: i64) -> Result<i64, Vec<bool>> {
        let mut reached = vec![false; self.links.len()];
        let mut came = vec![None; self.spare.len()];
        let mut from = vec![None; self.links.len()];
        reached[root] = true;
        let mut queue = VecDeque::from([root]);
        while let Some(demand) = queue.pop_front() {
            for &supply in &self.links[demand] {
                if came[supply].is_some() {
                    continue;
                }
                came[supply] = Some(demand);
                if self.spare[supply] > 0 {
                    return Ok(self.hand_over(supply, &came, &from, wanted));
                }
                for &user in &self.users[supply] {
                    if !reached[user] && self.stems(user, supply) > 0 {
                        reached[user] = true;
                        from[user] = Some(supply);
                        queue.push_back(user);
                    }
                }
            }
        }
        Err(reached)
    }

    fn hand_over(&mut self, last: usize, came: &[Option<usize>], from: &[Option<usize>], wanted: i64) -> i64 {
        let mut steps = Vec::new();
        let mut amount = wanted.min(self.spare[last]);
        let mut supply = last;
        while let Some(demand) = came[supply] {
            steps.push((demand, supply));
            let Some(previous) = from[demand] else { break };
            amount = amount.min(self.stems(demand, previous));
            steps.push((demand, previous));
            supply = previous;
        }
        for (at, &(demand, supply)) in steps.iter().enumerate() {
            self.shift(demand, supply, if at % 2 == 0 { amount } else { -amount });
        }
        self.spare[last] -= amount;
        amount
    }

    fn stems(&self, demand: usize, supply: usize) -> i64 {
        self.flow[demand].iter().find(|f| f.0 == supply).map_or(0, |f| f.1)
    }

    fn shift(&mut self, demand: usize, supply: usize, stems: i64) {
        if stems == 0 {
            return;
        }
        match self.flow[demand].iter().position(|f| f.0 == supply) {
            Some(at) => {
                self.flow[demand][at].1 += stems;
                self.flow[demand].retain(|f| f.1 > 0);
            }
            None => self.flow[demand].push((supply, stems)),
        }
    }
}
