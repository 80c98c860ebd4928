//! Lent pieces that did not come back whole, as lines of an invoice: what of the event's charges no invoice has yet.
//!
//! May import: plain values of the ground, the loans' charges, the room's own lines.

use std::collections::BTreeMap;

use super::document::TaxPart;
use super::drawing_up::Extra;
use crate::ground::ids::MaterialId;
use crate::ground::money::Money;
use crate::pull_list::loans::charges::Charge;

/// Pieces of one material that an invoice charges, or is to charge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Charged {
    /// Which material.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// How many.
    pub pieces: i64,
    /// For how much each.
    pub each: Money,
}

impl Charged {
    /// Pieces × price.
    #[must_use]
    pub fn amount(&self) -> Money {
        self.each.times(self.pieces)
    }
}

/// What is still to be charged, and what was charged too much.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ToCharge {
    /// Pieces lost that no invoice has, by name.
    pub open: Vec<Charged>,
    /// Pieces that an invoice has and that were found since: they are credited.
    pub too_many: Vec<Charged>,
}

impl ToCharge {
    /// What the open pieces come to.
    #[must_use]
    pub fn total(&self) -> Money {
        self.open.iter().map(Charged::amount).sum()
    }
}

/// Holds the charges of the latest count against what invoices have charged (those credited whole are not among them):
/// a material's pieces lost − pieces charged, at the price of the latest count; found again, at the price at which they
/// were charged.
#[must_use]
pub fn to_charge(lost: &[Charge], charged: &[Charged]) -> ToCharge {
    let mut before: BTreeMap<MaterialId, Charged> = BTreeMap::new();
    for row in charged {
        before.entry(row.material).and_modify(|sum| sum.pieces += row.pieces).or_insert_with(|| row.clone());
    }
    let mut due = ToCharge::default();
    for charge in lost {
        let had = before.remove(&charge.id);
        let pieces = charge.broken + charge.missing - had.as_ref().map_or(0, |had| had.pieces);
        if pieces > 0 {
            let name = charge.material.clone();
            due.open.push(Charged { material: charge.id, name, pieces, each: charge.each });
        } else if let Some(had) = had.filter(|_| pieces < 0) {
            due.too_many.push(Charged { pieces: -pieces, ..had });
        }
    }
    due.too_many.extend(before.into_values());
    due
}

/// The lines of the invoice: a material each, all at one tax rate.
#[must_use]
pub fn lines(open: &[Charged], tax: &TaxPart) -> Vec<Extra> {
    let line = |one: &Charged| Extra {
        name: format!("{}, not returned whole", one.name),
        count: one.pieces,
        price: one.each,
        tax: tax.clone(),
    };
    open.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::accounts::drawing_up::extras;
    use crate::accounts::samples;

    fn charge(material: i64, (broken, missing): (i64, i64), each: i64) -> Charge {
        let each = Money::from_minor(each);
        let (id, name) = (MaterialId(material), format!("Urn {material}"));
        Charge { id, material: name, broken, missing, each, amount: each.times(broken + missing) }
    }

    fn charged(material: i64, pieces: i64, each: i64) -> Charged {
        let name = format!("Urn {material}");
        Charged { material: MaterialId(material), name, pieces, each: Money::from_minor(each) }
    }

    #[test]
    fn what_an_invoice_has_is_not_charged_again() {
        let charges = [charge(1, (2, 1), 1_800), charge(2, (0, 2), 50)];
        let first = to_charge(&charges, &[]);
        assert_eq!(first.open, [charged(1, 3, 1_800), charged(2, 2, 50)]);
        assert_eq!(first.total(), Money::from_minor(5_500));
        assert_eq!(to_charge(&charges, &first.open), ToCharge::default());
        // One more is missed later, one of the others turns up.
        let later = to_charge(&[charge(1, (2, 2), 2_000), charge(2, (0, 1), 50)], &first.open);
        assert_eq!((later.open, later.too_many), (vec![charged(1, 1, 2_000)], vec![charged(2, 1, 50)]));
        // All was found.
        assert_eq!(to_charge(&[], &first.open).too_many.len(), 2);
    }

    proptest! {
        /// Charged before + still to charge − too much = lost, a material at a time; and the lines come to the total.
        #[test]
        fn pieces_tie(rows in proptest::collection::vec((0_i64..20, 0_i64..20, 0_i64..30, 1_i64..9_000), 1..6)) {
            let charges: Vec<Charge> = (1..).zip(&rows)
                .filter(|(_, (broken, missing, ..))| broken + missing > 0)
                .map(|(id, (broken, missing, _, each))| charge(id, (*broken, *missing), *each)).collect();
            let before: Vec<Charged> = (1..).zip(&rows).filter(|(_, (_, _, pieces, _))| *pieces > 0)
                .map(|(id, (_, _, pieces, each))| charged(id, *pieces, *each)).collect();
            let due = to_charge(&charges, &before);
            for (id, (broken, missing, pieces, _)) in (1..).zip(&rows) {
                let of = |list: &[Charged]| -> i64 {
                    list.iter().filter(|one| one.material == MaterialId(id)).map(|one| one.pieces).sum()
                };
                prop_assert_eq!(pieces + of(&due.open) - of(&due.too_many), broken + missing);
            }
            let tax = TaxPart::of(&samples::rates()[0]);
            prop_assert_eq!(extras(&lines(&due.open, &tax), true).total, due.total());
        }
    }
}
