//! How one plan differs from another, in words, material by material: which packs are bought instead of which.
//!
//! May import `ground`, and the room's own need and plan.

use std::collections::{BTreeMap, BTreeSet};

use super::space::Space;
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, OfferId, SupplierId};
use crate::price_list::Offer;
use crate::stem_order::buying_plan::Plan;
use crate::stem_order::posed::{Posed, day};

/// So many packs of an offer on a day.
type Packs<'a> = (i64, &'a Offer, Day);

/// Packs of one offer on one day.
type Bought<'a> = BTreeMap<(MaterialId, OfferId, Day), (i64, &'a Offer)>;

/// What is bought otherwise in the second plan: a sentence a material, by name; then whole deliveries' worth of
/// materials that only come on another day, a sentence a supplier and pair of days.
#[must_use]
pub fn changes(space: &Space<'_>, before: (&Posed, &Plan), after: (&Posed, &Plan)) -> Vec<String> {
    let (old, new) = (bought(before.0, before.1), bought(after.0, after.1));
    let materials: BTreeSet<MaterialId> = old.keys().chain(new.keys()).map(|key| key.0).collect();
    let (mut sentences, mut moved) = (Vec::new(), Moved::new());
    for material in materials {
        let (less, more) = (beyond(&old, &new, material), beyond(&new, &old, material));
        let name = space.weekend.material(material).map_or("?", |material| material.name.as_str());
        if let Some(to) = only_moved(&less, &more) {
            moved.entry(to).or_default().push(name);
        } else if !less.is_empty() || !more.is_empty() {
            sentences.push(otherwise(space, name, &less, &more));
        }
    }
    sentences.sort();
    sentences.extend(moved.into_iter().map(|(to, names)| on_another_day(space, to, names)));
    sentences
}

/// Materials of a supplier that come on the second day instead of the first.
type Moved<'a> = BTreeMap<(SupplierId, Day, Day), Vec<&'a str>>;

/// Whose packs come on which day instead of which, where nothing else about them differs.
fn only_moved(less: &[Packs<'_>], more: &[Packs<'_>]) -> Option<(SupplierId, Day, Day)> {
    let ([(_, first, from), ..], [(.., to), ..]) = (less, more) else { return None };
    let packs = |packs: &[Packs<'_>]| -> Vec<(OfferId, i64)> {
        packs.iter().map(|(count, offer, _)| (offer.id, *count)).collect()
    };
    let on_one_day = |packs: &[Packs<'_>], supplier: SupplierId, on: Day| {
        packs.iter().all(|(_, offer, day)| *day == on && offer.supplier_id == supplier)
    };
    let supplier = first.supplier_id;
    let same = packs(less) == packs(more);
    (same && on_one_day(less, supplier, *from) && on_one_day(more, supplier, *to))
        .then_some((supplier, *from, *to))
}

fn on_another_day(
    space: &Space<'_>,
    (supplier, from, to): (SupplierId, Day, Day),
    mut names: Vec<&str>,
) -> String {
    names.sort_unstable();
    let what = match names.as_slice() {
        [one] => (*one).to_owned(),
        [one, other] => format!("{one} and {other}"),
        more => format!("{} materials", more.len()),
    };
    let (supplier, weekday) =
        (super::pinned::supplier_name(space, supplier), |day| space.formats.weekday(day));
    format!("{what} from {supplier} on {} instead of {}", weekday(to), weekday(from))
}

fn otherwise(space: &Space<'_>, name: &str, less: &[Packs<'_>], more: &[Packs<'_>]) -> String {
    let packs = |packs: &[Packs<'_>]| {
        let words = packs.iter().map(|(count, offer, on)| pack(space, *count, offer, *on));
        words.collect::<Vec<_>>().join(" and ")
    };
    match (less.is_empty(), more.is_empty()) {
        (true, _) => format!("{name}: {} more", packs(more)),
        (_, true) => format!("{name}: {} fewer", packs(less)),
        (false, false) => format!("{name}: {} instead of {}", packs(more), packs(less)),
    }
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
fn beyond<'a>(first: &Bought<'a>, second: &Bought<'_>, material: MaterialId) -> Vec<Packs<'a>> {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::samples::offer;

    fn on(day: &str) -> Day {
        day.parse().unwrap()
    }

    #[test]
    fn the_same_packs_on_another_day_have_only_moved() {
        let (ten, twenty) = (offer(1, 1, 1, 10, 600), offer(2, 1, 1, 20, 1100));
        let (thursday, friday) = (on("2026-05-14"), on("2026-05-15"));
        let less = [(3, &ten, thursday), (1, &twenty, thursday)];
        let more = [(3, &ten, friday), (1, &twenty, friday)];
        assert_eq!(only_moved(&less, &more), Some((SupplierId(1), thursday, friday)));
        assert_eq!(only_moved(&less, &more[..1]), None, "fewer packs");
        assert_eq!(only_moved(&less, &[(3, &ten, friday), (1, &twenty, thursday)]), None, "one stays");
        assert_eq!(only_moved(&[], &more), None);
        let elsewhere = offer(3, 2, 1, 10, 600);
        assert_eq!(only_moved(&less[..1], &[(3, &elsewhere, friday)]), None, "another supplier's");
    }
}
