//! Who is served from where: stems of supplies handed to demands that may use them. Whole numbers, by
//! augmenting paths. Pure; imports nothing.

use std::collections::VecDeque;

/// Demands, supplies, and for every demand the supplies it may use, preferred first.
pub(super) struct Transport {
    pub(super) demand: Vec<i64>,
    pub(super) supply: Vec<i64>,
    pub(super) links: Vec<Vec<usize>>,
}

/// For every demand its (supply, stems).
pub(super) type Flow = Vec<Vec<(usize, i64)>>;

impl Transport {
    /// Serves every demand, or says which demands together ask for more than all their supplies have.
    pub(super) fn assign(&self) -> Result<Flow, Vec<usize>> {
        let mut state = State::new(self);
        for demand in 0..self.demand.len() {
            state
                .serve(demand)
                .map_err(|stuck| (0..self.demand.len()).filter(|&d| stuck[d]).collect::<Vec<_>>())?;
        }
        Ok(state.flow)
    }

    /// How many stems the last demand can have when all others are served in full first.
    pub(super) fn left_for_last(&self) -> i64 {
        let mut state = State::new(self);
        for demand in 0..self.demand.len() {
            let _ = state.serve(demand);
        }
        state.flow.last().map_or(0, |f| f.iter().map(|&(_, stems)| stems).sum())
    }
}

struct State<'a> {
    of: &'a Transport,
    spare: Vec<i64>,
    flow: Flow,
    users: Vec<Vec<usize>>,
}

impl<'a> State<'a> {
    fn new(of: &'a Transport) -> Self {
        let mut users = vec![Vec::new(); of.supply.len()];
        for (demand, links) in of.links.iter().enumerate() {
            for &supply in links {
                users[supply].push(demand);
            }
        }
        Self { of, spare: of.supply.clone(), flow: vec![Vec::new(); of.demand.len()], users }
    }

    fn serve(&mut self, demand: usize) -> Result<(), Vec<bool>> {
        let mut wanted = self.of.demand[demand];
        for &supply in &self.of.links[demand] {
            let stems = wanted.min(self.spare[supply]);
            self.shift(demand, supply, stems);
            self.spare[supply] -= stems;
            wanted -= stems;
        }
        while wanted > 0 {
            wanted -= self.augment(demand, wanted)?;
        }
        Ok(())
    }

    /// One shortest path of hand-overs that frees stems for `root`; the demands reached when there is none.
    fn augment(&mut self, root: usize, wanted: i64) -> Result<i64, Vec<bool>> {
        let mut reached = vec![false; self.of.demand.len()];
        let mut came = vec![None; self.of.supply.len()];
        let mut from = vec![None; self.of.demand.len()];
        reached[root] = true;
        let mut queue = VecDeque::from([root]);
        while let Some(demand) = queue.pop_front() {
            for &supply in &self.of.links[demand] {
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
