//! What the bench may await: what comes of placed orders and whom it serves now, and the top-up that nobody has ordered yet.
//!
//! May import `ground`, and the stage's own need, plan and placed orders.

use std::collections::BTreeSet;

use super::coming::Coming;
use crate::ground::dates::Day;
use crate::ground::ids::MaterialId;
use crate::stem_order::buying_plan::{Plan, Source};
use crate::stem_order::order::{StemOrder, UNDECIDED};
use crate::stem_order::posed::Posed;
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
    /// Whom ordered stems serve now.
    pub uses: Vec<PlacedUse>,
    /// What lies ready for the plan: material and delivery day.
    pub ready: BTreeSet<(MaterialId, Day)>,
    /// What serves nobody because of its day, in words.
    pub asides: Vec<String>,
}

/// Ordered stems of one material and day that serve a part of the need.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlacedUse {
    /// Of what.
    pub material: MaterialId,
    /// When they come.
    pub day: Day,
    /// Which need of the weekend.
    pub need: usize,
    /// Which part of it.
    pub part: usize,
    /// How many.
    pub stems: i64,
}

impl Arriving {
    /// Whether the plan was stopped before it had an answer: then nobody knows whom ordered stems serve now.
    #[must_use]
    pub fn undecided(&self) -> bool {
        self.order.unmet.iter().any(|unmet| unmet.why == UNDECIDED)
    }

    /// The parts of the need that stems of a material and day serve, each with what it calls for.
    #[must_use]
    pub fn served_by(&self, material: MaterialId, day: Day) -> Vec<(MaterialId, &NeedPart)> {
        let own = self.uses.iter().filter(|one| one.material == material && one.day == day && one.stems > 0);
        let part = |one: &PlacedUse| {
            let need = self.weekend.needs.get(one.need)?;
            Some((need.material, need.parts.get(one.part)?))
        };
        own.filter_map(part).collect()
    }
}

/// Whom ordered stems serve by a plan.
#[must_use]
pub fn placed_uses(posed: &Posed, plan: &Plan) -> Vec<PlacedUse> {
    let uses = plan.allocation.iter().filter_map(|share| {
        let Source::Stock(at) = share.source else { return None };
        let (lot, want) = (posed.placed_lot(at)?, posed.wants.get(share.requirement)?);
        Some(PlacedUse {
            material: lot.material,
            day: lot.day,
            need: want.need,
            part: want.part,
            stems: share.stems,
        })
    });
    uses.collect()
}
