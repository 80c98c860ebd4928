//! What an event's materials were planned to cost and did cost: its part of each placed line (C5), what it took from stock, and
//! what no order holds, as the recipes say.
//!
//! May import: `rust_decimal`, `ground`, plain values of the stages before and of this room.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::Stems;
use super::variance::Amount;
use crate::ground::ids::{EventId, MaterialId, RecipeId};
use crate::ground::largest_remainder::split_by;
use crate::ground::money::Money;
use crate::ground::quantity::Quantity;
use crate::recipes::cost::{Costing, PiecePrice};
use crate::stem_order::placing::{PlacedLine, PlacedShare};

/// What became of a placed line.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Became {
    /// Stems that came good and that came lost; none while it is not counted in.
    pub counted: Option<(i64, i64)>,
    /// Stems left over that went into stock and that were thrown away; none while nobody said.
    pub left: Option<(i64, i64)>,
}

/// An event's part of a placed line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bought {
    /// As it was placed.
    pub planned: Amount,
    /// As it came, at the confirmed price, without what went into stock.
    pub actual: Amount,
    /// Of what came, dead or broken.
    pub lost: i64,
    /// Of what was left over, thrown away.
    pub thrown: i64,
}

/// What an event took from stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FromStock {
    /// Of what.
    pub material: MaterialId,
    /// How many.
    pub count: i64,
    /// Pack price and size of the line it was left over from, where that is known.
    pub paid: Option<(Money, i64)>,
}

/// An event's part of a placed line, if it has any. An event pays for the stems that it was meant to have and for its part of what is
/// over in whole packs, so stems are split as the goods are, by largest remainder (C5).
///
/// Planned: packs × price as placed. Actual: what came, good or lost, at the confirmed price; what never came is not paid; more than
/// was expected is not paid for either; while it is not counted, what was confirmed. What went into stock is taken off at the price
/// that was paid.
#[must_use]
pub fn bought(line: &PlacedLine, became: Became, event: EventId) -> Option<Bought> {
    let at = line.shares.iter().position(|share| share.event_id == event)?;
    let weights = weights(&line.shares);
    let part = |whole: i64| split_by(whole, &weights).get(at).copied().unwrap_or_default();
    let (came, lost) =
        became.counted.map_or((line.expected_stems(), 0), |(good, lost)| (good.saturating_add(lost), lost));
    let paid = in_proportion(line.expected_goods(), came.min(line.expected_stems()), line.expected_stems());
    let (stocked, thrown) = became.left.unwrap_or_default();
    let stocked = stocked.min(came);
    let kept = paid - in_proportion(paid, stocked, came);
    Some(Bought {
        planned: Amount::whole(part(line.stems()), Money::from_minor(part(line.goods().minor()))),
        actual: Amount::whole(part(came - stocked), Money::from_minor(part(kept.minor()))),
        lost: part(lost),
        thrown: part(thrown),
    })
}

/// By what a line is split: what each event pays; by stems where nobody pays.
fn weights(shares: &[PlacedShare]) -> Vec<u64> {
    let goods: Vec<u64> =
        shares.iter().map(|share| u64::try_from(share.goods.minor()).unwrap_or(0)).collect();
    if goods.iter().any(|weight| *weight > 0) {
        return goods;
    }
    let stems: Vec<u64> = shares.iter().map(|share| u64::try_from(share.stems).unwrap_or(0)).collect();
    if stems.iter().any(|weight| *weight > 0) { stems } else { vec![1; shares.len()] }
}

/// amount × part ÷ whole, rounded half up once; nothing of nothing.
fn in_proportion(amount: Money, part: i64, whole: i64) -> Money {
    if whole <= 0 || part <= 0 {
        return Money::ZERO;
    }
    Money::rounded(amount.decimal() * (Decimal::from(part) / Decimal::from(whole)))
}

/// An event's part of a delivery's fee, among the events of its order by what each pays of the goods (C5).
#[must_use]
pub fn fee_part(fee: Money, goods: &[(EventId, Money)], event: EventId) -> Money {
    let Some(at) = goods.iter().position(|(id, _)| *id == event) else { return Money::ZERO };
    let paid: Vec<u64> = goods.iter().map(|(_, goods)| u64::try_from(goods.minor()).unwrap_or(0)).collect();
    let weights = if paid.iter().any(|paid| *paid > 0) { paid } else { vec![1; goods.len()] };
    Money::from_minor(split_by(fee.minor(), &weights).get(at).copied().unwrap_or_default())
}

/// What pieces call for by their recipes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Called {
    /// Of each material: stems, pieces or rolls with their usual loss, and what they cost.
    pub materials: BTreeMap<MaterialId, Amount>,
    /// The same without loss, recipe by recipe.
    pub bare: BTreeMap<MaterialId, BTreeMap<RecipeId, Decimal>>,
    /// Bench minutes.
    pub minutes: Decimal,
    /// Labour at the studio's rate.
    pub labour: Decimal,
    /// Materials without a price.
    pub unpriced: Vec<MaterialId>,
    /// How many recipes could not be reckoned.
    pub broken: usize,
}

/// What so many pieces of each recipe call for, at the prices of one day (C4); what is bought once an event is bought once.
#[must_use]
pub fn called(costing: &Costing, counts: &BTreeMap<RecipeId, i64>) -> Called {
    let mut called = Called::default();
    let mut costs: BTreeMap<MaterialId, (Decimal, Decimal)> = BTreeMap::new();
    for (recipe, count) in counts.iter().filter(|(_, count)| **count > 0) {
        match costing.piece(*recipe, *count) {
            Ok(piece) => call(&mut called, &mut costs, (*recipe, *count), &piece),
            Err(_) => called.broken += 1,
        }
    }
    for (material, (quantity, cost)) in costs {
        let amount = Amount { quantity: thousandths(quantity), cost: Money::rounded(cost) };
        called.materials.insert(material, amount);
    }
    called.unpriced.sort_unstable();
    called.unpriced.dedup();
    called
}

fn call(
    called: &mut Called,
    costs: &mut BTreeMap<MaterialId, (Decimal, Decimal)>,
    (recipe, count): (RecipeId, i64),
    piece: &PiecePrice,
) {
    let count = Decimal::from(count);
    called.minutes += piece.minutes * count;
    called.labour += piece.labour * count;
    called.unpriced.extend(&piece.unpriced);
    for line in &piece.lines {
        let sum = costs.entry(line.material).or_default();
        let kept = (Decimal::ONE - line.loss.decimal()).max(Decimal::new(1, 1));
        sum.0 += line.quantity * count / kept;
        sum.1 += line.cost * count;
        *called.bare.entry(line.material).or_default().entry(recipe).or_default() += line.quantity * count;
    }
}

/// A decimal as thousandths, rounded half up; the end of the range stays the end.
#[must_use]
pub fn thousandths(number: Decimal) -> Quantity {
    let raw = (number * Decimal::ONE_THOUSAND)
        .round_dp_with_strategy(0, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    Quantity::from_raw(i64::try_from(raw).unwrap_or(i64::MAX))
}

/// Stems of all an event's fresh lines together.
#[must_use]
pub fn stems(bought: &[Bought], from_stock: i64, bench: i64) -> Stems {
    let sum = |of: fn(&Bought) -> i64| bought.iter().map(of).fold(0, i64::saturating_add);
    let came = sum(|one| one.actual.quantity.raw() / 1000);
    Stems {
        bought: came.saturating_add(from_stock),
        lost: sum(|one| one.lost),
        bench,
        thrown: sum(|one| one.thrown),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::stem_order::samples;

    /// So many packs of 10 at 10.00, for events 1, 2 … with stems and goods each.
    fn line(packs: i64, shares: &[(i64, i64)]) -> PlacedLine {
        let share = |(id, (stems, goods)): (i64, &(i64, i64))| PlacedShare {
            event_id: EventId(id),
            stems: *stems,
            goods: Money::from_minor(*goods),
        };
        let shares = (1..).zip(shares).map(share).collect();
        PlacedLine {
            packs,
            pack_size: 10,
            price: Money::from_minor(1_000),
            shares,
            ..samples::placed_line(packs, &[(1, 1)])
        }
    }

    #[test]
    fn what_came_as_planned_costs_as_planned() {
        let line = line(10, &[(60, 6_250), (36, 3_750)]);
        let part = bought(&line, Became { counted: Some((100, 0)), left: None }, EventId(1)).unwrap();
        // 62.5 : 37.5 of 100 stems; the halves are equal, so the first has the odd one.
        assert_eq!(part.planned, part.actual);
        assert_eq!(part.planned, Amount::whole(63, Money::from_minor(6_250)));
        assert_eq!(bought(&line, Became::default(), EventId(9)), None);
    }

    #[test]
    fn what_never_came_is_not_paid_and_what_went_into_stock_is_taken_off() {
        let line = line(10, &[(80, 10_000)]);
        let short = Became { counted: Some((70, 10)), left: Some((20, 5)) };
        let part = bought(&line, short, EventId(1)).unwrap();
        // 80 of 100 came: 80.00; 20 of them went into stock: 60.00 is left.
        assert_eq!(part.actual, Amount::whole(60, Money::from_minor(6_000)));
        assert_eq!((part.lost, part.thrown), (10, 5));
    }

    proptest! {
        /// Whatever comes, the events' parts add up to what the line comes to.
        #[test]
        fn parts_of_a_line_tie(
            shares in prop::collection::vec((0_i64..300, 0_i64..20_000), 1..5), packs in 1_i64..60,
            counted in prop::option::of((0_i64..700, 0_i64..50)), left in prop::option::of((0_i64..80, 0_i64..80)),
        ) {
            let line = line(packs, &shares);
            let parts: Vec<Bought> = (1..).zip(&shares)
                .filter_map(|(id, _)| bought(&line, Became { counted, left }, EventId(id))).collect();
            prop_assert_eq!(parts.iter().map(|part| part.planned.cost).sum::<Money>(), line.goods());
            let paid: Money = parts.iter().map(|part| part.actual.cost).sum();
            prop_assert!(Money::ZERO <= paid && paid <= line.goods());
            let stems: i64 = parts.iter().map(|part| part.actual.quantity.raw() / 1000).sum();
            let came = counted.map_or(packs * 10, |(good, lost)| good + lost);
            prop_assert_eq!(stems, came - left.map_or(0, |(stocked, _)| stocked).min(came));
        }

        /// The events' parts of a fee add up to it.
        #[test]
        fn a_fee_is_paid_once(fee in 0_i64..50_000, goods in prop::collection::vec(0_i64..90_000, 1..6)) {
            let goods: Vec<_> = (1..).zip(goods).map(|(id, goods)| (EventId(id), Money::from_minor(goods))).collect();
            let sum: Money = goods.iter().map(|(id, _)| fee_part(Money::from_minor(fee), &goods, *id)).sum();
            prop_assert_eq!(sum, Money::from_minor(fee));
        }
    }
}
