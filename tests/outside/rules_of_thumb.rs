//! Recipes against the trade's rules of thumb (common practice, no published source).

use std::collections::HashMap;

use rust_decimal::prelude::ToPrimitive;
use trug::ground::ids::MaterialId;
use trug::ground::quantity::{Length, Quantity};
use trug::price_list::MaterialKind::{Flower, Foliage};
use trug::recipes::Measure;
use trug::recipes::binding::{DEFAULT_CLEARANCE, Hold, hold, stems_in_vessel};
use trug::recipes::explosion::{Need, need};
use trug::stem_order::cutting::lay_out;

use crate::pieces::{Bench, PIECE};

const INCH: i64 = 25_400;

fn needs(count: i64) -> HashMap<MaterialId, Need> {
    let cut = Measure::Cut { quantity: Quantity::whole(12), length: Length::from_um(11 * INCH / 2) };
    let bench = Bench::default().count(Flower, 6_500, 0).line(Foliage, cut, (0, 1), None);
    let needs = need(&bench.book(0), &[(PIECE, count)]).unwrap();
    needs.into_iter().map(|(wanted, need)| (wanted.material, need)).collect()
}

/// 6 to 7 heads a piece, foliage cut 5 to 6 in, 4 to 5 pieces from a stem of 24 to 30 usable inches.
#[test]
fn fourteen_pieces_take_ninety_one_heads_and_forty_two_foliage_stems() {
    let needs = needs(14);
    assert_eq!(needs[&MaterialId(1)].count.to_i64(), Some(91));
    assert_eq!(needs[&MaterialId(1)].count.fract().to_i64(), Some(0));
    let cuts: Vec<(i64, u64)> = needs[&MaterialId(2)]
        .cuts
        .iter()
        .map(|(length, count)| (length.um(), count.to_u64().unwrap()))
        .collect();
    assert_eq!(cuts, [(11 * INCH / 2, 168)]);
    let layout = lay_out(27 * INCH, &cuts).unwrap();
    assert_eq!((layout.stock_pieces, layout.proven), (42, true));
}

/// Stems end an inch above the floor of a five-inch vessel; the second binding lies three to four inches under the heads.
#[test]
fn stems_in_a_five_inch_vessel_reach_the_second_binding() {
    assert_eq!(stems_in_vessel(5 * INCH, DEFAULT_CLEARANCE), Ok(4 * INCH));
    assert_eq!(hold(5 * INCH, DEFAULT_CLEARANCE, 3 * INCH), Ok(Hold::Holds { below: INCH }));
    assert_eq!(hold(5 * INCH, DEFAULT_CLEARANCE, 4 * INCH), Ok(Hold::Holds { below: 0 }));
    assert_eq!(hold(5 * INCH, DEFAULT_CLEARANCE, 9 * INCH / 2), Ok(Hold::FallsOpen { short_by: INCH / 2 }));
}

/// Away from a tap the water is taken along: cans weigh what their water weighs at 20 °C (0.9982 kg a litre) and their own.
#[test]
fn cans_of_water_weigh_what_the_tables_say() {
    use rust_decimal::Decimal;
    use trug::pull_list::loading::goods::{CAN_LITRES, cans};
    use trug::pull_list::vessel_water::needs_two_people;
    let all: i64 = cans(25).iter().map(|can| can.grams()).sum();
    // 25 × 998.2 g are 24 955 g; each of three cans is rounded up to the gram.
    assert!((24_955..=24_958).contains(&(all - 3 * 600)), "{all}");
    let full = cans(CAN_LITRES)[0];
    assert!(!needs_two_people(full.kilograms()) && needs_two_people(full.kilograms() * Decimal::from(3)));
}
