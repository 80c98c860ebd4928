use proptest::prelude::*;

use super::*;
use crate::ground::quantity::Quantity;

fn kind(stackable: bool) -> CrateKind {
    CrateKind {
        id: None,
        name: "Crate".into(),
        length: Length::from_um(500_000),
        width: Length::from_um(400_000),
        clear_height: Length::from_um(250_000),
        own_weight: Weight::from_grams(2_000),
        most_weight: Weight::from_grams(23_000),
        stackable,
    }
}

fn line(count: i64, grams: i64, millilitres: i64) -> PullLine {
    let (weight, litres) = (Weight::from_grams(grams), Quantity::from_raw(millilitres));
    PullLine {
        key: String::new(),
        count,
        unit: String::new(),
        name: "Thing".into(),
        kind: "Tool".into(),
        comes_back: false,
        two_people: false,
        note: String::new(),
        working: String::new(),
        room: Some(Room { weight, litres, estimated: true }),
    }
}

#[test]
fn a_crate_takes_six_tenths_of_its_inside_and_its_weight() {
    // 5 × 4 × 2.5 dm = 50 l, of which 30 are used.
    assert_eq!(usable(&kind(true)), 30_000);
    let packed = pack_goods(&[kind(false), kind(true)], &[line(4, 500, 2_000), line(2, 1_000, 12_000)]);
    // The large ones first, 24 l; three small ones beside them, the last in a second crate.
    assert_eq!(packed.crates.len(), 2);
    assert_eq!((packed.crates[0].kind, &packed.crates[0].contents), (1, &vec![(1, 2), (0, 3)]));
    assert_eq!(packed.crates[0].weight, Weight::from_grams(2_000 + 2_000 + 1_500));
    assert_eq!(packed.crates[1].contents, [(0, 1)]);
    let heavy = pack_goods(&[kind(true)], &[line(3, 11_000, 1_000)]);
    assert_eq!(heavy.crates.len(), 3, "one of 11 kg beside 2 kg of crate is all that 23 kg allow");
}

#[test]
fn what_no_crate_takes_stands_loose() {
    let packed =
        pack_goods(&[kind(true)], &[line(2, 20_000, 9_000), line(1, 6_000, 60_000), line(2, 22_000, 4_000)]);
    assert_eq!(packed.crates.len(), 2);
    assert_eq!(packed.loose, [LooseGoods { line: 1, count: 1 }, LooseGoods { line: 2, count: 2 }]);
    assert_eq!(pack_goods(&[], &[line(2, 1, 1)]).loose, [LooseGoods { line: 0, count: 2 }]);
    assert_eq!(pack_goods(&[kind(true)], &[line(100_000, 1, 1)]).loose.len(), 1, "too many to lay out");
    assert_eq!(
        pack_goods(&[kind(true)], &[PullLine { room: None, ..line(2, 1, 1) }]),
        PackedGoods::default()
    );
}

#[test]
fn cubes_are_whole_millimetres_up() {
    assert_eq!(cube_side(Quantity::from_raw(1)), Length::from_um(10_000));
    assert_eq!(cube_side(Quantity::from_raw(60_000)), Length::from_um(392_000));
    assert!(cube_side(Quantity::from_raw(i64::MAX)).um() > 0);
}

proptest! {
    #[test]
    fn everything_is_packed_once_and_no_crate_is_too_full(
        things in prop::collection::vec((0_i64..30, 1_i64..30_000, 1_i64..50_000), 0..12),
    ) {
        let kinds = [kind(true)];
        let lines: Vec<PullLine> = things.iter().map(|(count, grams, litres)| line(*count, *grams, *litres)).collect();
        let packed = pack_goods(&kinds, &lines);
        for (at, own) in lines.iter().enumerate() {
            let inside: i64 =
                packed.crates.iter().flat_map(|own| &own.contents).filter(|(line, _)| *line == at).map(|(_, count)| count).sum();
            let loose: i64 = packed.loose.iter().filter(|loose| loose.line == at).map(|loose| loose.count).sum();
            prop_assert_eq!(inside + loose, own.count);
        }
        for own in &packed.crates {
            prop_assert!(own.weight <= kinds[0].most_weight && own.filled <= usable(&kinds[0]));
            let weighed = own.contents.iter().fold(kinds[0].own_weight, |sum, (at, count)| sum.plus(Weight::from_grams(things[*at].1).times(*count)));
            prop_assert_eq!(own.weight, weighed);
        }
    }

    /// More litres never weigh less, and every litre is carried.
    #[test]
    fn cans_carry_every_litre(litres in 0_i64..400) {
        let weighs = |litres| cans(litres).iter().map(|can| can.grams()).sum::<i64>();
        prop_assert!(weighs(litres + 1) > weighs(litres));
        let own = i64::try_from(cans(litres).len()).unwrap() * 600;
        let water = weighs(litres) - own;
        prop_assert!(water * 10 >= litres * 9_982 && water * 10 < litres * 9_982 + 20);
    }
}
