//! What arrives, and how it is conditioned.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::DateTime;

use super::bench::{Bench, Slot};
use super::clock::{BENCH_OPENS, IN_WATER_BY, at, hours_after, made_by, said};
use super::{Delivery, Pack, PrepInputs, PrepTask, Serves, Unmet};
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::plural::plural;
use crate::prep::Step;
use crate::prep::freshness::estimate::Estimate;
use crate::price_list::Material;
use crate::stem_order::weekend::{MaterialNeed, NeedPart, Weekend};

/// Stems that are taken for a bunch where no pack is known (common practice, no published source).
const USUAL_BUNCH: i64 = 10;

/// Every delivery of fresh material, by day: as the stem order has it, and what that could not have on the latest
/// safe day; without an order, everything on the latest safe day of each part.
#[must_use]
pub fn arrivals(inputs: &PrepInputs) -> Vec<Delivery> {
    let weekend = &inputs.weekend;
    let fresh = |delivery: &Delivery| weekend.material(delivery.material).is_some_and(Material::is_fresh);
    let mut arrivals: Vec<Delivery> = match &inputs.plan {
        Some(plan) => {
            let unmet = plan.unmet.iter().filter_map(|unmet| unordered(inputs, unmet));
            plan.deliveries.iter().cloned().chain(unmet).collect()
        }
        None => weekend.needs.iter().flat_map(|need| latest_safe(inputs, need)).collect(),
    };
    arrivals.retain(fresh);
    let mut arrivals = merged(arrivals);
    arrivals.sort_by_key(|delivery| delivery.day);
    arrivals
}

/// What comes of one material on one day from one supplier in packs of one size is conditioned as one: on two orders, or wanted by
/// several events.
fn merged(deliveries: Vec<Delivery>) -> Vec<Delivery> {
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    let mut merged: Vec<Vec<Delivery>> = Vec::new();
    for delivery in deliveries {
        let place = *places.entry(conditioning_key(&delivery)).or_insert(merged.len());
        match merged.get_mut(place) {
            Some(same) => same.push(delivery),
            None => merged.push(vec![delivery]),
        }
    }
    merged.into_iter().filter_map(one).collect()
}

/// Deliveries as one: their sums, whom any of them serves, and what is to be said of each.
fn one(deliveries: Vec<Delivery>) -> Option<Delivery> {
    let alike = deliveries.iter().all(|delivery| delivery.note == deliveries[0].note);
    let notes = deliveries.iter().filter(|delivery| !delivery.note.is_empty());
    let notes: Vec<String> = notes.map(|own| format!("{} stems: {}", own.stems, own.note)).collect();
    let mut parts = deliveries.into_iter();
    let mut sum = parts.next()?;
    for part in parts {
        sum.stems = sum.stems.saturating_add(part.stems);
        sum.over = sum.over.saturating_add(part.over);
        if let (Some((count, _)), Some((more, _))) = (&mut sum.packs, part.packs) {
            *count = count.saturating_add(more);
        }
        for serves in part.serves {
            if !sum.serves.contains(&serves) {
                sum.serves.push(serves);
            }
        }
    }
    if let (None, Some((count, pack))) = (&sum.supplier, &mut sum.packs) {
        *count = started(sum.stems, pack.size);
    }
    if !alike {
        sum.note = notes.join("; ");
    }
    Some(sum)
}

/// What cannot be had is awaited on the latest safe day all the same.
fn unordered(inputs: &PrepInputs, unmet: &Unmet) -> Option<Delivery> {
    let material = inputs.weekend.material(unmet.material)?;
    let need = inputs.weekend.need_of(unmet.material)?;
    let parts: Vec<&NeedPart> = need.parts.iter().filter(|part| part.event == unmet.event).collect();
    let day = parts.iter().map(|part| latest_day(&inputs.weekend, part, material)).min()?;
    let serves = parts.into_iter().map(|part| Serves::part(material.id, part)).collect();
    let packs = packed(inputs, material, unmet.stems);
    let note = String::new();
    let (material, stems) = (material.id, unmet.stems);
    let (supplier, supplier_id) = (None, None);
    Some(Delivery { material, day, stems, over: 0, packs, supplier, supplier_id, open: false, serves, note })
}

/// In the packs in which it is bought by preference.
fn packed(inputs: &PrepInputs, material: &Material, stems: i64) -> Option<(i64, Pack)> {
    let pack = inputs.packs.get(&material.id).filter(|pack| pack.size > 1)?;
    Some((started(stems, pack.size), pack.clone()))
}

/// What is not on hand arrives on the latest safe day of each part; what is on hand serves the parts it keeps for.
fn latest_safe(inputs: &PrepInputs, need: &MaterialNeed) -> Vec<Delivery> {
    let Some(material) = inputs.weekend.material(need.material) else { return Vec::new() };
    let mut parts: Vec<(Day, &NeedPart)> =
        need.parts.iter().map(|part| (latest_day(&inputs.weekend, part, material), part)).collect();
    parts.sort_by_key(|(day, _)| *day);
    let mut days: BTreeMap<Day, (i64, Vec<Serves>)> = BTreeMap::new();
    for (day, part) in parts {
        let served = part.from_hand;
        if part.stems > served {
            let (stems, pieces) = days.entry(day).or_default();
            *stems = stems.saturating_add(part.stems - served);
            pieces.push(Serves::part(material.id, part));
        }
    }
    let delivery = |(day, (stems, pieces)): (Day, (i64, Vec<Serves>))| Delivery {
        material: material.id,
        day,
        stems,
        over: 0,
        packs: packed(inputs, material, stems),
        supplier: None,
        supplier_id: None,
        open: false,
        serves: pieces,
        note: String::new(),
    };
    days.into_iter().map(delivery).collect()
}

/// The latest day of the arrival window; a day earlier where its hours in water would end too late that day.
fn latest_day(weekend: &Weekend, part: &NeedPart, material: &Material) -> Day {
    let (earliest, latest) = match &part.window {
        Ok(window) => (window.earliest, window.latest),
        Err(empty) => (Some(empty.latest), empty.latest),
    };
    let finished = weekend
        .events
        .get(part.event)
        .map(|event| made_by(&event.event, Serves::part(material.id, part).make_day));
    let too_late = finished.is_some_and(|finished| ready_from(material, latest) >= finished);
    let earlier = latest.plus(-1);
    if too_late && earliest.is_none_or(|earliest| earliest <= earlier) { earlier } else { latest }
}

/// From when a material may be used in a recipe of an event: the last of its deliveries for it, conditioned.
pub(crate) fn ready(
    weekend: &Weekend,
    (material, event, recipe): (MaterialId, usize, RecipeId),
    arrivals: &[Delivery],
) -> Option<DateTime> {
    let calls = |serves: &Serves| {
        serves.material == material && serves.event == event && serves.recipes.contains(&recipe)
    };
    let own = arrivals.iter().filter(|delivery| delivery.serves.iter().any(calls));
    own.filter_map(|delivery| Some(ready_from(weekend.material(delivery.material)?, delivery.day))).max()
}

/// In water plus the hours it stands there; where it has to open, the morning on which it is open.
fn ready_from(material: &Material, day: Day) -> DateTime {
    let care = &material.care;
    let drunk = hours_after(at(day, IN_WATER_BY), care.hydrate_hours);
    if care.opening_days == 0 { drunk } else { drunk.max(at(day.plus(care.opening_days), BENCH_OPENS)) }
}

/// Puts arrivals and their conditioning on the bench, and names the windows that are empty.
pub(super) fn condition(bench: &mut Bench<'_>, arrivals: &[Delivery]) {
    unfit(bench);
    for (order, delivery) in (0_i64..).zip(arrivals) {
        let Some(material) = bench.material(delivery.material) else { continue };
        let task = conditioning(bench, material, delivery);
        let (day, events) = (delivery.day, delivery.events());
        let slot = Slot { day, step: Step::Condition, order, events: &events, cautions: material.cautions };
        bench.put(&slot, task);
        late(bench, material, delivery);
    }
}

/// What the stem order could not have, and why; without an order, windows that are empty.
fn unfit(bench: &mut Bench<'_>) {
    let inputs = bench.inputs;
    if let Some(plan) = &inputs.plan {
        for unmet in &plan.unmet {
            let fresh = bench.material(unmet.material).is_some_and(Material::is_fresh);
            if let Some(awaited) = unordered(inputs, unmet).filter(|_| fresh) {
                bench.await_order(awaited.day, unmet.sentence.clone());
            }
        }
    }
    let Some(first) = bench.events().first().map(|first| first.event.day) else { return };
    if let Some(plan) = &inputs.plan {
        for open in &plan.open {
            bench.await_order(open.day.unwrap_or(first), open.sentence.clone());
        }
        return;
    }
    if inputs.undecided {
        let sentence = "The stem order has no answer yet: flowers stand on their latest safe day.";
        bench.await_order(first, sentence.into());
    }
    for need in &inputs.weekend.needs {
        for empty in need.parts.iter().filter_map(|part| part.window.as_ref().err()) {
            bench.conflict(empty.make_day, empty.sentence(bench.formats));
        }
    }
}

fn conditioning(bench: &Bench<'_>, material: &Material, delivery: &Delivery) -> PrepTask {
    let each = material.care.conditioning_minutes;
    let (count, unit) = match &delivery.packs {
        Some((count, pack)) => (*count, plural(&pack.name, *count)),
        None => (delivery.stems, plural("stem", delivery.stems)),
    };
    let bunches = bunches(delivery);
    let minutes = each.saturating_mul(bunches);
    let need = bench.inputs.weekend.need_of(material.id).map(|need| need.working(bench.formats));
    let work = format!("{bunches} {} × {each} minutes = {minutes} minutes", plural("bunch", bunches));
    let mut how: Vec<String> = stems_line(bench, delivery).into_iter().collect();
    how.extend((!delivery.note.is_empty()).then(|| delivery.note.clone()));
    how.extend(stands_in(bench, delivery));
    how.push(water_line(material, delivery.day));
    how.extend(freshness_line(bench, material, delivery));
    PrepTask {
        key: conditioning_key(delivery),
        count,
        unit,
        what: material.name.clone(),
        how,
        wanted_for: wanted_for(bench, delivery),
        not_before: None,
        minutes,
        working: need.into_iter().chain([work]).collect::<Vec<_>>().join("; "),
        makes: None,
    }
}

/// The same for the same material, day, pack and supplier; apart where it is still to be ordered.
pub(crate) fn conditioning_key(delivery: &Delivery) -> String {
    let size = delivery.packs.as_ref().map_or(0, |(_, pack)| pack.size);
    let from = delivery.supplier_id.map_or_else(String::new, |supplier| format!("-{supplier}"));
    let open = if delivery.open { "-open" } else { "" };
    format!("condition-{}-{}-{size}{from}{open}", delivery.material, delivery.day)
}

/// In how many bunches it is conditioned: as it is packed, else by ten.
pub(crate) fn bunches(delivery: &Delivery) -> i64 {
    delivery.packs.as_ref().map_or_else(|| started(delivery.stems, USUAL_BUNCH), |(count, _)| *count)
}

fn wanted_for(bench: &Bench<'_>, delivery: &Delivery) -> String {
    if delivery.serves.is_empty() {
        return "no piece any more: over".into();
    }
    bench.names(&delivery.events())
}

/// `Strip, slanting cut, 12 hours in water: not before Thu 22:00`.
fn water_line(material: &Material, day: Day) -> String {
    let care = &material.care;
    let water = match care.hydrate_hours {
        0 => "into water".to_owned(),
        1 => "1 hour in water".to_owned(),
        hours => format!("{hours} hours in water"),
    };
    let opens = match care.opening_days {
        0 => String::new(),
        1 => ", a day to open".to_owned(),
        days => format!(", {days} days to open"),
    };
    let line = format!("Strip, slanting cut, {water}{opens}");
    if care.hydrate_hours == 0 && care.opening_days == 0 {
        return line;
    }
    format!("{line}: not used before {}", said(ready_from(material, day)))
}

/// An estimate of what is left at the end of the event for which it is worst, where the care data allow one.
fn freshness_line(bench: &Bench<'_>, material: &Material, delivery: &Delivery) -> Option<String> {
    let found = delivery.serves.iter().filter_map(|serves| {
        let event = bench.events().get(serves.event)?;
        Some(bench.inputs.climate.estimate(event, material, (delivery.day, bench.plan.making_of(serves).0)))
    });
    let left = |found: &Estimate| found.days_left.unwrap_or(f64::MAX);
    let worst =
        found.min_by(|one, other| one.verdict.cmp(&other.verdict).then(left(one).total_cmp(&left(other))));
    worst?.line()
}

/// A delivery that still stands in water, or is not even here, when its pieces have to be finished.
fn late(bench: &mut Bench<'_>, material: &Material, delivery: &Delivery) {
    let ready = ready_from(material, delivery.day);
    let finished = delivery.serves.iter().filter_map(|serves| {
        let made = bench.plan.making_of(serves).0;
        Some(made_by(&bench.events().get(serves.event)?.event, made))
    });
    let Some(finished) = finished.min().filter(|finished| ready >= *finished) else { return };
    let sentence = format!(
        "{} arrives {} and may not be used before {}, but its pieces are to be finished by {}. Have it delivered earlier.",
        material.name,
        bench.formats.weekday(delivery.day),
        said(ready),
        said(finished)
    );
    bench.conflict(delivery.day, sentence);
}

fn started(count: i64, size: i64) -> i64 {
    count.saturating_add(size - 1) / size
}

/// The stems behind the packs, and whose they are.
fn stems_line(bench: &Bench<'_>, delivery: &Delivery) -> Option<String> {
    let from = match &delivery.supplier {
        Some(name) => format!(", from {name}"),
        None if bench.inputs.plan.is_some() => ", not in the stem order".to_owned(),
        None => String::new(),
    };
    let (_, pack) = delivery.packs.as_ref().filter(|(_, pack)| pack.size > 1)?;
    Some(format!("{} stems, {} to a {}{from}", delivery.stems, pack.size, pack.name))
}

/// What a substitute stands in for.
fn stands_in(bench: &Bench<'_>, delivery: &Delivery) -> Option<String> {
    let others = delivery.serves.iter().map(|serves| serves.material).filter(|id| *id != delivery.material);
    let names: BTreeSet<&str> = others.filter_map(|id| Some(&*bench.material(id)?.name)).collect();
    (!names.is_empty()).then(|| format!("Stands in for {}", names.into_iter().collect::<Vec<_>>().join(", ")))
}
