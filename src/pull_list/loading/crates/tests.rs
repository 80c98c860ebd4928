use proptest::prelude::*;

use super::*;
use crate::ground::ids::CrateKindId;
use crate::ground::quantity::Length;

fn cm(length: i64) -> Length {
    Length::from_um(length * 10_000)
}

fn kind(id: i64, (length, width, height): (i64, i64, i64), most: i64) -> CrateKind {
    CrateKind {
        id: Some(CrateKindId(id)),
        name: format!("Crate {id}"),
        length: cm(length),
        width: cm(width),
        clear_height: cm(height),
        own_weight: Weight::from_grams(2_000),
        most_weight: Weight::from_grams(most),
        stackable: false,
    }
}

fn lot(id: i64, count: i64, (diameter, height, grams): (i64, i64, i64)) -> Lot {
    Lot {
        piece: PieceId(id),
        what: format!("Piece {id}"),
        place: "Room".into(),
        count,
        size: PieceSize {
            diameter: cm(diameter),
            height: cm(height),
            weight: Weight::from_grams(grams),
            water: Weight::default(),
            estimated: Vec::new(),
        },
    }
}

fn numbers(packed: &Packed) -> Vec<Vec<(usize, i64)>> {
    packed.crates.iter().map(|packed| packed.contents.clone()).collect()
}

#[test]
fn crates_fill_up_and_the_rest_shares_one() {
    // 56 × 36 cm holds 2 × 1 of 28 cm, 3 × 2 of 16 cm.
    let kinds = [kind(1, (56, 36, 30), 23_000)];
    let packed = pack(&kinds, &[lot(1, 7, (16, 20, 1_000)), lot(2, 3, (28, 25, 3_000))]);
    // The wide ones first; the second crate has one place left, which a narrow piece takes.
    assert_eq!(numbers(&packed), [vec![(1, 2)], vec![(1, 1), (0, 1)], vec![(0, 6)]]);
    assert_eq!(packed.crates[0].weight, Weight::from_grams(8_000));
    assert_eq!(packed.crates.iter().map(|packed| packed.number).collect::<Vec<_>>(), [1, 2, 3]);
}

#[test]
fn weight_fills_a_crate_before_its_places_do() {
    let kinds = [kind(1, (60, 40, 30), 23_000)];
    // Six have room, but four of 5 kg and the crate's own 2 kg are 22 kg.
    let packed = pack(&kinds, &[lot(1, 6, (20, 20, 5_000))]);
    assert_eq!(numbers(&packed), [vec![(0, 4)], vec![(0, 2)]]);
    assert!(packed.crates.iter().all(|packed| !packed.too_heavy));
    let heavy = pack(&kinds, &[lot(1, 2, (20, 20, 30_000)), lot(2, 1, (20, 20, 10))]);
    assert_eq!(numbers(&heavy), [vec![(0, 1)], vec![(0, 1)], vec![(1, 1)]]);
    assert!(heavy.crates[0].too_heavy && !heavy.crates[2].too_heavy);
}

#[test]
fn the_kind_with_the_least_floor_is_taken_and_what_fits_none_is_loose() {
    let kinds = [kind(1, (56, 36, 30), 23_000), kind(2, (36, 26, 60), 23_000)];
    let packed = pack(
        &kinds,
        &[
            lot(1, 2, (17, 20, 500)),
            lot(2, 1, (20, 50, 500)),
            lot(3, 1, (20, 90, 500)),
            lot(4, 2, (80, 20, 1)),
        ],
    );
    assert_eq!(packed.crates.iter().map(|packed| packed.kind).collect::<Vec<_>>(), [1, 1]);
    let loose: Vec<_> = packed.loose.iter().map(|loose| (loose.lot, loose.count, loose.why)).collect();
    assert_eq!(loose, [(2, 1, "too high for every crate"), (3, 2, "too wide for every crate")]);
    assert_eq!(pack(&[], &[lot(1, 1, (1, 1, 1))]).loose[0].why, "no crates are written down");
    assert_eq!(pack(&kinds, &[lot(1, 1_000_000_000, (1, 1, 1))]).loose[0].why, "too many pieces to lay out");
}

proptest! {
    #[test]
    fn all_pieces_are_somewhere_and_no_crate_is_too_heavy_unless_one_piece_is(
        lots in prop::collection::vec((0_i64..40, (4_i64..70, 5_i64..70, 10_i64..30_000)), 0..8),
        most in 3_000_i64..40_000,
    ) {
        let lots: Vec<Lot> = (1..).zip(lots).map(|(id, (count, size))| lot(id, count, size)).collect();
        let kinds = [kind(1, (56, 36, 30), most), kind(2, (70, 50, 45), most)];
        let packed = pack(&kinds, &lots);
        for (place, lot) in lots.iter().enumerate() {
            let in_crates = packed.crates.iter().flat_map(|packed| &packed.contents).filter(|(at, _)| *at == place);
            let loose = packed.loose.iter().filter(|loose| loose.lot == place).map(|loose| loose.count).sum::<i64>();
            prop_assert_eq!(in_crates.map(|(_, count)| count).sum::<i64>() + loose, lot.count);
        }
        for packed in &packed.crates {
            let kind = &kinds[packed.kind];
            let pieces = packed.contents.iter().map(|(at, count)| lots[*at].size.weight.times(*count).grams());
            prop_assert_eq!(packed.weight.grams(), kind.own_weight.grams() + pieces.sum::<i64>());
            prop_assert!(packed.weight <= kind.most_weight || (packed.too_heavy && packed.pieces() == 1));
            prop_assert!(packed.pieces() >= 1 && packed.pieces() <= packed.packing.count());
            // The rows are laid out for the widest in it.
            let widest = packed.contents.iter().map(|(at, _)| lots[*at].size.diameter.um()).max().unwrap();
            prop_assert_eq!(Some(packed.packing), best(kind.length.um(), kind.width.um(), widest));
            prop_assert!(packed.contents.iter().all(|(at, _)| lots[*at].size.height <= kind.clear_height));
        }
    }
}
