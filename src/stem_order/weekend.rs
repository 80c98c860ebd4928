//! What the events of a weekend need, pooled: from recipes and counts (C1) over the pooled cutting list and the
//! allowance (C2) to whole stems by material and event (C5). The first half of the stem order; the bench plan is
//! made from it too.
//!
//! **Pooled by material.** Everything that calls for a material is one need, whichever substitutes its lines allow:
//! a substitute is only bought where that is cheaper, so by design the stems are the same. The pool is rounded up
//! once and given its spares once; the whole number is then spread over events and lines in proportion to their
//! exact need by largest remainder, which makes whole stems again.
//!
//! May import `ground`, types of earlier rooms, and the room's own calculations.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use thiserror::Error;

use super::cuts::{CutTrouble, CuttingList, cutting_list};
use super::spares::{Spare, SpareRules, spares};
pub use super::stock::holding::OnHand;
use super::stock::serving::{Demand, Supply, oldest_first};
use super::windows::{ArrivalWindow, EmptyWindow, arrival, make_days, still_keeps};
use crate::events::{CountRule, Event, Piece};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::largest_remainder::split;
use crate::ground::quantity::Length;
use crate::price_list::Material;
use crate::recipes::RecipeBook;
use crate::recipes::explosion::{ExplosionError, Need, Wanted, need};

/// Some events with everything they need, pooled.
#[derive(Debug, Clone)]
pub struct Weekend {
    /// The events, by day.
    pub events: Vec<WeekendEvent>,
    /// Every recipe and material they reach.
    pub book: RecipeBook,
    /// What they need, by kind and name of the material.
    pub needs: Vec<MaterialNeed>,
    /// What lies on hand of any of the book's materials, the oldest lots first.
    pub on_hand: BTreeMap<MaterialId, Vec<OnHand>>,
    /// Pieces that are not counted yet, and so not in the need.
    pub open_counts: Vec<OpenCount>,
}

/// One event of the order.
#[derive(Debug, Clone)]
pub struct WeekendEvent {
    /// The event.
    pub event: Event,
    /// Its counted pieces.
    pub counts: Vec<(RecipeId, i64)>,
    /// The make day of each of its recipes, parts too.
    pub make_days: BTreeMap<RecipeId, Day>,
}

/// A piece whose guests or tables are not known yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenCount {
    /// Which event, by its place in [`Weekend::events`].
    pub event: usize,
    /// What is to be made.
    pub recipe: String,
    /// Where it stands.
    pub place: String,
    /// By what it is counted.
    pub rule: CountRule,
}

/// What all events together need of one material.
#[derive(Debug, Clone)]
pub struct MaterialNeed {
    /// Which.
    pub material: MaterialId,
    /// Which part of it each event needs, and for lines that allow which substitutes.
    pub parts: Vec<NeedPart>,
    /// Its cut pieces laid out, if it has any; or why they cannot be.
    pub cutting: Option<Result<CuttingList, CutTrouble>>,
    /// Unrounded: stems called for by number, plus whole stems from the cutting list.
    pub exact: Decimal,
    /// Rounded up to whole, once.
    pub need: i64,
    /// Above the need.
    pub spare: Spare,
    /// What lies on hand, the oldest lots first.
    pub on_hand: Vec<OnHand>,
    /// How many of those serve this need at most: none beyond the day for which they keep.
    pub from_hand: i64,
}

/// What one event needs of one material, for lines that allow the same substitutes.
#[derive(Debug, Clone)]
pub struct NeedPart {
    /// Which event, by its place in [`Weekend::events`].
    pub event: usize,
    /// What may stand in.
    pub substitutes: Vec<MaterialId>,
    /// What recipes and counts come to.
    pub need: Need,
    /// As stems, unrounded; cut pieces by their share of the pooled cutting list.
    pub exact: Decimal,
    /// Whole stems, spares included.
    pub stems: i64,
    /// How many of those lie on hand and still keep.
    pub from_hand: i64,
    /// When they may arrive; or why they cannot.
    pub window: Result<ArrivalWindow, EmptyWindow>,
}

/// Why a weekend cannot be reckoned.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WeekendError {
    /// The recipes do not make sense.
    #[error("{event}: {cause}")]
    Recipes {
        /// In which event.
        event: String,
        /// Why.
        cause: ExplosionError,
    },
    /// A recipe calls for a material that is not in the book.
    #[error("A recipe calls for a material that is not in the book.")]
    MissingMaterial(MaterialId),
}

/// Reckons what events need together. Events stand in the order given; those without pieces need nothing.
///
/// # Errors
/// A loop of recipes, or a recipe or material that is missing from the book.
pub fn weekend(
    booked: Vec<(Event, Vec<Piece>)>,
    book: RecipeBook,
    rules: &SpareRules,
    on_hand: &BTreeMap<MaterialId, Vec<OnHand>>,
) -> Result<Weekend, WeekendError> {
    let (mut events, mut open_counts) = (Vec::new(), Vec::new());
    let mut called: BTreeMap<MaterialId, Vec<(usize, Wanted, Need)>> = BTreeMap::new();
    for (at, (event, pieces)) in booked.into_iter().enumerate() {
        let counts = counted(&event, &pieces, at, &mut open_counts);
        let needs = need(&book, &counts)
            .map_err(|cause| WeekendError::Recipes { event: event.name.clone(), cause })?;
        for (wanted, need) in needs {
            called.entry(wanted.material).or_default().push((at, wanted, need));
        }
        let make_days = make_days(&book, event.day, counts.iter().map(|(recipe, _)| *recipe));
        events.push(WeekendEvent { event, counts, make_days });
    }
    let mut needs = Vec::new();
    for (id, called) in called {
        let material = book.materials.get(&id).ok_or(WeekendError::MissingMaterial(id))?;
        needs.push(pooled(material, called, &events, rules, on_hand.get(&id).cloned().unwrap_or_default()));
    }
    let order = |need: &MaterialNeed| {
        book.materials.get(&need.material).map(|material| (material.kind, material.name.to_lowercase()))
    };
    needs.sort_by_cached_key(order);
    Ok(Weekend { events, book, needs, on_hand: on_hand.clone(), open_counts })
}

fn counted(event: &Event, pieces: &[Piece], at: usize, open: &mut Vec<OpenCount>) -> Vec<(RecipeId, i64)> {
    let mut counts = Vec::new();
    for piece in pieces {
        match event.count_of(piece) {
            Some(count) => counts.push((piece.recipe_id, count)),
            None => open.push(OpenCount {
                event: at,
                recipe: piece.recipe.clone(),
                place: piece.place.clone(),
                rule: piece.rule,
            }),
        }
    }
    counts
}

fn pooled(
    material: &Material,
    called: Vec<(usize, Wanted, Need)>,
    events: &[WeekendEvent],
    rules: &SpareRules,
    on_hand: Vec<OnHand>,
) -> MaterialNeed {
    let mut cuts: BTreeMap<Length, Decimal> = BTreeMap::new();
    for (length, count) in called.iter().flat_map(|(_, _, need)| &need.cuts) {
        *cuts.entry(*length).or_default() += *count;
    }
    let cutting = (!cuts.is_empty()).then(|| cutting_list(material, &cuts));
    let stems = match &cutting {
        Some(Ok(list)) => Decimal::from(list.stems()),
        _ => Decimal::ZERO,
    };
    let length = total_length(&cuts);
    let exact_of = |need: &Need| need.count + need.once + share_of(total_length(&need.cuts), length) * stems;
    let exact = called.iter().map(|(_, _, need)| need.count + need.once).sum::<Decimal>() + stems;
    let whole = exact.ceil().to_i64().unwrap_or(i64::MAX / 4);
    let spare = spares(material, whole, rules);
    let weights: Vec<Decimal> = called.iter().map(|(_, _, need)| exact_of(need)).collect();
    let shares = split(whole.saturating_add(spare.count), &weights);
    let mut parts: Vec<NeedPart> = called
        .into_iter()
        .zip(weights.into_iter().zip(shares))
        .map(|((event, wanted, need), (exact, stems))| {
            let window = window(material, &events[event], &need);
            NeedPart { event, substitutes: wanted.substitutes, need, exact, stems, from_hand: 0, window }
        })
        .collect();
    serve_from_hand(material, &mut parts, events, &on_hand);
    let from_hand = parts.iter().map(|part| part.from_hand).sum();
    MaterialNeed { material: material.id, parts, cutting, exact, need: whole, spare, on_hand, from_hand }
}

fn total_length(cuts: &BTreeMap<Length, Decimal>) -> Decimal {
    cuts.iter().map(|(length, count)| length.decimal() * *count).sum()
}

fn share_of(part: Decimal, whole: Decimal) -> Decimal {
    part.checked_div(whole).unwrap_or(Decimal::ZERO)
}

/// When a material may arrive for an event: by the earliest make day of the recipes that call for it.
fn window(material: &Material, event: &WeekendEvent, need: &Need) -> Result<ArrivalWindow, EmptyWindow> {
    let make_days = need.called_by.keys().filter_map(|recipe| event.make_days.get(recipe));
    arrival(material, event.event.day, make_days.min().copied().unwrap_or(event.event.day))
}

/// Lots serve the parts for which they still keep.
fn serve_from_hand(material: &Material, parts: &mut [NeedPart], events: &[WeekendEvent], on_hand: &[OnHand]) {
    let supplies: Vec<Supply> =
        on_hand.iter().map(|lot| Supply { arrived: lot.arrived_on, free: lot.free }).collect();
    let wants: Vec<Demand> = parts
        .iter()
        .map(|part| Demand { event_day: events[part.event].event.day, pieces: part.stems })
        .collect();
    let keeps = |arrived, event_day| still_keeps(material, arrived, event_day);
    for (_, part, stems) in oldest_first(&supplies, &wants, keeps) {
        parts[part].from_hand += stems;
    }
}

impl Weekend {
    /// A material of the order.
    #[must_use]
    pub fn material(&self, id: MaterialId) -> Option<&Material> {
        self.book.materials.get(&id)
    }

    /// What is needed of a material.
    #[must_use]
    pub fn need_of(&self, material: MaterialId) -> Option<&MaterialNeed> {
        self.needs.iter().find(|need| need.material == material)
    }
}

impl MaterialNeed {
    /// Need and spares together, whole.
    #[must_use]
    pub fn total(&self) -> i64 {
        self.need.saturating_add(self.spare.count)
    }

    /// What has to be bought: need and spares less what lies on hand. Nothing of what is loaned.
    #[must_use]
    pub fn to_order(&self, material: &Material) -> i64 {
        if material.loaned { 0 } else { self.total() - self.from_hand }
    }

    /// How many of a loaned material are missing on the shelf, all events of the order taken together.
    #[must_use]
    pub fn shortfall(&self, material: &Material) -> i64 {
        if material.loaned { (self.need - material.owned).max(0) } else { 0 }
    }

    /// `107 = need 91 + 16 spare (95 % sure that enough are good, 5 % lost usually)`.
    #[must_use]
    pub fn working(&self, formats: &Formats) -> String {
        self.spare.working(self.need, formats)
    }

    /// How the need came about: from number, from cut pieces, rounded up.
    #[must_use]
    pub fn need_working(&self, material: &Material, formats: &Formats) -> String {
        let counted: Decimal = self.parts.iter().map(|part| part.need.count + part.need.once).sum();
        let mut sums = Vec::new();
        if !counted.is_zero() || self.cutting.is_none() {
            sums.push(format!("{} by number", formats.number(counted, 3)));
        }
        if let Some(Ok(list)) = &self.cutting {
            sums.push(list.working(material, formats));
        }
        if let Some(Err(trouble)) = &self.cutting {
            sums.push(trouble.sentence(material, formats));
        }
        let rounded = if self.exact.fract().is_zero() { "" } else { ", rounded up once for the whole order" };
        format!("{} = {}{rounded}", self.need, sums.join(" + "))
    }
}

impl NeedPart {
    /// What calls for it and how much that comes to, in words.
    #[must_use]
    pub fn working(&self, book: &RecipeBook, formats: &Formats) -> String {
        let name = |id: &RecipeId| book.recipes.get(id).map_or("?", |recipe| recipe.name.as_str());
        let by: Vec<String> = self
            .need
            .called_by
            .iter()
            .map(|(recipe, count)| format!("{} × {}", formats.number(*count, 3), name(recipe)))
            .collect();
        let mut sums = Vec::new();
        if !self.need.count.is_zero() {
            sums.push(formats.number(self.need.count, 3));
        }
        if !self.need.once.is_zero() {
            sums.push(format!("{} bought by the started number or once", formats.number(self.need.once, 3)));
        }
        let cuts = self.need.cuts.iter();
        sums.extend(cuts.map(|(length, count)| {
            format!("{} pieces of {}", formats.number(*count, 3), formats.length(*length))
        }));
        let whole = format!(
            "{} with its part of the spares and of the rounding, from an exact need of {}",
            self.stems,
            formats.number(self.exact, 3)
        );
        format!("{}: {}; {whole}", by.join(", "), sums.join(" + "))
    }
}

#[cfg(test)]
mod tests;
