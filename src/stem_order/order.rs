//! The stem order itself: what is bought from whom for which day, what each event takes of it and pays for it, and
//! what could not be had. One value that pages, CSV and the command line share; it can be written as JSON.
//!
//! **Tie-out.** Total = goods of all lines + fees of all deliveries = sum of the events' shares, to the minor unit:
//! everything shared out is shared by largest remainder (C5).
//!
//! May import `ground`, types of earlier rooms, and the room's own calculations.

mod build;
mod comparison;
mod cutting_line;
mod from_stock;
mod pooling;
mod reasons;
mod shares;
mod warnings;

pub use build::{Planned, order};
pub use comparison::{Alone, Pooling, SingleSupplier};
pub use cutting_line::{CutPattern, CutPiece, CuttingLine, cutting_lines};
pub use from_stock::{FromStock, StockLine};
pub use reasons::{Sold, UNDECIDED};

use serde::Serialize;

use super::calendar::LocalTime;
use crate::ground::caution::Cautions;
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::ids::{EventId, MaterialId, OfferId, SupplierId};
use crate::ground::money::Money;
use crate::price_list::{MaterialKind, Unit};

/// One wholesale order for some events. Amounts are minor units of the book's currency.
#[derive(Debug, Clone, Serialize)]
pub struct StemOrder {
    /// ISO 4217 code of all amounts.
    pub currency: &'static str,
    /// The events, by day.
    pub events: Vec<OrderEvent>,
    /// What they need, by material.
    pub needs: Vec<NeedLine>,
    /// How cut pieces are cut.
    pub cutting: Vec<CuttingLine>,
    /// What is loaned, counted against the shelf.
    pub loans: Vec<LoanLine>,
    /// What is taken from stock, and what there does not keep.
    pub from_stock: FromStock,
    /// What is bought, by delivery: day, then supplier.
    pub deliveries: Vec<OrderDelivery>,
    /// Goods of all deliveries.
    pub goods: Money,
    /// Fees of all deliveries.
    pub fees: Money,
    /// Goods and fees.
    pub total: Money,
    /// No order for the same stems and days costs less.
    pub at_least: Money,
    /// Whether the total is that least.
    pub proven: bool,
    /// And whether no order that costs the same leaves fewer stems over, comes later or from fewer suppliers, in this order.
    pub ties_settled: bool,
    /// Each event's share of the total.
    pub shares: Vec<EventShare>,
    /// What cannot be had, and why.
    pub unmet: Vec<UnmetNeed>,
    /// What ordering together saves.
    pub pooling: Pooling,
    /// What else the buyer has to know.
    pub warnings: Vec<String>,
}

/// An event of the order.
#[derive(Debug, Clone, Serialize)]
pub struct OrderEvent {
    /// Its identity.
    pub id: EventId,
    /// Its name.
    pub name: String,
    /// Its day.
    pub day: Day,
    /// Whose it is.
    pub client: String,
}

/// What all events together need of one material.
#[derive(Debug, Clone, Serialize)]
pub struct NeedLine {
    /// Which.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// In what it is counted.
    pub unit: Unit,
    /// Rounded up to whole, once.
    pub need: i64,
    /// Above the need.
    pub spare: i64,
    /// Of need and spares, served from what lies on hand (substitutes too).
    pub from_hand: i64,
    /// Of need and spares, served from what was ordered before (substitutes too).
    pub from_placed: i64,
    /// Of need and spares, served from packs (substitutes too).
    pub from_packs: i64,
    /// Of need and spares, not to be had.
    pub missing: i64,
    /// How the need came about.
    pub need_working: String,
    /// Need and spares in words.
    pub working: String,
    /// What was counted on hand, and what becomes of it; empty where nothing was counted.
    pub hand_working: String,
    /// Where the stems come from, in words.
    pub served_working: String,
    /// What each event needs of it.
    pub parts: Vec<NeedCell>,
    /// Where it can hurt someone.
    pub cautions: Cautions,
}

impl NeedLine {
    /// Need and spares together.
    #[must_use]
    pub fn total(&self) -> i64 {
        self.need.saturating_add(self.spare)
    }
}

/// One event's part of a need.
#[derive(Debug, Clone, Serialize)]
pub struct NeedCell {
    /// Which event, by its place in the order.
    pub event: usize,
    /// Whole stems, spares included.
    pub stems: i64,
    /// What calls for it.
    pub working: String,
    /// When it may arrive.
    pub window: String,
    /// What may stand in, by name.
    pub substitutes: Vec<String>,
}

/// A loaned material counted against the shelf.
#[derive(Debug, Clone, Serialize)]
pub struct LoanLine {
    /// Which.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// How many all events of the order need.
    pub need: i64,
    /// How many the studio owns.
    pub owned: i64,
    /// How many are missing, all events taken together.
    pub shortfall: i64,
}

/// One delivery from one supplier.
#[derive(Debug, Clone, Serialize)]
pub struct OrderDelivery {
    /// Whose.
    pub supplier: SupplierId,
    /// Their name.
    pub name: String,
    /// The studio's account there.
    pub account: String,
    /// Whom to ask for.
    pub contact: String,
    /// Where orders are written to.
    pub email: String,
    /// Where they are rung.
    pub phone: String,
    /// When it comes.
    pub day: Day,
    /// The last day for the order.
    pub order_by_day: Day,
    /// The last hour on that day.
    pub order_by_time: TimeOfDay,
    /// Why that is earlier than the supplier's terms say; empty where it is not.
    pub order_by_note: String,
    /// Whether that moment has passed.
    pub cutoff_passed: bool,
    /// What is on it.
    pub lines: Vec<OrderLine>,
    /// Sum of the lines.
    pub goods: Money,
    /// Paid for the delivery.
    pub fee: Money,
    /// How the fee came about.
    pub fee_working: String,
    /// Goods and fee.
    pub total: Money,
    /// Goods of at least so much, or no delivery.
    pub least_order: Money,
}

impl OrderDelivery {
    /// Until when it must be ordered.
    #[must_use]
    pub fn order_by(&self) -> LocalTime {
        LocalTime { day: self.order_by_day, time: self.order_by_time }
    }

    /// Packs of all lines.
    #[must_use]
    pub fn packs(&self) -> i64 {
        self.lines.iter().map(|line| line.packs).sum()
    }
}

/// Packs of one offer on a delivery.
#[derive(Debug, Clone, Serialize)]
pub struct OrderLine {
    /// Which offer.
    pub offer: OfferId,
    /// Of what.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// Its colour.
    pub colour: String,
    /// Its grade.
    pub grade: String,
    /// In what it is counted.
    pub unit: Unit,
    /// What a pack is called.
    pub pack_name: String,
    /// How many are in it.
    pub pack_size: i64,
    /// How many packs.
    pub packs: i64,
    /// Packs × pack size.
    pub stems: i64,
    /// The price of a pack.
    pub price: Money,
    /// Packs × price.
    pub goods: Money,
    /// What each event takes of it and is charged for it.
    pub by_event: Vec<LineShare>,
    /// Stems of this material on this delivery that nobody needs: they come with whole packs.
    pub left_over: i64,
    /// Where it can hurt someone.
    pub cautions: Cautions,
}

impl OrderLine {
    /// Colour and grade, as far as the name does not say them.
    #[must_use]
    pub fn looks(&self) -> String {
        let name = self.name.to_lowercase();
        let words = [self.colour.as_str(), self.grade.as_str()];
        let new = words.into_iter().filter(|word| !word.is_empty() && !name.contains(&word.to_lowercase()));
        new.collect::<Vec<_>>().join(", ")
    }

    /// `13 packs × 12 in each; 3 more than needed, since packs are whole`.
    #[must_use]
    pub fn stems_working(&self) -> String {
        let over = match self.left_over {
            0 => String::new(),
            over => format!("; {over} more than needed, since packs are whole"),
        };
        let packs = if self.packs == 1 { "pack" } else { "packs" };
        format!("{} {packs} × {} in each{over}", self.packs, self.pack_size)
    }
}

/// An event's share of one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LineShare {
    /// Which event, by its place in the order.
    pub event: usize,
    /// Stems of this material that it takes from this delivery (all pack sizes together).
    pub stems: i64,
    /// Its share of the line's goods.
    pub goods: Money,
}

/// What one event pays.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EventShare {
    /// Which event, by its place in the order.
    pub event: usize,
    /// Its share of the goods, by the stems it takes.
    pub goods: Money,
    /// Its share of the fees, by what it spends on each delivery.
    pub fees: Money,
    /// Both.
    pub total: Money,
}

/// A requirement that is not in the plan.
#[derive(Debug, Clone, Serialize)]
pub struct UnmetNeed {
    /// Which event, by its place in the order.
    pub event: usize,
    /// What it wanted.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// How many.
    pub stems: i64,
    /// Why it cannot be had.
    pub why: String,
    /// What would mend it.
    pub mend: String,
}

impl StemOrder {
    /// Packs of all deliveries.
    #[must_use]
    pub fn packs(&self) -> i64 {
        self.deliveries.iter().map(OrderDelivery::packs).sum()
    }

    /// Stems that could not be had.
    #[must_use]
    pub fn missing(&self) -> i64 {
        self.unmet.iter().map(|unmet| unmet.stems).sum()
    }

    /// What ordering together saves in money.
    #[must_use]
    pub fn saved(&self) -> Money {
        self.pooling.total() - self.total
    }

    /// How far above the least proven the total can be.
    #[must_use]
    pub fn gap(&self) -> Money {
        self.total - self.at_least
    }

    /// The suppliers of the order, once each, in the order of their first delivery.
    #[must_use]
    pub fn suppliers(&self) -> Vec<(SupplierId, &str)> {
        let mut suppliers: Vec<(SupplierId, &str)> = Vec::new();
        for delivery in &self.deliveries {
            if !suppliers.iter().any(|(id, _)| *id == delivery.supplier) {
                suppliers.push((delivery.supplier, &delivery.name));
            }
        }
        suppliers
    }

    /// The cautions of everything in the order.
    #[must_use]
    pub fn cautions(&self) -> Cautions {
        self.needs.iter().fold(Cautions::default(), |all, need| all.and(need.cautions))
    }
}

#[cfg(test)]
pub(crate) mod tests;
