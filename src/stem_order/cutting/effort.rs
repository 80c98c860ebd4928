//! What a layout may still cost: counted in search nodes, so that the same job always stops at the same point.

/// Knapsack states, or entries of the simplex inverse, that take about as long as a search node.
const STATES_A_NODE: usize = 16;

/// Nodes that may still be spent.
pub(super) struct Effort {
    nodes: u64,
}

impl Effort {
    pub(super) fn of(nodes: u64) -> Self {
        Self { nodes }
    }

    pub(super) fn is_spent(&self) -> bool {
        self.nodes == 0
    }

    /// Spends one node; false if there is none.
    pub(super) fn spend_node(&mut self) -> bool {
        let had_one = self.nodes > 0;
        self.nodes = self.nodes.saturating_sub(1);
        had_one
    }

    /// Spends the nodes that so many states are worth; false if there are not enough.
    pub(super) fn spend_states(&mut self, states: usize) -> bool {
        let nodes = u64::try_from(states / STATES_A_NODE + 1).unwrap_or(u64::MAX);
        let enough = nodes <= self.nodes;
        self.nodes = self.nodes.saturating_sub(nodes);
        enough
    }
}
