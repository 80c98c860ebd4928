//! The strike list of one event: what comes down and comes back, what stays with the client, what the flowers leave.
//!
//! - What is lent comes back, by place, as it went out; extras of a place come back as far as they are not used up.
//! - A piece in which something is lent is taken apart: its flowers stay, are given away or composted, as it was agreed.
//! - A piece in which nothing is lent stays with the client as it is.
//! - For the event as a whole: crates by kind, cans, and what of the kit comes back.
//!
//! *Law:* every piece is taken apart or stays, once; what comes back is what the pull list says comes back.
//!
//! May import: types and calculations of this stage and of earlier rooms.

use std::collections::{BTreeMap, BTreeSet};

use super::ReturnLine;
use crate::ground::ids::RecipeId;
use crate::pull_list::loading::CrateKind;
use crate::pull_list::loading::goods::CAN_LITRES;
use crate::pull_list::loading::sheet::Drop;
use crate::pull_list::pull::{KIT, PullInputs, PullLine, PullList, SPARES, WHOLE_EVENT};
use crate::recipes::RecipeBook;
use crate::recipes::explosion::{ExplosionError, need};

/// What happens to a line at the strike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// It comes down and goes back into its crate.
    Back,
    /// It is emptied: what is lent in it comes back, its flowers do not.
    TakenApart,
    /// It stays with the client.
    Stays,
}

/// One line of the strike list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StrikeLine {
    /// The same each time the list is made.
    pub key: String,
    /// How many.
    pub count: i64,
    /// What.
    pub name: String,
    /// What to know.
    pub note: String,
    /// What happens to it.
    pub fate: Fate,
}

/// What is done at one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StrikePlace {
    /// The place, or what the lines have in common.
    pub heading: String,
    /// What is done, what comes back first.
    pub lines: Vec<StrikeLine>,
}

/// The strike list by place, from the pull list.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn strike_list(inputs: &PullInputs, pull: &PullList) -> Result<Vec<StrikePlace>, ExplosionError> {
    let mut apart: BTreeSet<RecipeId> = BTreeSet::new();
    for piece in &inputs.pieces {
        if !apart.contains(&piece.recipe_id) && lends(&inputs.book, piece.recipe_id)? {
            apart.insert(piece.recipe_id);
        }
    }
    let fate_of: BTreeMap<String, Fate> = inputs
        .pieces
        .iter()
        .map(|piece| {
            let fate = if apart.contains(&piece.recipe_id) { Fate::TakenApart } else { Fate::Stays };
            (format!("piece-{}", piece.id), fate)
        })
        .collect();
    let places = pull.groups.iter().map(|group| {
        let whole = [WHOLE_EVENT, SPARES, KIT].contains(&group.heading.as_str());
        let lines = group.lines.iter();
        let mut lines: Vec<StrikeLine> = lines.filter_map(|line| struck(line, &fate_of, whole)).collect();
        lines.sort_by_key(|line| line.fate);
        StrikePlace { heading: group.heading.clone(), lines }
    });
    Ok(places.filter(|place| !place.lines.is_empty()).collect())
}

/// Whether anything in a recipe, its parts included, is lent.
fn lends(book: &RecipeBook, recipe: RecipeId) -> Result<bool, ExplosionError> {
    let needs = need(book, &[(recipe, 1)])?;
    Ok(needs.iter().any(|(wanted, _)| book.materials.get(&wanted.material).is_some_and(|own| own.loaned)))
}

fn struck(line: &PullLine, fates: &BTreeMap<String, Fate>, whole: bool) -> Option<StrikeLine> {
    let extra = line.key.starts_with("extra-");
    let (fate, note) = match fates.get(&line.key) {
        Some(Fate::TakenApart) => {
            (Fate::TakenApart, "Flowers out and water away; what is lent is counted above")
        }
        Some(fate) => (*fate, ""),
        None if line.comes_back => (Fate::Back, ""),
        None if extra && !whole => (Fate::Back, "As far as it was not used up"),
        None => return None,
    };
    Some(StrikeLine {
        key: format!("strike-{}", line.key),
        count: line.count,
        name: line.name.clone(),
        note: note.into(),
        fate,
    })
}

/// What went out with the van and comes back beside what is lent: crates by kind, cans, kit, as the load sheet has it.
#[must_use]
pub fn went_out(drop: &Drop, kinds: &[CrateKind]) -> Vec<ReturnLine> {
    let used =
        drop.packed.crates.iter().map(|own| own.kind).chain(drop.goods.crates.iter().map(|own| own.kind));
    let mut by_kind: BTreeMap<usize, i64> = BTreeMap::new();
    for kind in used {
        *by_kind.entry(kind).or_default() += 1;
    }
    let went = |what: String, went: i64| ReturnLine { what, went, back: went };
    let crates = by_kind.into_iter().filter_map(|(at, count)| Some(went(kinds.get(at)?.name.clone(), count)));
    let cans = i64::try_from(drop.cans.len()).unwrap_or(0);
    let cans = (cans > 0).then(|| went(format!("Water can, {CAN_LITRES} l"), cans));
    let kit = drop.aboard.iter().filter(|line| line.comes_back && line.key.starts_with("kit-"));
    let kit = kit.map(|line| went(line.name.clone(), line.count));
    crates.chain(cans).chain(kit).filter(|line| line.went > 0).collect()
}

#[cfg(test)]
mod tests;
