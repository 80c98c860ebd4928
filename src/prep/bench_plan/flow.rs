//! Least-cost flow in integers: the transport problem behind the bench plan. Successive cheapest paths, so the answer is
//! exact; costs may be negative on the way back only. Knows nothing of flowers.

use std::collections::VecDeque;

/// A network, arcs and their way back in pairs.
#[derive(Debug, Clone, Default)]
pub(super) struct Network {
    /// Arcs that leave each node.
    leaving: Vec<Vec<usize>>,
    to: Vec<usize>,
    room: Vec<i64>,
    cost: Vec<i64>,
}

impl Network {
    pub(super) fn new(nodes: usize) -> Network {
        Network { leaving: vec![Vec::new(); nodes], ..Network::default() }
    }

    /// Adds an arc and gives its number.
    pub(super) fn arc(&mut self, from: usize, to: usize, room: i64, cost: i64) -> usize {
        let arc = self.to.len();
        for (from, to, room, cost) in [(from, to, room, cost), (to, from, 0, -cost)] {
            self.leaving[from].push(self.to.len());
            self.to.push(to);
            self.room.push(room);
            self.cost.push(cost);
        }
        arc
    }

    /// What flows along an arc.
    pub(super) fn flow(&self, arc: usize) -> i64 {
        self.room[arc ^ 1]
    }

    /// Sends as much as can flow from one node to another, each unit along the cheapest path that is left.
    pub(super) fn send(&mut self, from: usize, to: usize) {
        while let Some(path) = self.cheapest(from, to) {
            let most = path.iter().map(|arc| self.room[*arc]).min().unwrap_or(0);
            for arc in path {
                self.room[arc] -= most;
                self.room[arc ^ 1] += most;
            }
        }
    }

    /// The arcs of a cheapest path with room: Bellman and Ford's, with a queue.
    fn cheapest(&self, from: usize, to: usize) -> Option<Vec<usize>> {
        let mut far = vec![i64::MAX; self.leaving.len()];
        let mut by = vec![usize::MAX; self.leaving.len()];
        let mut waiting = vec![false; self.leaving.len()];
        let mut queue = VecDeque::from([from]);
        far[from] = 0;
        while let Some(node) = queue.pop_front() {
            waiting[node] = false;
            for &arc in &self.leaving[node] {
                let (next, cost) = (self.to[arc], far[node].saturating_add(self.cost[arc]));
                if self.room[arc] > 0 && cost < far[next] {
                    far[next] = cost;
                    by[next] = arc;
                    if !waiting[next] {
                        waiting[next] = true;
                        queue.push_back(next);
                    }
                }
            }
        }
        if by[to] == usize::MAX {
            return None;
        }
        let mut path = Vec::new();
        let mut node = to;
        while node != from {
            path.push(by[node]);
            node = self.to[by[node] ^ 1];
        }
        Some(path)
    }
}
