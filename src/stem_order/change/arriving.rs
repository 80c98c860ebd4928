//! What the bench may await: what comes of placed orders and whom it serves now, and the top-up that nobody has ordered yet.
//!
//! May import `ground`, and the stage's own need, plan and placed orders.

use std::collections::BTreeSet;

use super::coming::Coming;
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, SupplierId};
use crate::price_list::Supplier;
use crate::stem_order::buying_plan::{Plan, Source};
use crate::stem_order::order::{StemOrder, UNDECIDED};
use crate::stem_order::posed::{Posed, day};
use crate::stem_order::weekend::{NeedPart, Weekend};

/// What comes of placed orders, and what tops them up.
#[derive(Debug, Clone)]
pub struct Arriving {
    /// The need of all events that belong together.
    pub weekend: Weekend,
    /// The top-up, and what is taken from stock.
    pub order: StemOrder,
    /// Every placed line as it counts now.
    pub lines: Vec<Coming>,
    /// Whom ordered, planned and held stems serve now.
    pub uses: Vec<StemUse>,
    /// What lies ready for the plan: material and delivery day.
    pub ready: BTreeSet<(MaterialId, Day)>,
    /// What serves nobody because of its day, in words.
    pub asides: Vec<String>,
}

/// Stems of one material that serve a part of the need.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StemUse {
    /// Of what.
    pub material: MaterialId,
    /// Where they come from.
    pub from: UseFrom,
    /// Which need of the weekend.
    pub need: usize,
    /// Which part of it.
    pub part: usize,
    /// How many.
    pub stems: i64,
}

/// Where stems come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UseFrom {
    /// They were ordered, and come on that day.
    Placed(Day),
    /// They are planned, from that supplier on that day.
    Planned(SupplierId, Day),
    /// They lie on hand.
    OnHand,
}

impl Arriving {
    /// Whether the plan was stopped before it had an answer: then nobody knows whom ordered stems serve now.
    #[must_use]
    pub fn undecided(&self) -> bool {
        self.order.unmet.iter().any(|unmet| unmet.why == UNDECIDED)
    }

    /// The parts of the need that stems of a material from somewhere serve, each with what it calls for.
    #[must_use]
    pub fn served_by(&self, material: MaterialId, from: UseFrom) -> Vec<(MaterialId, &NeedPart)> {
        let own =
            self.uses.iter().filter(|one| one.material == material && one.from == from && one.stems > 0);
        let part = |one: &StemUse| {
            let need = self.weekend.needs.get(one.need)?;
            Some((need.material, need.parts.get(one.part)?))
        };
        own.filter_map(part).collect()
    }
}

/// Whom stems serve by a plan; `suppliers` are those of its problem.
#[must_use]
pub fn stem_uses(posed: &Posed, plan: &Plan, suppliers: &[Supplier]) -> Vec<StemUse> {
    let uses = plan.allocation.iter().filter_map(|share| {
        let want = posed.wants.get(share.requirement)?;
        let (material, from) = match share.source {
            Source::Delivery(at, date) => {
                (*posed.materials.get(&share.material)?, UseFrom::Planned(suppliers.get(at)?.id, day(date)))
            }
            Source::Stock(at) => match posed.placed_lot(at) {
                Some(lot) => (lot.material, UseFrom::Placed(lot.day)),
                None => (*posed.materials.get(&share.material)?, UseFrom::OnHand),
            },
        };
        Some(StemUse { material, from, need: want.need, part: want.part, stems: share.stems })
    });
    uses.collect()
}
