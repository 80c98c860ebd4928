//! Materials, suppliers and what each asks for each pack; price history; import and export.
//! May import `ground`, `db`, `web`, `studio`.

pub mod calendar_words;
pub mod care_table;
pub mod entries;
pub mod file;
pub mod forms;
pub mod pages;
pub mod price_history;
pub mod stem_cost;
pub mod store;

use rust_decimal::Decimal;

use crate::ground::caution::Cautions;
use crate::ground::choice::choices;
use crate::ground::dates::{Day, Season, TimeOfDay, Weekdays};
use crate::ground::ids::{MaterialId, OfferId, SupplierId};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Share};

choices! {
    /// What a material is.
    MaterialKind {
        /// A cut flower.
        Flower "flower" "Flower"
        /// Cut green.
        Foliage "foliage" "Foliage"
        /// What holds water and flowers.
        Vessel "vessel" "Vessel"
        /// What lifts a piece.
        Stand "stand" "Stand"
        /// Candles and votives.
        Candle "candle" "Candle"
        /// What holds the flowers: pins, wire, tape, netting.
        Mechanics "mechanics" "Mechanics"
        /// Ribbon, picks, cards and the like.
        Sundry "sundry" "Sundry"
    }
}

choices! {
    /// In what a material is counted.
    Unit {
        /// One cut flower or branch.
        Stem "stem" "Stem"
        /// One piece.
        Each "each" "Each"
        /// A roll, to be cut to lengths.
        Roll "roll" "Roll"
    }
}

impl Unit {
    /// What so many of it are called: `1 stem`, `3 pieces` without the number.
    #[must_use]
    pub const fn words(self, count: i64) -> &'static str {
        match (self, count) {
            (Unit::Stem, 1) => "stem",
            (Unit::Stem, _) => "stems",
            (Unit::Each, 1) => "piece",
            (Unit::Each, _) => "pieces",
            (Unit::Roll, 1) => "roll",
            (Unit::Roll, _) => "rolls",
        }
    }
}

choices! {
    /// How large a flower's head is, which decides how many stand in a pail.
    HeadClass {
        /// Such as freesia.
        Small "small" "Small"
        /// Such as a rose.
        Medium "medium" "Medium"
        /// Such as a hydrangea.
        Large "large" "Large"
    }
}

choices! {
    /// Where a material's care data come from.
    CareSource {
        /// The studio's own experience.
        Own "own" "Our own"
        /// A published table.
        Published "published" "Published"
        /// Recalled, not read: to be checked by the studio.
        Memory "memory" "From memory, please check"
    }
}

/// Which part of a price a material belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CostKind {
    /// Flowers and foliage.
    Fresh,
    /// Vessels, stands, candles that stay with the client.
    HardGoods,
    /// Mechanics and sundries.
    Sundries,
    /// What comes back: a loan fee, no cost of the thing itself.
    Loan,
}

/// Anything a recipe can call for.
#[derive(Debug, Clone)]
pub struct Material {
    /// Its identity.
    pub id: MaterialId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Its name, alone of its kind.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// Its colour, in words.
    pub colour: String,
    /// Its grade, such as `60 cm`.
    pub grade: String,
    /// In what it is counted.
    pub unit: Unit,
    /// How large its head is.
    pub head_class: Option<HeadClass>,
    /// The length that can be cut from one stem or roll.
    pub usable_length: Option<Length>,
    /// The share usually lost; empty is the studio's usual loss.
    pub loss: Option<Share>,
    /// Where it is bought by preference.
    pub preferred_supplier_id: Option<SupplierId>,
    /// A vessel's inner height.
    pub inner_height: Option<Length>,
    /// A vessel's inner diameter.
    pub inner_diameter: Option<Length>,
    /// Whether it comes back after the event.
    pub loaned: bool,
    /// How many the studio owns, of what is loaned.
    pub owned: i64,
    /// What a loan of one is charged.
    pub loan_fee: Money,
    /// One spare for each started so many; 0 is none.
    pub spare_per: i64,
    /// Care of what is fresh.
    pub care: Care,
    /// Where it can hurt someone.
    pub cautions: Cautions,
    /// What to remember.
    pub note: String,
}

/// How a fresh material is treated, and how long it lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Care {
    /// Minutes to condition one bunch.
    pub conditioning_minutes: i64,
    /// Hours in water before it may be used.
    pub hydrate_hours: i64,
    /// Days until a bud is open.
    pub opening_days: i64,
    /// Days it keeps in storage, after arrival.
    pub holding_days: Option<i64>,
    /// At which temperature.
    pub storage_celsius: Option<i64>,
    /// Days in a vase at 20 °C.
    pub vase_days: Option<i64>,
    /// Hours it keeps once cut to pieces.
    pub cut_keeps_hours: Option<i64>,
    /// Where these figures come from.
    pub source: CareSource,
}

impl Material {
    /// Whether it wilts.
    #[must_use]
    pub fn is_fresh(&self) -> bool {
        matches!(self.kind, MaterialKind::Flower | MaterialKind::Foliage)
    }

    /// Which part of a price it belongs to.
    #[must_use]
    pub fn cost_kind(&self) -> CostKind {
        match self.kind {
            MaterialKind::Flower | MaterialKind::Foliage => CostKind::Fresh,
            _ if self.loaned => CostKind::Loan,
            MaterialKind::Vessel | MaterialKind::Stand | MaterialKind::Candle => CostKind::HardGoods,
            MaterialKind::Mechanics | MaterialKind::Sundry => CostKind::Sundries,
        }
    }
}

/// A wholesaler or grower.
#[derive(Debug, Clone)]
pub struct Supplier {
    /// Its identity.
    pub id: SupplierId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Its name.
    pub name: String,
    /// Whom to ask for.
    pub contact: String,
    /// Where orders are written to.
    pub email: String,
    /// Where it is rung.
    pub phone: String,
    /// The studio's account there.
    pub account: String,
    /// On which weekdays it delivers.
    pub delivery_weekdays: Weekdays,
    /// Orders close so many days before the delivery.
    pub cutoff_days: i64,
    /// At this hour.
    pub cutoff_time: TimeOfDay,
    /// For each delivery.
    pub delivery_fee: Money,
    /// Goods of at least so much are delivered free.
    pub fee_waived_over: Option<Money>,
    /// Goods of at least so much, or no delivery.
    pub least_order: Money,
    /// What to remember.
    pub note: String,
}

/// A pack of one material from one supplier, with its price on a day.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Its identity.
    pub id: OfferId,
    /// Whose it is.
    pub supplier_id: SupplierId,
    /// Of what.
    pub material_id: MaterialId,
    /// What the pack is called: bunch, box, roll.
    pub pack_name: String,
    /// How many stems (pieces, rolls) are in it.
    pub pack_size: i64,
    /// At least so many packs, if any.
    pub least_packs: i64,
    /// At most so many packs a delivery.
    pub most_packs: Option<i64>,
    /// In which months it is offered.
    pub season: Season,
    /// The price of a pack.
    pub price: Money,
    /// Since when that price holds.
    pub from_day: Day,
}

/// What one of a material costs on a day, and whose price that is.
#[derive(Debug, Clone)]
pub struct UnitCost {
    /// Which offer.
    pub offer_id: OfferId,
    /// Whose.
    pub supplier_id: SupplierId,
    /// Their name.
    pub supplier_name: String,
    /// What the pack is called.
    pub pack_name: String,
    /// How many are in it.
    pub pack_size: i64,
    /// What it costs.
    pub pack_price: Money,
    /// Since when.
    pub from_day: Day,
}

impl UnitCost {
    /// Pack price ÷ pack size, in minor units, unrounded.
    #[must_use]
    pub fn each(&self) -> Decimal {
        self.pack_price.decimal() / Decimal::from(self.pack_size.max(1))
    }
}
