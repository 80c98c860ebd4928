//! Orders that were placed: what was ordered from whom, at what price, for which events, frozen on the day it left the
//! house; and what is known of each line since (the supplier's answer, a cancellation).
//!
//! **Invariants.** What was placed is never rewritten: answers are rows of their own, the latest counts. Orders are numbered
//! 1, 2, 3 … without a gap. One key places one order a supplier, however often it is sent.
//! *Expected* of a line is its latest answer, else what was placed.
//!
//! May import `ground`, earlier stages' types and the stage's own plan and order.

pub mod forms;
pub mod freeze;
mod message;
pub mod pages;
mod shares;
pub mod shorts;
mod shown;
pub mod standing;
pub mod store;
mod table;
mod workbook;

use crate::ground::choice::choices;
use crate::ground::dates::{Day, Moment, TimeOfDay};
use crate::ground::ids::{
    EventId, MaterialId, OfferId, PlacedDeliveryId, PlacedLineId, PlacedOrderId, SupplierId,
};
use crate::ground::money::Money;
use crate::price_list::Unit;
use crate::stem_order::calendar::LocalTime;

/// One supplier's order, as placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedOrder {
    /// Its identity.
    pub id: PlacedOrderId,
    /// Its number, as on its paper.
    pub number: i64,
    /// With whom.
    pub supplier_id: SupplierId,
    /// Their name, as it was.
    pub supplier: String,
    /// The studio's account there, as it was.
    pub account: String,
    /// Whom to ask for.
    pub contact: String,
    /// Where orders are written to.
    pub email: String,
    /// Where they are rung.
    pub phone: String,
    /// The day it left the house.
    pub placed_on: Day,
    /// The moment it was recorded.
    pub recorded_at: Moment,
    /// What was added in words.
    pub note: String,
    /// For which events.
    pub events: Vec<EventId>,
    /// What comes when, by day.
    pub deliveries: Vec<PlacedDelivery>,
}

/// One delivery of a placed order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedDelivery {
    /// Its identity.
    pub id: PlacedDeliveryId,
    /// Of which order.
    pub order_id: PlacedOrderId,
    /// From whom.
    pub supplier_id: SupplierId,
    /// Their name, as it was.
    pub supplier: String,
    /// When it comes.
    pub day: Day,
    /// The last day on which it could be ordered, changed or cancelled.
    pub order_by_day: Day,
    /// The last hour on that day.
    pub order_by_time: TimeOfDay,
    /// Paid for the delivery.
    pub fee: Money,
    /// What is on it.
    pub lines: Vec<PlacedLine>,
}

/// Packs of one offer on a placed delivery.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedLine {
    /// Its identity.
    pub id: PlacedLineId,
    /// Which offer.
    pub offer_id: OfferId,
    /// Of what.
    pub material_id: MaterialId,
    /// Its name, as it was.
    pub name: String,
    /// Colour and grade, as they were.
    pub looks: String,
    /// In what it is counted.
    pub unit: Unit,
    /// What a pack is called.
    pub pack_name: String,
    /// How many are in it.
    pub pack_size: i64,
    /// How many packs were placed.
    pub packs: i64,
    /// The price of a pack when it was placed.
    pub price: Money,
    /// Why so many, in words.
    pub working: String,
    /// What is known since.
    pub answer: Option<Answered>,
    /// For whom.
    pub shares: Vec<PlacedShare>,
}

/// The latest that is known of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answered {
    /// Who spoke: the supplier, or the studio.
    pub kind: AnswerKind,
    /// Packs that will come.
    pub packs: i64,
    /// At which price a pack.
    pub price: Money,
    /// In words.
    pub note: String,
    /// When it was recorded.
    pub recorded_at: Moment,
}

choices! {
    /// Why a line is not as placed any more.
    AnswerKind {
        /// The supplier said what will come, and at what price.
        Confirmed "confirmed" "Confirmed"
        /// The studio took packs back.
        Cancelled "cancelled" "Cancelled"
    }
}

/// One thing that was said of a line, as recorded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// Its identity: later is larger.
    pub id: i64,
    /// The line's delivery.
    pub delivery_id: PlacedDeliveryId,
    /// Of which line.
    pub line_id: PlacedLineId,
    /// Who spoke; none where what was said before is taken back.
    pub kind: Option<AnswerKind>,
    /// Packs that will come.
    pub packs: i64,
    /// At which price a pack.
    pub price: Money,
    /// In words.
    pub note: String,
    /// When it was recorded.
    pub recorded_at: Moment,
}

/// Stems of a line that are meant for an event, and what it pays of the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlacedShare {
    /// Which event.
    pub event_id: EventId,
    /// How many.
    pub stems: i64,
    /// Its share of the line's goods; what is over in whole packs is paid by those who needed the line.
    pub goods: Money,
}

impl PlacedLine {
    /// Stems as placed.
    #[must_use]
    pub fn stems(&self) -> i64 {
        self.packs.saturating_mul(self.pack_size)
    }

    /// Goods as placed.
    #[must_use]
    pub fn goods(&self) -> Money {
        self.price.times(self.packs)
    }

    /// Packs that will come, as far as is known.
    #[must_use]
    pub fn expected_packs(&self) -> i64 {
        self.answer.as_ref().map_or(self.packs, |answer| answer.packs)
    }

    /// The price of a pack, as far as is known.
    #[must_use]
    pub fn expected_price(&self) -> Money {
        self.answer.as_ref().map_or(self.price, |answer| answer.price)
    }

    /// Stems that will come, as far as is known.
    #[must_use]
    pub fn expected_stems(&self) -> i64 {
        self.expected_packs().saturating_mul(self.pack_size)
    }

    /// What the line will cost, as far as is known.
    #[must_use]
    pub fn expected_goods(&self) -> Money {
        self.expected_price().times(self.expected_packs())
    }

    /// Packs that are left after the studio took some back, if its word is the latest.
    #[must_use]
    pub fn left_after_taking_back(&self) -> Option<i64> {
        self.answer.as_ref().filter(|answer| answer.kind == AnswerKind::Cancelled).map(|answer| answer.packs)
    }

    /// What each event may expect of the line and will pay for it. As placed where at least so many stems come as the events
    /// were promised; where fewer come they are split anew by largest remainder (C5).
    #[must_use]
    pub fn expected_shares(&self) -> Vec<PlacedShare> {
        shares::expected(&self.shares, self.expected_stems(), self.expected_goods())
    }
}

impl PlacedDelivery {
    /// Until when it could be ordered, changed or cancelled.
    #[must_use]
    pub fn order_by(&self) -> LocalTime {
        LocalTime { day: self.order_by_day, time: self.order_by_time }
    }

    /// Goods as placed.
    #[must_use]
    pub fn goods(&self) -> Money {
        self.lines.iter().map(PlacedLine::goods).sum()
    }

    /// Goods that will come, as far as is known.
    #[must_use]
    pub fn expected_goods(&self) -> Money {
        self.lines.iter().map(PlacedLine::expected_goods).sum()
    }

    /// Whether anything will come, as far as is known.
    #[must_use]
    pub fn comes(&self) -> bool {
        self.lines.iter().any(|line| line.expected_packs() > 0)
    }

    /// What will be paid for the delivery: nothing where nothing comes.
    #[must_use]
    pub fn expected_fee(&self) -> Money {
        if self.comes() { self.fee } else { Money::ZERO }
    }
}

impl PlacedOrder {
    /// All lines, by delivery.
    pub fn lines(&self) -> impl Iterator<Item = &PlacedLine> {
        self.deliveries.iter().flat_map(|delivery| &delivery.lines)
    }

    /// Goods and fees as placed.
    #[must_use]
    pub fn total(&self) -> Money {
        self.deliveries.iter().map(|delivery| delivery.goods() + delivery.fee).sum()
    }

    /// Goods and fees, as far as is known.
    #[must_use]
    pub fn expected_total(&self) -> Money {
        self.deliveries.iter().map(|delivery| delivery.expected_goods() + delivery.expected_fee()).sum()
    }

    /// What a part of it is called: `N° 12`.
    #[must_use]
    pub fn name(&self) -> String {
        format!("N°\u{a0}{}", self.number)
    }
}

/// What is to be placed, frozen: one order a supplier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPlacement {
    /// With a supplier's identity it makes an order's key: sent twice, placed once.
    pub once_key: String,
    /// The day.
    pub placed_on: Day,
    /// The moment.
    pub recorded_at: Moment,
    /// What is added in words.
    pub note: String,
    /// The orders.
    pub orders: Vec<NewOrder>,
}

/// One supplier's order, to be placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewOrder {
    /// With whom.
    pub supplier_id: SupplierId,
    /// Their name.
    pub supplier: String,
    /// The studio's account there.
    pub account: String,
    /// Whom to ask for.
    pub contact: String,
    /// Where orders are written to.
    pub email: String,
    /// Where they are rung.
    pub phone: String,
    /// For which events.
    pub events: Vec<EventId>,
    /// What comes when.
    pub deliveries: Vec<NewDelivery>,
}

/// One delivery, to be placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewDelivery {
    /// When it comes.
    pub day: Day,
    /// The last day for the order.
    pub order_by_day: Day,
    /// The last hour on that day.
    pub order_by_time: TimeOfDay,
    /// Paid for the delivery.
    pub fee: Money,
    /// What is on it.
    pub lines: Vec<NewLine>,
}

/// Packs of one offer, to be placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLine {
    /// Which offer.
    pub offer_id: OfferId,
    /// Of what.
    pub material_id: MaterialId,
    /// Its name.
    pub name: String,
    /// Colour and grade.
    pub looks: String,
    /// What a pack is called.
    pub pack_name: String,
    /// How many are in it.
    pub pack_size: i64,
    /// How many packs.
    pub packs: i64,
    /// The price of a pack.
    pub price: Money,
    /// Why so many, in words.
    pub working: String,
    /// For whom.
    pub shares: Vec<PlacedShare>,
}
