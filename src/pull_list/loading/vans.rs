//! What goes into a van, in which order, and in how many trips (C9).
//!
//! Crates stand on the floor in rows across the van, from the bulkhead to the doors, in the order in which they are
//! loaded: the last drop first, so that the first one comes off first. Crates of one kind and drop that may be stacked
//! stand on one another as high as the van is. What does not fit by floor or by payload goes with the next trip; the
//! first drops travel first. Rows and not a cleverer puzzle: what fits so can be loaded so.
//!
//! *Laws:* nothing overlaps or stands outside; no trip carries more than the payload; everything travels once, or is
//! named as too large.
//!
//! May import: this room's types, `ground`.

use super::Van;
use crate::ground::quantity::Length;
use crate::ground::weight::Weight;

/// Something that stands on the floor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cargo {
    /// At which drop it comes off, from 0.
    pub drop: usize,
    /// Only what is of one form may be stacked.
    pub form: usize,
    /// Along, outside.
    pub length: Length,
    /// Across, outside.
    pub width: Length,
    /// Upwards, outside.
    pub height: Length,
    /// With everything in it.
    pub weight: Weight,
    /// Whether its like may stand on it.
    pub stackable: bool,
}

/// Where a stack stands on the floor, in micrometres from the bulkhead and from the left wall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// What stands there, by place in the cargo, from the foot up.
    pub cargo: Vec<usize>,
    /// From the bulkhead.
    pub x: i64,
    /// From the left wall.
    pub y: i64,
    /// Towards the doors.
    pub depth: i64,
    /// Across.
    pub breadth: i64,
}

/// One drive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trip {
    /// What stands where, in the order of loading.
    pub stacks: Vec<Standing>,
    /// All of it together.
    pub weight: Weight,
}

/// How a van carries everything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VanLoad {
    /// One drive after the other.
    pub trips: Vec<Trip>,
    /// What it cannot carry at all, by place in the cargo.
    pub too_large: Vec<usize>,
}

/// Loads a van with cargo that is given in the order of the drops.
#[must_use]
pub fn load(van: &Van, cargo: &[Cargo]) -> VanLoad {
    let (mut trips, mut too_large, mut waiting) = (Vec::new(), Vec::new(), Vec::new());
    for place in 0..cargo.len() {
        match trip(van, cargo, &[place]) {
            Some(_) => waiting.push(place),
            None => too_large.push(place),
        }
    }
    let mut rest = waiting.as_slice();
    while !rest.is_empty() {
        let mut taken = 1;
        let mut fits = trip(van, cargo, &rest[..1]);
        while let Some(more) = rest.get(..=taken).and_then(|more| trip(van, cargo, more)) {
            (fits, taken) = (Some(more), taken + 1);
        }
        trips.extend(fits);
        rest = &rest[taken..];
    }
    VanLoad { trips, too_large }
}

/// These at once, if they fit.
fn trip(van: &Van, cargo: &[Cargo], places: &[usize]) -> Option<Trip> {
    let weight = places.iter().fold(Weight::default(), |sum, place| sum.plus(cargo[*place].weight));
    if weight > van.payload {
        return None;
    }
    let mut stacks = Vec::new();
    let mut row = Row::default();
    for stack in stacked(van, cargo, places) {
        let (depth, breadth) = turned(van, &cargo[*stack.first()?])?;
        if row.breadth + breadth > van.width.um() {
            row = Row { x: row.x + row.depth, depth: 0, breadth: 0 };
        }
        if row.x + depth > van.length.um() {
            return None;
        }
        stacks.push(Standing { cargo: stack, x: row.x, y: row.breadth, depth, breadth });
        row.depth = row.depth.max(depth);
        row.breadth += breadth;
    }
    Some(Trip { stacks, weight })
}

#[derive(Default)]
struct Row {
    x: i64,
    depth: i64,
    breadth: i64,
}

/// The last first; what may stand on its like does, the heaviest at the foot.
fn stacked(van: &Van, cargo: &[Cargo], places: &[usize]) -> Vec<Vec<usize>> {
    let mut stacks: Vec<Vec<usize>> = Vec::new();
    for place in places.iter().rev() {
        let own = &cargo[*place];
        let takes = |stack: &Vec<usize>| {
            let like = |at: &usize| {
                let below = &cargo[*at];
                below.stackable && (below.form, below.drop) == (own.form, own.drop)
            };
            let high =
                stack.iter().fold(own.height.um(), |sum, at| sum.saturating_add(cargo[*at].height.um()));
            own.stackable && stack.iter().all(like) && high <= van.height.um()
        };
        match stacks.iter_mut().find(|stack| takes(stack)) {
            Some(stack) => stack.push(*place),
            None => stacks.push(vec![*place]),
        }
    }
    for stack in &mut stacks {
        stack.sort_by_key(|place| (std::cmp::Reverse(cargo[*place].weight), *place));
    }
    stacks
}

/// Depth and breadth in the better of both directions: more of it on the floor; none where it does not fit alone.
fn turned(van: &Van, own: &Cargo) -> Option<(i64, i64)> {
    if own.height > van.height {
        return None;
    }
    let (length, width) = (own.length.um().max(1), own.width.um().max(1));
    let count =
        |(depth, breadth): (i64, i64)| (van.length.um() / depth).saturating_mul(van.width.um() / breadth);
    let ways = [(length, width), (width, length)].into_iter().filter(|way| count(*way) > 0);
    // The first of equals.
    ways.reduce(|best, next| if count(next) > count(best) { next } else { best })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::ground::ids::VanId;

    fn cm(length: i64) -> Length {
        Length::from_um(length * 10_000)
    }

    fn van(length: i64, width: i64, kilograms: i64) -> Van {
        Van {
            id: Some(VanId(1)),
            name: "Van".into(),
            length: cm(length),
            width: cm(width),
            height: cm(130),
            payload: Weight::from_grams(kilograms * 1_000),
        }
    }

    fn crate_of(drop: usize, (length, width, height): (i64, i64, i64), grams: i64, stackable: bool) -> Cargo {
        Cargo {
            drop,
            form: usize::try_from((length * 1_000 + width) * 1_000 + height).unwrap(),
            length: cm(length),
            width: cm(width),
            height: cm(height),
            weight: Weight::from_grams(grams),
            stackable,
        }
    }

    fn order(trip: &Trip) -> Vec<Vec<usize>> {
        trip.stacks.iter().map(|stack| stack.cargo.clone()).collect()
    }

    #[test]
    fn the_last_drop_goes_in_first() {
        // 120 cm across: two crates of 60 a row, or three of 40.
        let cargo: Vec<Cargo> = (0..5).map(|drop| crate_of(drop / 2, (60, 40, 30), 10_000, false)).collect();
        let load = load(&van(180, 120, 500), &cargo);
        assert_eq!(load.trips.len(), 1);
        assert_eq!(order(&load.trips[0]), [[4], [3], [2], [1], [0]]);
        assert_eq!(load.trips[0].weight, Weight::from_grams(50_000));
    }

    #[test]
    fn floor_and_payload_make_trips_and_the_first_drops_travel_first() {
        let cargo: Vec<Cargo> = (0..7).map(|drop| crate_of(drop, (60, 40, 30), 10_000, false)).collect();
        let by_floor = load(&van(80, 120, 500), &cargo);
        assert_eq!(
            by_floor.trips.iter().map(order).collect::<Vec<_>>(),
            [vec![vec![3], vec![2], vec![1], vec![0]], vec![vec![6], vec![5], vec![4]],]
        );
        let by_weight = load(&van(800, 120, 25), &cargo);
        assert_eq!(by_weight.trips.len(), 4);
    }

    #[test]
    fn crates_are_stacked_where_they_may_be_and_the_heavy_one_is_at_the_foot() {
        let mut cargo: Vec<Cargo> = (0..4).map(|_| crate_of(0, (60, 40, 40), 10_000, true)).collect();
        cargo[1].weight = Weight::from_grams(20_000);
        let load = load(&van(60, 40, 500), &cargo);
        // 130 cm high: three of 40.
        assert_eq!(load.trips.iter().map(order).collect::<Vec<_>>(), [vec![vec![1, 0, 2]], vec![vec![3]]]);
    }

    #[test]
    fn what_is_too_large_is_named() {
        let cargo = [
            crate_of(0, (60, 40, 30), 10_000, false),
            crate_of(0, (190, 40, 30), 10_000, false),
            crate_of(0, (50, 40, 140), 10_000, false),
            crate_of(0, (50, 40, 30), 600_000, false),
        ];
        let load = load(&van(180, 120, 500), &cargo);
        assert_eq!((load.trips.len(), load.too_large), (1, vec![1, 2, 3]));
    }

    proptest! {
        #[test]
        fn nothing_overlaps_or_is_left_behind(
            cargo in prop::collection::vec((0_usize..3, (20_i64..90, 20_i64..70, 20_i64..150), 500_i64..60_000, any::<bool>()), 0..18),
            length in 100_i64..300, width in 60_i64..160, kilograms in 30_i64..300,
        ) {
            let mut cargo: Vec<Cargo> = cargo.into_iter().map(|(drop, size, grams, stack)| crate_of(drop, size, grams, stack)).collect();
            cargo.sort_by_key(|own| own.drop);
            let van = van(length, width, kilograms);
            let load = load(&van, &cargo);
            let mut seen = load.too_large.clone();
            for trip in &load.trips {
                prop_assert!(trip.weight <= van.payload);
                let drops: Vec<usize> = trip.stacks.iter().map(|stack| cargo[stack.cargo[0]].drop).collect();
                prop_assert!(drops.windows(2).all(|pair| pair[0] >= pair[1]), "drops reversed");
                for (place, one) in trip.stacks.iter().enumerate() {
                    seen.extend(&one.cargo);
                    prop_assert!(one.x >= 0 && one.x + one.depth <= van.length.um());
                    prop_assert!(one.y >= 0 && one.y + one.breadth <= van.width.um());
                    let high: i64 = one.cargo.iter().map(|own| cargo[*own].height.um()).sum();
                    prop_assert!(high <= van.height.um());
                    for other in &trip.stacks[place + 1..] {
                        let apart = one.x + one.depth <= other.x || other.x + other.depth <= one.x
                            || one.y + one.breadth <= other.y || other.y + other.breadth <= one.y;
                        prop_assert!(apart, "{one:?} {other:?}");
                    }
                }
            }
            seen.sort_unstable();
            prop_assert_eq!(seen, (0..cargo.len()).collect::<Vec<_>>());
        }
    }
}
