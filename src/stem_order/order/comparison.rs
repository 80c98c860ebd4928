//! What ordering together is compared with: each event by itself, one supplier alone.

use serde::Serialize;

use crate::ground::ids::SupplierId;
use crate::ground::money::Money;

/// What ordering together saves, against the same stems on the same days ordered event by event.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Pooling {
    /// Each event by itself.
    pub alone: Vec<Alone>,
    /// The best order from one supplier only, if one has everything.
    pub single: Option<SingleSupplier>,
    /// Why there is none, if there is none.
    pub no_single: String,
}

/// What an order would have been by itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Alone {
    /// Which event, by its place in the order.
    pub event: usize,
    /// Packs.
    pub packs: i64,
    /// Goods.
    pub goods: Money,
    /// Fees.
    pub fees: Money,
    /// Both.
    pub total: Money,
    /// Stems that it could not have by itself.
    pub missing: i64,
    /// Whether that is proven to be the least.
    pub proven: bool,
    /// The order's total in proportion to what each event would have cost by itself.
    pub by_alone: Money,
}

/// The best order from one supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SingleSupplier {
    /// Whose.
    pub supplier: SupplierId,
    /// Their name.
    pub name: String,
    /// Goods and fees.
    pub total: Money,
    /// Whether that is proven to be the least from them.
    pub proven: bool,
}

impl Pooling {
    /// Whether every event could be ordered by itself, so that the savings say something.
    #[must_use]
    pub fn comparable(&self) -> bool {
        self.alone.len() > 1 && self.alone.iter().all(|alone| alone.missing == 0)
    }

    /// Packs of all events by themselves.
    #[must_use]
    pub fn packs(&self) -> i64 {
        self.alone.iter().map(|alone| alone.packs).sum()
    }

    /// Fees of all events by themselves.
    #[must_use]
    pub fn fees(&self) -> Money {
        self.alone.iter().map(|alone| alone.fees).sum()
    }

    /// Goods and fees of all events by themselves.
    #[must_use]
    pub fn total(&self) -> Money {
        self.alone.iter().map(|alone| alone.total).sum()
    }
}
