//! The bench's and the shelf's rules against the trade's rules of thumb (all common practice, no published source).

use rust_decimal::Decimal;
use trug::ground::dates::Day;
use trug::prep::plan::CUT_KEEPS_HOURS;
use trug::price_list::{Care, CareSource};
use trug::pull_list::pull::VESSEL_FILL;
use trug::pull_list::usual_kit::usual_kit;
use trug::stem_order::windows::{conditioning_days, first_cutting_day, make_day};

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// Cut foliage keeps about 24 hours in a bag somewhere cool: it is cut on the last day before use, never earlier.
#[test]
fn foliage_is_cut_no_earlier_than_a_day_before_it_is_placed() {
    assert_eq!(CUT_KEEPS_HOURS, 24);
    let made = make_day(day("2026-05-16"), 24);
    assert_eq!(made, day("2026-05-15"));
    assert_eq!(first_cutting_day(made, CUT_KEEPS_HOURS), day("2026-05-14"));
}

/// Thirsty woody-stemmed heads stand in deep water overnight before use.
#[test]
fn thirsty_heads_stand_overnight() {
    let overnight = Care {
        conditioning_minutes: 10,
        hydrate_hours: 12,
        opening_days: 0,
        holding_days: Some(6),
        storage_celsius: None,
        vase_days: None,
        cut_keeps_hours: None,
        source: CareSource::Own,
    };
    assert_eq!(conditioning_days(&overnight, false), 1, "for a bench day before the event");
    assert_eq!(conditioning_days(&overnight, true), 1, "for the event's own day");
}

/// Vessels are filled from half to three quarters with water.
#[test]
fn vessels_are_filled_from_half_to_three_quarters() {
    assert!((Decimal::new(5, 1)..=Decimal::new(75, 2)).contains(&VESSEL_FILL));
}

/// Vessels travel on a non-slip liner; away from a tap a can goes along.
#[test]
fn the_usual_kit_takes_a_liner_and_a_can() {
    let kit = usual_kit();
    assert!(
        kit.iter().any(|item| item.name.contains("liner"))
            && kit.iter().any(|item| item.name.contains("can,"))
    );
}

/// Buttonholes and corsages are made last, on the day or the evening before.
#[test]
fn what_holds_less_than_a_day_is_made_on_the_day() {
    assert_eq!(make_day(day("2026-05-16"), 8), day("2026-05-16"));
}
