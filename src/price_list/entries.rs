//! What is written into the price list before it has an identity: a material, a supplier, an offer, a price.
//! Plain values; forms, the file import and the demo make them, the store keeps them.

use super::{Care, CareSource, HeadClass, Material, MaterialKind, Supplier, Unit};
use crate::ground::caution::Cautions;
use crate::ground::dates::{Day, Moment, Season, TimeOfDay, Weekdays};
use crate::ground::ids::{MaterialId, OfferId, OfferPriceId, SupplierId};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Share};

/// A material as typed in. The fields are those of [`Material`].
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct NewMaterial {
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

impl NewMaterial {
    /// A material of which nothing more is known yet: one spare for each started 20, no care data.
    ///
    /// ```
    /// use trug::price_list::entries::NewMaterial;
    /// use trug::price_list::{MaterialKind, Unit};
    /// let rose = NewMaterial::named("Rose, ivory", MaterialKind::Flower, Unit::Stem);
    /// assert_eq!((rose.spare_per, rose.care.holding_days), (20, None));
    /// ```
    #[must_use]
    pub fn named(name: &str, kind: MaterialKind, unit: Unit) -> NewMaterial {
        NewMaterial {
            name: name.to_owned(),
            kind,
            colour: String::new(),
            grade: String::new(),
            unit,
            head_class: None,
            usable_length: None,
            loss: None,
            preferred_supplier_id: None,
            inner_height: None,
            inner_diameter: None,
            loaned: false,
            owned: 0,
            loan_fee: Money::ZERO,
            spare_per: 20,
            care: Care::UNKNOWN,
            cautions: Cautions::default(),
            note: String::new(),
        }
    }
}

impl Care {
    /// Nothing known.
    pub const UNKNOWN: Care = Care {
        conditioning_minutes: 0,
        hydrate_hours: 0,
        opening_days: 0,
        holding_days: None,
        storage_celsius: None,
        vase_days: None,
        cut_keeps_hours: None,
        source: CareSource::Own,
    };
}

impl From<&Material> for NewMaterial {
    fn from(m: &Material) -> NewMaterial {
        NewMaterial {
            name: m.name.clone(),
            kind: m.kind,
            colour: m.colour.clone(),
            grade: m.grade.clone(),
            unit: m.unit,
            head_class: m.head_class,
            usable_length: m.usable_length,
            loss: m.loss,
            preferred_supplier_id: m.preferred_supplier_id,
            inner_height: m.inner_height,
            inner_diameter: m.inner_diameter,
            loaned: m.loaned,
            owned: m.owned,
            loan_fee: m.loan_fee,
            spare_per: m.spare_per,
            care: m.care,
            cautions: m.cautions,
            note: m.note.clone(),
        }
    }
}

/// A supplier as typed in. The fields are those of [`Supplier`].
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct NewSupplier {
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
    /// On which weekdays it delivers; none where the studio fetches and nothing can be planned.
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

impl From<&Supplier> for NewSupplier {
    fn from(s: &Supplier) -> NewSupplier {
        NewSupplier {
            name: s.name.clone(),
            contact: s.contact.clone(),
            email: s.email.clone(),
            phone: s.phone.clone(),
            account: s.account.clone(),
            delivery_weekdays: s.delivery_weekdays,
            cutoff_days: s.cutoff_days,
            cutoff_time: s.cutoff_time,
            delivery_fee: s.delivery_fee,
            fee_waived_over: s.fee_waived_over,
            least_order: s.least_order,
            note: s.note.clone(),
        }
    }
}

/// A pack of one material from one supplier, as typed in, without its price.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct NewOffer {
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
}

/// A price of a pack with the days on which it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct NewPrice {
    /// Its first day.
    pub from_day: Day,
    /// Its last day; open where empty.
    pub until_day: Option<Day>,
    /// The price of one pack.
    pub price: Money,
}

/// One entry of an offer's price history.
#[derive(Debug, Clone)]
pub struct PriceEntry {
    /// Its identity.
    pub id: OfferPriceId,
    /// Of which offer.
    pub offer_id: OfferId,
    /// Its first day.
    pub from_day: Day,
    /// Its last day; open where empty.
    pub until_day: Option<Day>,
    /// The price of one pack.
    pub price: Money,
    /// When it was written down.
    pub recorded_at: Moment,
}

/// An offer with its names and the price that holds on the day asked for, whether in season or not.
#[derive(Debug, Clone)]
pub struct ListedOffer {
    /// Its identity.
    pub id: OfferId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// Whose it is.
    pub supplier_id: SupplierId,
    /// Their name.
    pub supplier: String,
    /// Of what.
    pub material_id: MaterialId,
    /// Its name.
    pub material: String,
    /// What the pack is called.
    pub pack_name: String,
    /// How many are in it.
    pub pack_size: i64,
    /// At least so many packs, if any.
    pub least_packs: i64,
    /// At most so many packs a delivery.
    pub most_packs: Option<i64>,
    /// In which months it is offered.
    pub season: Season,
    /// The price on that day, if one holds.
    pub price: Option<Money>,
    /// Since when.
    pub from_day: Option<Day>,
    /// Until when, if that is known.
    pub until_day: Option<Day>,
}

impl From<&ListedOffer> for NewOffer {
    fn from(offer: &ListedOffer) -> NewOffer {
        NewOffer {
            supplier_id: offer.supplier_id,
            material_id: offer.material_id,
            pack_name: offer.pack_name.clone(),
            pack_size: offer.pack_size,
            least_packs: offer.least_packs,
            most_packs: offer.most_packs,
            season: offer.season,
        }
    }
}
