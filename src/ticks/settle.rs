//! What becomes of a tick that is sent: kept, known already, or older than what the book has. So several people tick at
//! once and no old page wipes out a newer tick. May import: this room's types.

use super::{Tick, Wish};

/// What becomes of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It is kept as a new row.
    Keep,
    /// The line is so already.
    AsItIs,
    /// Someone's newer tick stays.
    Newer,
}

/// What becomes of a wish, given the tick that the line has now.
///
/// - A tick on an open line is kept: that it is done was seen by whoever set it.
/// - A tick on a ticked line changes the count only for one who saw the present tick, or to a larger count.
/// - A tick is taken back only by one who saw that very tick.
///
/// ```
/// use trug::ticks::settle::{Verdict, settle};
/// use trug::ticks::{Tick, Wish};
/// let now = Tick { mark: "b".into(), shown: Some(12), hand: "Ada".into(), at: "2026-05-14T12:05:00Z".parse().unwrap() };
/// let off = |seen: &str| Wish { line: "make-1".into(), done: false, shown: Some(12), seen: Some(seen.into()), mark: None };
/// assert_eq!(settle(Some(&now), &off("b")), Verdict::Keep);
/// assert_eq!(settle(Some(&now), &off("a")), Verdict::Newer, "an old tablet takes nothing back");
/// ```
#[must_use]
pub fn settle(present: Option<&Tick>, wish: &Wish) -> Verdict {
    let Some(tick) = present else {
        return if wish.done { Verdict::Keep } else { Verdict::AsItIs };
    };
    let seen = wish.seen.as_ref() == Some(&tick.mark);
    match wish.done {
        true if wish.shown == tick.shown => Verdict::AsItIs,
        true if seen || wish.shown > tick.shown => Verdict::Keep,
        false if seen => Verdict::Keep,
        _ => Verdict::Newer,
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use proptest::prelude::*;

    use super::*;

    /// A book of one sheet, as the store keeps it: the verdict decides whether a row is added.
    #[derive(Default, Clone)]
    struct Lines(HashMap<String, Tick>);

    impl Lines {
        fn take(&mut self, wish: &Wish) -> Verdict {
            let verdict = settle(self.0.get(&wish.line), wish);
            if verdict == Verdict::Keep && wish.done {
                self.0.insert(wish.line.clone(), tick(wish));
            } else if verdict == Verdict::Keep {
                self.0.remove(&wish.line);
            }
            verdict
        }

        fn done(&self) -> Vec<(&String, Option<i64>)> {
            let mut done: Vec<_> = self.0.iter().map(|(line, tick)| (line, tick.shown)).collect();
            done.sort();
            done
        }
    }

    fn tick(wish: &Wish) -> Tick {
        Tick {
            mark: wish.mark.clone().unwrap(),
            shown: wish.shown,
            hand: String::new(),
            at: "2026-05-14T12:05:00Z".parse().unwrap(),
        }
    }

    fn on(line: usize, shown: i64, mark: usize) -> Wish {
        let (line, mark) = (format!("make-{line}"), Some(format!("m{mark}")));
        Wish { line, done: true, shown: Some(shown), seen: None, mark }
    }

    #[test]
    fn twelve_done_become_fourteen_by_one_who_saw_the_twelve_and_not_the_other_way_round_by_an_old_page() {
        let mut lines = Lines::default();
        assert_eq!(lines.take(&on(1, 12, 1)), Verdict::Keep);
        assert_eq!(lines.take(&on(1, 12, 2)), Verdict::AsItIs, "ticked by two at once is ticked once");
        assert_eq!(lines.take(&on(1, 14, 3)), Verdict::Keep);
        assert_eq!(lines.take(&on(1, 12, 4)), Verdict::Newer, "a page from before the change");
        let knows = Wish { seen: Some("m3".into()), ..on(1, 12, 5) };
        assert_eq!(lines.take(&knows), Verdict::Keep, "the plan went back to 12, seen and said");
    }

    proptest! {
        /// Whatever the order in which the ticks of several people arrive, every line that someone ticked is ticked, at
        /// the largest count that was ticked.
        #[test]
        fn ticks_set_at_once_are_all_kept(
            ticks in prop::collection::vec((0..6_usize, 1..20_i64), 1..20),
            order in any::<prop::sample::Index>(),
        ) {
            let wishes: Vec<Wish> = ticks.iter().enumerate().map(|(mark, (line, shown))| on(*line, *shown, mark)).collect();
            let mut turned = wishes.clone();
            turned.rotate_left(order.index(wishes.len()));
            let (mut one, mut other) = (Lines::default(), Lines::default());
            for wish in &wishes { one.take(wish); }
            for wish in &turned { other.take(wish); }
            prop_assert_eq!(one.done(), other.done());
            for wish in &wishes {
                prop_assert!(one.0[&wish.line].shown >= wish.shown);
            }
        }

        /// Nobody takes back what he did not see.
        #[test]
        fn a_tick_is_taken_back_only_by_one_who_saw_it(marks in prop::collection::vec(0..5_usize, 1..12)) {
            let mut lines = Lines::default();
            lines.take(&on(1, 12, 99));
            for mark in marks {
                let off = Wish { done: false, seen: Some(format!("m{mark}")), ..on(1, 12, mark) };
                prop_assert_eq!(lines.take(&off), Verdict::Newer);
            }
            let knows = Wish { done: false, seen: Some("m99".into()), ..on(1, 12, 7) };
            prop_assert_eq!(lines.take(&knows), Verdict::Keep);
            prop_assert_eq!(lines.take(&knows), Verdict::AsItIs, "taken back twice is taken back once");
        }
    }
}
