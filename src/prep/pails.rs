//! Pails and water by day (C9): what arrives stands in water until it is made up, and the cooler has room for so many.
//!
//! A material stands in its own pails: ceil(stems ÷ stems a pail), by the size of its heads; on each day from its arrival to
//! the last day on which the bench plan makes a piece from that delivery, both included. Stems that are used before the last of
//! those days still count: no day has fewer pails than it needs. What else takes room stands by itself (`beside`): what is
//! left over once the pieces are made, what lies on hand, and what comes for events of other weeks.
//!
//! *Laws:* pails hold all stems, and one pail fewer would not; one delivery more never makes fewer pails.
//!
//! May import: prep's plan and bench plan, `ground`, types of earlier rooms, `rust_decimal`.

pub mod beside;

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::bench_plan::BenchPlan;
use super::plan::{PrepInputs, Serves, arrivals};
use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::ground::ids::MaterialId;
use crate::ground::quantity::Quantity;
use crate::price_list::{HeadClass, Material, MaterialKind};
use crate::stem_order::windows::keeps_until;

/// How the studio stands its stems.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PailRule {
    /// Counts saves; 0 where nothing was typed.
    pub version: i64,
    /// Small heads a pail.
    pub small: i64,
    /// Medium heads a pail; also those of which nobody says how large they are.
    pub medium: i64,
    /// Large heads a pail.
    pub large: i64,
    /// Stems of foliage a pail.
    pub foliage: i64,
    /// Litres of water a pail.
    pub litres: Quantity,
    /// How many pails the cooler holds, if that is said.
    pub cooler: Option<i64>,
}

impl PailRule {
    /// What holds where nothing was typed. Common practice, no published source.
    pub const USUAL: PailRule = PailRule {
        version: 0,
        small: 50,
        medium: 30,
        large: 12,
        foliage: 30,
        litres: Quantity::whole(4),
        cooler: None,
    };

    /// Stems of a material a pail.
    #[must_use]
    pub fn stems(&self, material: &Material) -> i64 {
        let stems = match (material.kind, material.head_class) {
            (MaterialKind::Foliage, _) => self.foliage,
            (_, Some(HeadClass::Small)) => self.small,
            (_, Some(HeadClass::Large)) => self.large,
            (_, Some(HeadClass::Medium) | None) => self.medium,
        };
        stems.max(1)
    }
}

choices! {
    /// Why stems stand in water.
    Why {
        /// They arrive for these events.
        Arrives "arrives" ""
        /// They lie on hand for these events.
        OnHand "on_hand" "on hand"
        /// They came with whole packs, or nobody needs them any more.
        Over "over" "left over"
        /// They lie on hand, and these events do not take them.
        Lies "lies" "on hand, not for these events"
        /// They came for events of another week.
        Elsewhere "elsewhere" "for other weeks"
    }
}

/// Stems of one delivery or lot, in water.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InWater {
    /// Why.
    pub why: Why,
    /// Of what.
    pub material: MaterialId,
    /// Its name.
    pub name: String,
    /// How many.
    pub stems: i64,
    /// How many of them a pail holds.
    pub a_pail: i64,
    /// The day they arrive.
    pub from: Day,
    /// The last day on which a piece is made from them.
    pub to: Day,
}

/// The pails of one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PailDay {
    /// Which day.
    pub day: Day,
    /// All of them.
    pub pails: i64,
    /// Water in them.
    pub litres: Decimal,
    /// How many more than the cooler holds; none where nobody says how many that is.
    pub too_many: Option<i64>,
    /// What stands in them.
    pub lines: Vec<PailLine>,
}

/// One material's pails on one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PailLine {
    /// Why they stand there.
    pub why: Why,
    /// Of what.
    pub name: String,
    /// How many stems.
    pub stems: i64,
    /// How many of them a pail holds.
    pub a_pail: i64,
    /// How many pails.
    pub pails: i64,
}

/// What stands in water for a weekend: what arrives, what is over of it after the last make day, and what is taken from stock.
#[must_use]
pub fn in_water(inputs: &PrepInputs, plan: &BenchPlan, rule: &PailRule) -> Vec<InWater> {
    let weekend = &inputs.weekend;
    let (first, last) = days(inputs);
    let made_until = |serves: &[Serves]| serves.iter().map(|serves| plan.making_of(serves).1).max();
    let mut standing = Vec::new();
    for delivery in &plan.work.arrivals {
        let Some(material) = weekend.material(delivery.material) else { continue };
        let made = made_until(&delivery.serves);
        let to = made.unwrap_or(delivery.day).max(delivery.day);
        let arrives = if made.is_some() { Why::Arrives } else { Why::Over };
        standing.push(stands(material, (arrives, delivery.stems), (delivery.day, to), rule));
        let keeps = keeps_until(material, delivery.day).unwrap_or(last).min(last);
        standing.push(stands(material, (Why::Over, delivery.over), (to.plus(1), keeps), rule));
    }
    for taken in inputs.plan.iter().flat_map(|plan| &plan.from_stock) {
        let Some(material) = weekend.material(taken.material).filter(|known| known.is_fresh()) else {
            continue;
        };
        let made = made_until(&taken.serves).unwrap_or(last);
        standing.push(stands(material, (Why::OnHand, taken.stems), (taken.arrived.max(first), made), rule));
    }
    standing
}

/// The days that are told: from the first arrival, or the Monday of the first event, to the last event.
#[must_use]
pub fn days(inputs: &PrepInputs) -> (Day, Day) {
    let events = || inputs.weekend.events.iter().map(|event| event.event.day);
    let arrives = arrivals(inputs).into_iter().map(|delivery| delivery.day).min();
    let none = Day(jiff::civil::date(2000, 1, 1));
    let last = events().max().unwrap_or(none);
    let first = arrives.or_else(|| events().min().map(Day::monday)).unwrap_or(none);
    (first.min(last), last)
}

/// Stems of a material that stand in water for a reason from one day to another.
#[must_use]
pub fn stands(
    material: &Material,
    (why, stems): (Why, i64),
    (from, to): (Day, Day),
    rule: &PailRule,
) -> InWater {
    let (name, a_pail) = (material.name.clone(), rule.stems(material));
    InWater { why, material: material.id, name, stems, a_pail, from, to }
}

/// The pails of each day on which anything stands in water.
///
/// ```
/// use trug::ground::ids::MaterialId;
/// use trug::prep::pails::{InWater, PailRule, Why, pails};
/// let own = |name: &str, stems, a_pail| InWater {
///     why: Why::Arrives, material: MaterialId(a_pail), name: name.into(), stems, a_pail,
///     from: "2026-05-14".parse().unwrap(), to: "2026-05-15".parse().unwrap(),
/// };
/// // 107 medium heads at 30 a pail are 4 pails, 25 large ones at 12 are 3: 7 pails, 28 litres; the cooler holds 5.
/// let rule = PailRule { cooler: Some(5), ..PailRule::USUAL };
/// let days = pails(&[own("Rose", 107, 30), own("Hydrangea", 25, 12)], &rule);
/// assert_eq!((days.len(), days[0].pails, days[0].litres.to_string()), (2, 7, "28".into()));
/// assert_eq!(days[0].too_many, Some(2));
/// ```
#[must_use]
pub fn pails(standing: &[InWater], rule: &PailRule) -> Vec<PailDay> {
    let mut days: BTreeMap<Day, BTreeMap<(MaterialId, Why), PailLine>> = BTreeMap::new();
    for own in standing.iter().filter(|own| own.stems > 0) {
        let mut day = own.from;
        while day <= own.to {
            let lines = days.entry(day).or_default();
            let line = lines.entry((own.material, own.why)).or_insert_with(|| PailLine {
                why: own.why,
                name: own.name.clone(),
                stems: 0,
                a_pail: own.a_pail.max(1),
                pails: 0,
            });
            line.stems = line.stems.saturating_add(own.stems);
            line.pails = line.stems / line.a_pail + i64::from(line.stems % line.a_pail > 0);
            let next = day.plus(1);
            if next == day {
                break;
            }
            day = next;
        }
    }
    days.into_iter().map(|(day, lines)| one_day(day, lines.into_values().collect(), rule)).collect()
}

fn one_day(day: Day, mut lines: Vec<PailLine>, rule: &PailRule) -> PailDay {
    lines.sort_by_cached_key(|line| (line.why, line.name.to_lowercase()));
    let pails = lines.iter().fold(0_i64, |sum, line| sum.saturating_add(line.pails));
    let litres = Decimal::from(pails).saturating_mul(rule.litres.decimal()).normalize();
    let too_many = rule.cooler.map(|holds| pails.saturating_sub(holds).max(0));
    PailDay { day, pails, litres, too_many, lines }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::prep::freshness::lives::Climate;
    use crate::prep::plan::{Delivery, OrderedPlan, StockTaken};
    use crate::stem_order::samples;
    use crate::stem_order::weekend::{Weekend, WeekendEvent};
    use crate::studio::Studio;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn own((material, stems, from, length): (i64, i64, i64, i64)) -> InWater {
        let from = day("2026-05-11").plus(from);
        InWater {
            why: Why::Arrives,
            material: MaterialId(material),
            name: format!("Flower {material}"),
            stems,
            a_pail: 10 + material,
            from,
            to: from.plus(length),
        }
    }

    #[test]
    fn a_pail_holds_by_the_size_of_the_heads() {
        let rule = PailRule::USUAL;
        let headed = |head_class| Material { head_class, ..samples::flower(1, "Flower") };
        let stems = [HeadClass::Small, HeadClass::Medium, HeadClass::Large]
            .map(|class| rule.stems(&headed(Some(class))));
        assert_eq!((stems, rule.stems(&headed(None))), ([50, 30, 12], 30));
        assert_eq!(rule.stems(&samples::foliage(2, "Ruscus", 27)), 30);
    }

    fn serves(make_day: &str) -> Serves {
        Serves { material: MaterialId(1), event: 0, recipes: Vec::new(), make_day: day(make_day) }
    }

    /// 31 roses come on Wednesday for pieces of Thursday and Friday, eight of them over; six lie there since Sunday.
    fn inputs() -> PrepInputs {
        let supper = WeekendEvent {
            event: samples::event(1, "Supper", "2026-05-16"),
            counts: Vec::new(),
            make_days: BTreeMap::new(),
        };
        let weekend = Weekend {
            events: vec![supper],
            book: samples::book(Vec::new(), vec![samples::flower(1, "Rose")]),
            needs: Vec::new(),
            on_hand: BTreeMap::new(),
            open_counts: Vec::new(),
        };
        let delivery = Delivery {
            material: MaterialId(1),
            day: day("2026-05-13"),
            stems: 31,
            over: 8,
            packs: None,
            supplier: None,
            supplier_id: None,
            open: false,
            serves: vec![serves("2026-05-15"), serves("2026-05-14")],
            note: String::new(),
        };
        let lot = StockTaken {
            lot: crate::ground::ids::StockLotId(1),
            material: MaterialId(1),
            arrived: day("2026-05-10"),
            stems: 6,
            serves: vec![serves("2026-05-14")],
        };
        let plan =
            OrderedPlan { deliveries: vec![delivery], from_stock: vec![lot], ..OrderedPlan::default() };
        PrepInputs {
            weekend,
            pieces: Vec::new(),
            packs: std::collections::HashMap::new(),
            plan: Some(plan),
            undecided: false,
            climate: Climate::default(),
            bench: crate::prep::bench_plan::BenchInputs::default(),
        }
    }

    fn standing(inputs: &PrepInputs) -> Vec<InWater> {
        let plan = crate::prep::bench_plan::plan(inputs, &Studio::new_book().formats).unwrap();
        in_water(inputs, &plan, &PailRule::USUAL)
    }

    #[test]
    fn stems_stand_from_arrival_to_the_last_make_day_and_what_is_over_longer() {
        let days = pails(&standing(&inputs()), &PailRule::USUAL);
        let told: Vec<_> = days
            .iter()
            .flat_map(|at| at.lines.iter().map(|line| (at.day.to_string(), line.why, line.stems, line.pails)))
            .collect();
        let line = |on: &str, why, stems, pails| (format!("2026-05-{on}"), why, stems, pails);
        assert_eq!(
            told,
            [
                line("13", Why::Arrives, 31, 2),
                line("13", Why::OnHand, 6, 1),
                line("14", Why::Arrives, 31, 2),
                line("14", Why::OnHand, 6, 1),
                line("15", Why::Arrives, 31, 2),
                line("16", Why::Over, 8, 1),
            ]
        );
    }

    #[test]
    fn what_nobody_needs_any_more_is_left_over_from_the_first_day() {
        let mut inputs = inputs();
        if let Some(plan) = &mut inputs.plan {
            plan.deliveries[0].serves.clear();
        }
        let standing = standing(&inputs);
        assert_eq!((standing[0].why, standing[0].stems), (Why::Over, 31));
    }

    proptest! {
        #[test]
        fn pails_hold_all_stems_and_one_fewer_would_not(
            standing in prop::collection::vec((0_i64..5, 0_i64..300, 0_i64..6, 0_i64..5), 0..10),
            more in (0_i64..6, 0_i64..300, 0_i64..6, 0_i64..5),
            cooler in 0_i64..60,
        ) {
            let mut standing: Vec<InWater> = standing.into_iter().map(own).collect();
            let rule = PailRule { cooler: Some(cooler), ..PailRule::USUAL };
            let before = pails(&standing, &rule);
            for at in &before {
                for line in &at.lines {
                    prop_assert!(line.pails * line.a_pail >= line.stems && (line.pails - 1) * line.a_pail < line.stems);
                }
                prop_assert_eq!(at.pails, at.lines.iter().map(|line| line.pails).sum::<i64>());
                prop_assert_eq!(at.litres, Decimal::from(4 * at.pails));
                prop_assert_eq!(at.too_many, Some((at.pails - cooler).max(0)));
            }
            standing.push(own(more));
            let after = pails(&standing, &rule);
            for at in before {
                prop_assert!(after.iter().any(|later| later.day == at.day && later.pails >= at.pails));
            }
        }
    }
}
