//! A crate seen from above, and a van's floor: pictures to scale, a millimetre a unit.

use super::super::crates::{Lot, PackedCrate};
use super::super::sheet::{Freight, LoadSheet};
use super::super::vans::Trip;
use super::super::{CrateKind, Van};

/// The fills in the order in which they are given out: light ones first, so that outlines show.
const TONES: [usize; 6] = [5, 4, 6, 3, 2, 1];

/// Text in a picture is at most this share of its longer side.
const TEXT: i64 = 8;

/// A crate from above.
pub(super) struct CratePicture {
    pub(super) length: i64,
    pub(super) width: i64,
    pub(super) circles: Vec<Circle>,
    pub(super) words: String,
}

/// One piece in it.
pub(super) struct Circle {
    pub(super) x: i64,
    pub(super) y: i64,
    pub(super) r: i64,
    pub(super) tone: usize,
    pub(super) label: usize,
    pub(super) size: i64,
}

/// A van's floor, its bulkhead at the left.
pub(super) struct VanPicture {
    pub(super) length: i64,
    pub(super) width: i64,
    pub(super) stacks: Vec<Stack>,
    pub(super) words: String,
}

/// One stack on it.
pub(super) struct Stack {
    pub(super) x: i64,
    pub(super) y: i64,
    pub(super) depth: i64,
    pub(super) breadth: i64,
    pub(super) tone: usize,
    /// What stands in it, by line: how far down its middle is, and the words.
    pub(super) lines: Vec<(i64, String)>,
    pub(super) size: i64,
}

const fn millimetres(micrometres: i64) -> i64 {
    micrometres / 1_000
}

/// The picture of a crate; its legend's numbers are those of its contents.
pub(super) fn of_crate(kind: &CrateKind, lots: &[Lot], packed: &PackedCrate) -> CratePicture {
    let (length, width) = (millimetres(kind.length.um()), millimetres(kind.width.um()));
    let mut circles = Vec::new();
    let mut number = 0;
    for (label, (lot, count)) in (1..).zip(&packed.contents) {
        let r = lots.get(*lot).map_or(0, |lot| millimetres(lot.size.diameter.um()) / 2);
        for _ in 0..*count {
            let spot = packed.packing.spot(number);
            number += 1;
            circles.push(Circle {
                x: millimetres(spot.x),
                y: millimetres(spot.y),
                r,
                tone: TONES[(label - 1) % TONES.len()],
                label,
                size: (r * 5 / 4).min(length / TEXT).max(1),
            });
        }
    }
    let words = format!("{} from above: {} pieces {}", kind.name, packed.pieces(), packed.packing.words());
    CratePicture { length, width, circles, words }
}

/// The picture of a van's floor on one trip.
pub(super) fn of_van(van: &Van, trip: &Trip, sheet: &LoadSheet) -> VanPicture {
    let length = millimetres(van.length.um());
    let stack = |standing: &super::super::vans::Standing| {
        let labels: Vec<String> =
            standing.cargo.iter().filter_map(|own| Some(short(sheet.freight.get(*own)?, sheet))).collect();
        let drop = standing.cargo.first().and_then(|own| sheet.freight.get(*own)).map_or(0, Freight::drop);
        let (depth, breadth) = (millimetres(standing.depth), millimetres(standing.breadth));
        let (lines, size) = lines(&together(&labels), (depth, breadth), length / TEXT * 2 / 5);
        let half = i64::try_from(lines.len()).unwrap_or(i64::MAX).saturating_sub(1);
        let middle = |at: i64| millimetres(standing.y) + breadth / 2 + (2 * at - half) * size * 5 / 8;
        let lines = (0..).zip(lines).map(|(at, words)| (middle(at), words)).collect();
        Stack {
            x: millimetres(standing.x),
            y: millimetres(standing.y),
            depth,
            breadth,
            tone: TONES[drop % TONES.len()],
            lines,
            size,
        }
    };
    let stacks: Vec<Stack> = trip.stacks.iter().map(stack).collect();
    let words = format!(
        "{} from above, bulkhead at the left: {} stacks, the first loaded at the bulkhead",
        van.name,
        stacks.len()
    );
    VanPicture { length, width: millimetres(van.width.um()), stacks, words }
}

/// Words on as many lines as make the letters largest, no larger than `most`, in a place so wide and so high.
fn lines(words: &[String], (width, height): (i64, i64), most: i64) -> (Vec<String>, i64) {
    let letters = |line: &String| i64::try_from(line.chars().count()).unwrap_or(i64::MAX).max(1);
    let of = |on_a_line: usize| {
        let lines: Vec<String> = words.chunks(on_a_line).map(|line| line.join(", ")).collect();
        let longest = lines.iter().map(letters).max().unwrap_or(1);
        let count = i64::try_from(lines.len()).unwrap_or(i64::MAX).max(1);
        // A letter is about three fifths of its size wide; lines stand five fourths of it apart, and leave an edge.
        let size =
            most.min(width * 5 / longest.saturating_mul(3)).min(height * 4 / (count + 1).saturating_mul(5));
        (lines, size.max(1))
    };
    // Of equals the fewest lines.
    let all = (1..=words.len().max(1)).map(of);
    all.reduce(|best, next| if next.1 >= best.1 { next } else { best }).unwrap_or_default()
}

/// What stands on one another in few words, so that they can be read: `K1–K5` for five in order, said once where it is the same.
fn together(labels: &[String]) -> Vec<String> {
    let follows = |one: &String, next: &String| {
        let number = |label: &str| label.trim_start_matches('K').parse::<i64>().ok();
        one.starts_with('K') == next.starts_with('K')
            && number(one).zip(number(next)).is_some_and(|(one, next)| next - one == 1)
    };
    let mut words: Vec<String> = Vec::new();
    for run in labels.chunk_by(follows) {
        match run {
            [first, .., last] if run.len() > 2 => words.push(format!("{first}–{last}")),
            few => words.extend(few.iter().cloned()),
        }
    }
    words.dedup();
    words
}

/// `3` for a crate, `K1` for one of kit and goods, `W` for water, `L` for what is loose.
fn short(freight: &Freight, sheet: &LoadSheet) -> String {
    match freight {
        Freight::Crate(drop, at) => {
            let packed = sheet.drops.get(*drop).and_then(|drop| drop.packed.crates.get(*at));
            packed.map_or_else(String::new, |packed| packed.number.to_string())
        }
        Freight::Goods(_, at) => format!("K{}", at + 1),
        Freight::Can(..) => "W".into(),
        Freight::Loose(..) | Freight::LooseGoods(..) => "L".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stand_on_as_many_lines_as_make_them_largest() {
        let words: Vec<String> = ["K1", "K4", "K3", "K2"].map(str::to_owned).into();
        let of = |width, height| lines(&words, (width, height), 160);
        assert_eq!(of(1_600, 400), (vec!["K1, K4, K3, K2".to_owned()], 160));
        assert_eq!(of(400, 600), (vec!["K1, K4".to_owned(), "K3, K2".into()], 111));
        assert_eq!(of(160, 1_200).0.len(), 4);
        assert_eq!(lines(&["7".into()], (400, 400), 160), (vec!["7".to_owned()], 160));
    }

    #[test]
    fn labels_of_a_stack_are_few_letters() {
        for (labels, words) in [
            ("K1 K2 K3 K4 K5", "K1–K5"),
            ("7 8", "7, 8"),
            ("3 4 5 9", "3–5, 9"),
            ("9 K10 K11", "9, K10, K11"),
            ("W W", "W"),
            ("3 2 1", "3, 2, 1"),
            ("", ""),
        ] {
            let labels: Vec<String> = labels.split_whitespace().map(str::to_owned).collect();
            assert_eq!(together(&labels).join(", "), words);
        }
    }
}
