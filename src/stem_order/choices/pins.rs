//! A choice made by hand: which offers of the market are left.
//!
//! | in the address | leaves |
//! |---|---|
//! | `only-supplier:3:2` | of material 3 what supplier 2 sells |
//! | `not-supplier:3:2` | of material 3 what others sell |
//! | `without:2` | nothing of supplier 2 |
//! | `only-offer:7`, `not-offer:7` | of the offer's material this pack, or the others |
//! | `only-day:3:2026-05-14`, `not-day:…` | of material 3 what comes on that day, or on others |
//!
//! Several "only" of one kind for one material leave any of them; otherwise each narrows what the others leave.
//!
//! May import `ground`, and the room's own market.

use std::fmt;
use std::str::FromStr;

use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, OfferId, SupplierId};
use crate::price_list::Offer;
use crate::stem_order::posed::Market;

/// More choices than this in one address are left aside.
pub const MOST_PINS: usize = 40;

/// One choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pin {
    /// A material from this supplier only.
    OnlySupplier(MaterialId, SupplierId),
    /// A material not from this supplier.
    NotSupplier(MaterialId, SupplierId),
    /// Nothing from this supplier.
    Without(SupplierId),
    /// The offer's material in this pack only.
    OnlyOffer(OfferId),
    /// Not this pack.
    NotOffer(OfferId),
    /// A material on this delivery day only.
    OnlyDay(MaterialId, Day),
    /// A material not on this delivery day.
    NotDay(MaterialId, Day),
}

/// The choices of an address.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Pins {
    /// Each once, in the order of the address.
    pub list: Vec<Pin>,
    /// How many could not be read.
    pub unread: usize,
}

impl Pins {
    /// Reads the values of an address. What makes no sense is counted and left aside.
    #[must_use]
    pub fn read(values: &[String]) -> Pins {
        let mut pins = Pins::default();
        for value in values.iter().filter(|value| !value.trim().is_empty()) {
            match value.parse() {
                Ok(pin) if pins.list.contains(&pin) => {}
                Ok(pin) if pins.list.len() < MOST_PINS => pins.list.push(pin),
                _ => pins.unread += 1,
            }
        }
        pins
    }

    /// With one choice more.
    #[must_use]
    pub fn with(&self, pin: Pin) -> Pins {
        let mut more = self.clone();
        if !more.list.contains(&pin) {
            more.list.push(pin);
        }
        more
    }

    /// With one choice let go.
    #[must_use]
    pub fn but(&self, pin: Pin) -> Pins {
        let list = self.list.iter().copied().filter(|other| *other != pin).collect();
        Pins { list, unread: 0 }
    }
}

impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Pin::OnlySupplier(material, supplier) => write!(f, "only-supplier:{material}:{supplier}"),
            Pin::NotSupplier(material, supplier) => write!(f, "not-supplier:{material}:{supplier}"),
            Pin::Without(supplier) => write!(f, "without:{supplier}"),
            Pin::OnlyOffer(offer) => write!(f, "only-offer:{offer}"),
            Pin::NotOffer(offer) => write!(f, "not-offer:{offer}"),
            Pin::OnlyDay(material, day) => write!(f, "only-day:{material}:{day}"),
            Pin::NotDay(material, day) => write!(f, "not-day:{material}:{day}"),
        }
    }
}

/// The text is no choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoPin;

impl FromStr for Pin {
    type Err = NoPin;

    fn from_str(text: &str) -> Result<Pin, NoPin> {
        let parts: Vec<&str> = text.trim().split(':').collect();
        match parts.as_slice() {
            ["only-supplier", material, supplier] => Ok(Pin::OnlySupplier(part(material)?, part(supplier)?)),
            ["not-supplier", material, supplier] => Ok(Pin::NotSupplier(part(material)?, part(supplier)?)),
            ["without", supplier] => Ok(Pin::Without(part(supplier)?)),
            ["only-offer", offer] => Ok(Pin::OnlyOffer(part(offer)?)),
            ["not-offer", offer] => Ok(Pin::NotOffer(part(offer)?)),
            ["only-day", material, day] => Ok(Pin::OnlyDay(part(material)?, part(day)?)),
            ["not-day", material, day] => Ok(Pin::NotDay(part(material)?, part(day)?)),
            _ => Err(NoPin),
        }
    }
}

fn part<T: FromStr>(text: &str) -> Result<T, NoPin> {
    text.parse().map_err(|_| NoPin)
}

/// The market with what the choices leave. Its days stay, empty ones too.
#[must_use]
pub fn narrowed(market: &Market, pins: &[Pin]) -> Market {
    let mut left = market.clone();
    for (day, offers) in &mut left.offers {
        offers.retain(|offer| allowed(market, pins, offer, *day));
    }
    left
}

/// Whether a choice is about anything that could be bought: the others say nothing about this order.
#[must_use]
pub fn concerns(pin: Pin, market: &Market) -> bool {
    let mut all =
        market.offers.iter().flat_map(|(day, offers)| offers.iter().map(move |offer| (*day, offer)));
    all.any(|(day, offer)| match pin {
        Pin::OnlySupplier(material, supplier) | Pin::NotSupplier(material, supplier) => {
            offer.material_id == material && offer.supplier_id == supplier
        }
        Pin::Without(supplier) => offer.supplier_id == supplier,
        Pin::OnlyOffer(id) | Pin::NotOffer(id) => offer.id == id,
        Pin::OnlyDay(material, on) | Pin::NotDay(material, on) => offer.material_id == material && day == on,
    })
}

/// The material that a choice is about; none where it is about a supplier as such.
#[must_use]
pub fn material_of(pin: Pin, market: &Market) -> Option<MaterialId> {
    match pin {
        Pin::OnlySupplier(material, _)
        | Pin::NotSupplier(material, _)
        | Pin::OnlyDay(material, _)
        | Pin::NotDay(material, _) => Some(material),
        Pin::Without(_) => None,
        Pin::OnlyOffer(id) | Pin::NotOffer(id) => offer(market, id).map(|offer| offer.material_id),
    }
}

/// An offer of the market.
#[must_use]
pub fn offer(market: &Market, id: OfferId) -> Option<&Offer> {
    market.offers.values().flatten().find(|offer| offer.id == id)
}

fn allowed(market: &Market, pins: &[Pin], offer: &Offer, day: Day) -> bool {
    let of_it = || pins.iter().copied().filter(|pin| material_of(*pin, market) == Some(offer.material_id));
    let suppliers = of_it().filter_map(|pin| match pin {
        Pin::OnlySupplier(_, supplier) => Some(supplier == offer.supplier_id),
        _ => None,
    });
    let packs = of_it().filter_map(|pin| match pin {
        Pin::OnlyOffer(id) => Some(id == offer.id),
        _ => None,
    });
    let days = of_it().filter_map(|pin| match pin {
        Pin::OnlyDay(_, on) => Some(on == day),
        _ => None,
    });
    let refused = pins.iter().any(|pin| match *pin {
        Pin::NotSupplier(material, supplier) => {
            material == offer.material_id && supplier == offer.supplier_id
        }
        Pin::Without(supplier) => supplier == offer.supplier_id,
        Pin::NotOffer(id) => id == offer.id,
        Pin::NotDay(material, on) => material == offer.material_id && on == day,
        Pin::OnlySupplier(..) | Pin::OnlyOffer(_) | Pin::OnlyDay(..) => false,
    });
    !refused && any_or_none(suppliers) && any_or_none(packs) && any_or_none(days)
}

/// Whether one of them holds, or there is none.
fn any_or_none(mut holds: impl Iterator<Item = bool>) -> bool {
    holds.next().is_none_or(|first| first || holds.any(|other| other))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;
    use crate::stem_order::samples::{offer as sold, supplier};

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn market() -> Market {
        let offers = vec![
            sold(1, 1, 1, 25, 3_100),
            sold(2, 1, 1, 100, 11_500),
            sold(3, 2, 1, 12, 1_500),
            sold(4, 2, 2, 10, 900),
        ];
        Market {
            suppliers: vec![supplier(1, "A"), supplier(2, "B")],
            offers: BTreeMap::from([(day("2026-05-13"), offers.clone()), (day("2026-05-14"), offers)]),
            ..Market::default()
        }
    }

    fn left(pins: &[&str]) -> Vec<(i64, u8)> {
        let pins: Vec<String> = pins.iter().map(|pin| (*pin).to_owned()).collect();
        let left = narrowed(&market(), &Pins::read(&pins).list);
        let mut left: Vec<(i64, u8)> = left
            .offers
            .iter()
            .flat_map(|(day, offers)| offers.iter().map(|offer| (offer.id.0, day.weekday_index())))
            .collect();
        left.sort_unstable();
        left
    }

    fn ids(pins: &[&str]) -> Vec<i64> {
        let mut ids: Vec<i64> = left(pins).into_iter().map(|(id, _)| id).collect();
        ids.dedup();
        ids
    }

    #[test]
    fn each_choice_leaves_what_it_says() {
        assert_eq!(ids(&[]), [1, 2, 3, 4]);
        assert_eq!(ids(&["only-supplier:1:1"]), [1, 2, 4]);
        assert_eq!(ids(&["not-supplier:1:1"]), [3, 4]);
        assert_eq!(ids(&["without:2"]), [1, 2]);
        assert_eq!(ids(&["only-offer:2"]), [2, 4]);
        assert_eq!(ids(&["not-offer:2"]), [1, 3, 4]);
        assert_eq!(left(&["only-day:1:2026-05-14", "without:2"]), [(1, 3), (2, 3)]);
        assert_eq!(left(&["not-day:1:2026-05-14", "only-offer:1", "without:2"]), [(1, 2)]);
    }

    #[test]
    fn two_of_a_kind_leave_either_and_two_kinds_leave_both() {
        assert_eq!(ids(&["only-offer:1", "only-offer:3"]), [1, 3, 4]);
        assert_eq!(ids(&["only-offer:1", "only-supplier:1:2"]), [4]);
    }

    #[test]
    fn what_makes_no_sense_is_counted_and_left_aside() {
        let values = ["", "only-offer:x", "<script>", "only-supplier:1", "not-offer:7", "not-offer:7"];
        let pins = Pins::read(&values.map(str::to_owned));
        assert_eq!((pins.list, pins.unread), (vec![Pin::NotOffer(OfferId(7))], 3));
        let many: Vec<String> = (0..60).map(|id| format!("not-offer:{id}")).collect();
        assert_eq!(Pins::read(&many).unread, 20);
        assert!(!concerns(Pin::NotOffer(OfferId(7)), &market()));
        assert!(concerns(Pin::NotOffer(OfferId(3)), &market()));
    }

    fn any_pin() -> impl Strategy<Value = Pin> {
        let (material, supplier, offer) = (1_i64..4, 1_i64..4, 1_i64..6);
        let on = prop::sample::select(vec![day("2026-05-13"), day("2026-05-14"), day("2026-05-15")]);
        (0_u8..7, material, supplier, offer, on).prop_map(|(kind, material, supplier, offer, on)| {
            let (material, supplier, offer) = (MaterialId(material), SupplierId(supplier), OfferId(offer));
            match kind {
                0 => Pin::OnlySupplier(material, supplier),
                1 => Pin::NotSupplier(material, supplier),
                2 => Pin::Without(supplier),
                3 => Pin::OnlyOffer(offer),
                4 => Pin::NotOffer(offer),
                5 => Pin::OnlyDay(material, on),
                _ => Pin::NotDay(material, on),
            }
        })
    }

    proptest! {
        /// A choice is read as it was written, and only ever narrows: nothing comes in that was not there.
        #[test]
        fn choices_are_read_back_and_only_narrow(pins in prop::collection::vec(any_pin(), 0..5)) {
            for pin in &pins {
                prop_assert_eq!(pin.to_string().parse::<Pin>(), Ok(*pin));
            }
            let all = market();
            let left = narrowed(&all, &pins);
            prop_assert!(left.offers.keys().eq(all.offers.keys()));
            for (day, offers) in &left.offers {
                prop_assert!(offers.iter().all(|offer| all.offers[day].iter().any(|other| other.id == offer.id)));
            }
        }
    }
}
