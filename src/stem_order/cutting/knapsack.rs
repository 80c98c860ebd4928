//! The most valuable pattern: a bounded knapsack, solved exactly over the states that no other state beats.

use super::effort::Effort;

/// More states than this on one front, and the knapsack gives up (very long rolls with many odd lengths).
const MOST_STATES: usize = 20_000;

/// A size that may be cut up to `most` times.
#[derive(Clone, Copy)]
pub(super) struct Item {
    pub(super) size: i64,
    pub(super) value: i64,
    pub(super) most: u32,
}

/// A filled length with its value, and the last step that led to it.
#[derive(Clone, Copy)]
struct State {
    size: i64,
    value: i64,
    before: usize,
    item: usize,
    copies: u32,
}

/// The greatest value that fits, and how many of each item give it; `None` if that takes too many states, more
/// than the effort left, or more worth than the number range.
pub(super) fn best_fill(capacity: i64, items: &[Item], effort: &mut Effort) -> Option<(i64, Vec<u32>)> {
    let all_worth: i128 = items.iter().map(|i| i128::from(i.value) * i128::from(i.most)).sum();
    if all_worth > i64::MAX.into() {
        return None; // no value may be cut off at the number range, for the bound rests on it
    }
    let mut states = vec![State { size: 0, value: 0, before: 0, item: 0, copies: 0 }];
    let mut front = vec![0];
    for (index, item) in items.iter().enumerate().filter(|(_, i)| i.value > 0) {
        for copies in batches(item.most) {
            front = extend(&mut states, &front, capacity, (index, item), copies);
            if front.len() > MOST_STATES || !effort.spend_states(front.len()) {
                return None;
            }
        }
    }
    let last = *front.last()?;
    Some((states[last].value, counts(&states, last, items.len())))
}

/// Splits `most` into batches of 1, 2, 4 … and a rest, of which any number up to `most` can be put together.
fn batches(most: u32) -> impl Iterator<Item = u32> {
    let mut rest = most;
    let mut next = 1;
    std::iter::from_fn(move || {
        let batch = rest.min(next);
        rest -= batch;
        next = next.saturating_mul(2);
        (batch > 0).then_some(batch)
    })
}

/// Merges the front with itself shifted by one batch of an item; size and value both rise along a front.
fn extend(
    states: &mut Vec<State>,
    front: &[usize],
    capacity: i64,
    (index, item): (usize, &Item),
    copies: u32,
) -> Vec<usize> {
    let size = item.size.saturating_mul(copies.into());
    let value = item.value.saturating_mul(copies.into());
    let mut merged = Vec::with_capacity(front.len() * 2);
    let mut highest = -1;
    let mut old = front.iter().copied().peekable();
    let fitting = |before: &usize| size <= capacity && states[*before].size <= capacity - size;
    let fit = front.partition_point(fitting);
    let mut shifted = front[..fit].iter().copied().peekable();
    while let Some(before) = shifted.peek().copied().or_else(|| old.peek().copied()) {
        let new = State {
            size: states[before].size.saturating_add(size),
            value: states[before].value + value,
            before,
            item: index,
            copies,
        };
        let old_first = shifted.peek().is_none()
            || old.peek().is_some_and(|&o| (states[o].size, -states[o].value) <= (new.size, -new.value));
        let candidate = if old_first { old.next() } else { shifted.next() };
        let reached = candidate.map_or(0, |c| if old_first { states[c].value } else { new.value });
        if reached <= highest {
            continue;
        }
        highest = reached;
        if old_first {
            merged.extend(candidate);
        } else {
            merged.push(states.len());
            states.push(new);
        }
    }
    merged
}

fn counts(states: &[State], last: usize, items: usize) -> Vec<u32> {
    let mut counts = vec![0; items];
    let mut at = last;
    while at != 0 {
        let state = states[at];
        counts[state.item] += state.copies;
        at = state.before;
    }
    counts
}
