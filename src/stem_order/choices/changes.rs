//! How one plan differs from another, in words, material by material: which packs are bought instead of which.
//!
//! May import `ground`, and the room's own need and plan.

use std::collections::{BTreeMap, BTreeSet};

use super::space::Space;
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, OfferId};
use crate::price_list::Offer;
use crate::stem_order::buying_plan::Plan;
use crate::stem_order::posed::{Posed, day};

/// Packs of one offer on one day.
type Bought<'a> = BTreeMap<(MaterialId, OfferId, Day), (i64, &'a Offer)>;

/// What is bought otherwise in the second plan, a sentence a material, by name.
#[must_use]
pub fn changes(space: &Space<'_>, before: (&Posed, &Plan), after: (&Posed, &Plan)) -> Vec<String> {
    let (old, new) = (bought(before.0, before.1), bought(after.0, after.1));
    let materials: BTreeSet<MaterialId> = old.keys().chain(new.keys()).map(|key| key.0).collect();
    let mut sentences: Vec<String> = materials
        .into_iter()
        .filter_map(|material| {
            let (less, more) = (beyond(&old, &new, material), beyond(&new, &old, material));
            if less.is_empty() && more.is_empty() {
                return None;
            }
            let name = space.weekend.material(material).map_or("?", |material| material.name.as_str());
            let packs = |packs: &[(i64, &Offer, Day)]| {
                packs
                    .iter()
                    .map(|(count, offer, on)| pack(space, *count, offer, *on))
                    .collect::<Vec<_>>()
                    .join(" and ")
            };
            Some(match (less.is_empty(), more.is_empty()) {
                (false, false) => format!("{name}: {} instead of {}", packs(&more), packs(&less)),
                (true, _) => format!("{name}: {} more", packs(&more)),
                (_, true) => format!("{name}: {} fewer", packs(&less)),
            })
        })
        .collect();
    sentences.sort();
    sentences
}

fn bought<'a>(posed: &'a Posed, plan: &Plan) -> Bought<'a> {
    let mut bought = Bought::new();
    for line in &plan.packs {
        let offer = &posed.offers[line.offer];
        bought.entry((offer.material_id, offer.id, day(line.date))).or_insert((0, offer)).0 += line.packs;
    }
    bought
}

/// Packs of a material that the first has above the second.
fn beyond<'a>(first: &Bought<'a>, second: &Bought<'_>, material: MaterialId) -> Vec<(i64, &'a Offer, Day)> {
    let of_it = first.iter().filter(|(key, _)| key.0 == material);
    let above = of_it
        .map(|(key, (packs, offer))| (packs - second.get(key).map_or(0, |other| other.0), *offer, key.2));
    above.filter(|(packs, ..)| *packs > 0).collect()
}

/// `13 × Bunch of 12 from Brook Growers, Thu 14 May 2026`.
fn pack(space: &Space<'_>, count: i64, offer: &Offer, on: Day) -> String {
    let supplier = super::pinned::supplier_name(space, offer.supplier_id);
    format!(
        "{count} × {} of {} from {supplier}, {}",
        offer.pack_name,
        offer.pack_size,
        space.formats.weekday(on)
    )
}
