//! What is asked of the search over a block's deliveries: its best plan, or whether there is any plan within some limits.
//! Imports the model and the search.

use super::cell::NEVER;
use super::component::Component;
use super::first::first_plan;
use super::known::Part;
use super::model::Model;
use super::search::{Found, Node, Search};
use super::set::Set;

pub(super) struct Answer {
    pub(super) best: Option<Found>,
    /// In parts.
    pub(super) lower_bound: i64,
    /// No plan was found, yet there may be one.
    pub(super) undecided: bool,
    /// All that is known of the components by now.
    pub(super) parts: Vec<Part>,
}

/// The best plan of a block, at least as good as the first one that is known already. Where components are knotted so
/// that their covers take long, covers are bounded at first and worked out only when that leaves a gap.
pub(super) fn search(model: &Model, first: Option<Found>, may_go_on: &mut dyn FnMut() -> bool) -> Answer {
    let (mut best, mut bound) = (first, model.floor);
    let mut parts = Vec::new();
    for thorough in [false, true] {
        let mut search = Search::new(model, parts_of(model, thorough), may_go_on);
        search.best = best;
        search.run(model);
        let left_open = search.parts.iter().any(|part| part.component.left_open);
        bound = bound.max(if model.truncated { model.floor } else { search.open_bound });
        (best, parts) = (search.best, search.parts);
        if !left_open || best.as_ref().is_some_and(|best| bound >= best.cost) {
            break;
        }
    }
    let undecided = best.is_none() && (model.truncated || bound < NEVER);
    let cost = best.as_ref().map_or(NEVER, |found| found.cost);
    Answer { best, lower_bound: bound.min(cost), undecided, parts }
}

/// Components of which nothing is known yet.
pub(super) fn parts_of(model: &Model, thorough: bool) -> Vec<Part> {
    let part = |component: &Component| Part::new(Component { thorough, ..component.clone() }, &model.measure);
    model.components.iter().map(part).collect()
}

/// A plan from the open deliveries that comes to no more than `most` parts, with all that is known of the components by
/// now, which is handed on. [`Within::Unknown`] if time ran out.
pub(super) fn within(
    model: &Model,
    parts: &mut Vec<Part>,
    (open, most): (Set, i64),
    may_go_on: &mut dyn FnMut() -> bool,
) -> Within {
    let mut search = Search::new(model, std::mem::take(parts), may_go_on);
    search.parts.iter_mut().for_each(|part| part.component.thorough = true);
    search.any_will_do = true;
    search.limit = most + 1;
    search.visit_first(Node { open, ..Node::default() });
    let (best, bound) = (search.best.take(), search.open_bound);
    *parts = search.parts;
    match best {
        Some(found) => Within::Found(found),
        None if bound <= most || model.truncated => Within::Unknown,
        None => Within::Nothing,
    }
}

/// Whether there is a plan within some limits.
pub(super) enum Within {
    Found(Found),
    Nothing,
    Unknown,
}

/// Whether there is any plan of these blocks at all; nothing if that is not known.
pub(super) fn can_be_planned(blocks: &[Model], may_go_on: &mut dyn FnMut() -> bool) -> Option<bool> {
    let mut all = Some(true);
    for model in blocks {
        if first_plan(model).is_some() {
            continue;
        }
        match within(model, &mut parts_of(model, true), (model.all(), NEVER - 1), may_go_on) {
            Within::Found(_) => {}
            Within::Unknown => all = None,
            Within::Nothing => return Some(false),
        }
    }
    all
}
