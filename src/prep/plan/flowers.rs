//! What arrives, and how it is conditioned.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::DateTime;

use super::bench::{Bench, Slot};
use super::clock::{IN_WATER_BY, at, ends, hours_after, made_by, said};
use super::{Delivery, Pack, PrepInputs, PrepTask};
use crate::ground::caution::Cautions;
use crate::ground::dates::Day;
use crate::prep::Step;
use crate::prep::estimate::{Way, days_left};
use crate::price_list::Material;
use crate::stem_order::weekend::{MaterialNeed, NeedPart};

/// Every delivery of fresh material: by the buying plan, else what is to be ordered on each part's latest safe day.
pub(super) fn arrivals(inputs: &PrepInputs) -> Vec<Delivery> {
    let mut arrivals = Vec::new();
    for need in &inputs.weekend.needs {
        let fresh = inputs.weekend.material(need.material).is_some_and(Material::is_fresh);
        if !fresh {
            continue;
        }
        let planned: Vec<_> =
            inputs.deliveries.iter().filter(|d| d.material == need.material).cloned().collect();
        arrivals.extend(if planned.is_empty() { latest_safe(need) } else { planned });
    }
    arrivals
}

/// What is not on hand arrives on the latest safe day of each part; what is on hand serves the earliest parts.
fn latest_safe(need: &MaterialNeed) -> Vec<Delivery> {
    let mut parts: Vec<(Day, &NeedPart)> = need.parts.iter().map(|part| (latest_day(part), part)).collect();
    parts.sort_by_key(|(day, _)| *day);
    let mut on_hand = need.from_hand;
    let mut days: BTreeMap<Day, (i64, BTreeSet<usize>)> = BTreeMap::new();
    for (day, part) in parts {
        let served = on_hand.min(part.stems);
        on_hand -= served;
        if part.stems > served {
            let (stems, events) = days.entry(day).or_default();
            *stems = stems.saturating_add(part.stems - served);
            events.insert(part.event);
        }
    }
    let delivery = |(day, (stems, events)): (Day, (i64, BTreeSet<usize>))| Delivery {
        material: need.material,
        day,
        stems,
        events: events.into_iter().collect(),
    };
    days.into_iter().map(delivery).collect()
}

fn latest_day(part: &NeedPart) -> Day {
    match &part.window {
        Ok(window) => window.latest,
        Err(empty) => empty.latest,
    }
}

/// From when a material may be used in an event: the last of its deliveries for it, conditioned.
pub(super) fn ready(material: &Material, event: usize, arrivals: &[Delivery]) -> Option<DateTime> {
    let own = arrivals.iter().filter(|d| d.material == material.id && d.events.contains(&event));
    own.map(|delivery| ready_from(material, delivery.day)).max()
}

/// Arrival, in water, plus the hours it stands there or opens, whichever is longer.
fn ready_from(material: &Material, day: Day) -> DateTime {
    let care = &material.care;
    hours_after(at(day, IN_WATER_BY), care.hydrate_hours.max(care.opening_days.saturating_mul(24)))
}

/// Puts arrivals and their conditioning on the bench, and names the windows that are empty.
pub(super) fn condition(bench: &mut Bench<'_>, arrivals: &[Delivery]) {
    for need in &bench.inputs.weekend.needs {
        for empty in need.parts.iter().filter_map(|part| part.window.as_ref().err()) {
            let sentence = empty.to_string();
            if !bench.conflicts.contains(&sentence) {
                bench.conflicts.push(sentence);
            }
        }
    }
    for (order, delivery) in (0_i64..).zip(arrivals) {
        let Some(material) = bench.material(delivery.material) else { continue };
        let slot =
            |step, cautions| Slot { day: delivery.day, step, order, events: &delivery.events, cautions };
        let arrive = arriving(bench, material, delivery);
        bench.put(&slot(Step::Arrive, Cautions::default()), arrive);
        let condition = conditioning(bench, material, delivery);
        bench.put(&slot(Step::Condition, material.cautions), condition);
        late(bench, material, delivery);
    }
}

fn arriving(bench: &Bench<'_>, material: &Material, delivery: &Delivery) -> PrepTask {
    let (count, unit) = packs(bench.inputs.packs.get(&material.id), delivery.stems);
    let need = bench.inputs.weekend.need_of(material.id);
    PrepTask {
        key: format!("arrive-{}-{}", material.id, delivery.day),
        count,
        unit,
        what: material.name.clone(),
        how: stems_line(bench, material, delivery).into_iter().collect(),
        wanted_for: bench.names(&delivery.events),
        not_before: None,
        minutes: 0,
        working: need.map(|need| need.working(bench.formats)).unwrap_or_default(),
    }
}

fn conditioning(bench: &Bench<'_>, material: &Material, delivery: &Delivery) -> PrepTask {
    let (count, unit) = packs(bench.inputs.packs.get(&material.id), delivery.stems);
    let care = &material.care;
    let minutes = care.conditioning_minutes.saturating_mul(count_of_packs(bench, material, delivery));
    let mut how: Vec<String> = stems_line(bench, material, delivery).into_iter().collect();
    how.push(water_line(material, delivery.day));
    how.extend(freshness_line(bench, material, delivery));
    PrepTask {
        key: format!("condition-{}-{}", material.id, delivery.day),
        count,
        unit,
        what: material.name.clone(),
        how,
        wanted_for: bench.names(&delivery.events),
        not_before: None,
        minutes,
        working: format!("{} minutes a bunch: {minutes} minutes", care.conditioning_minutes),
    }
}

/// `Fresh slanting cut, 12 hours in water: not used before Thu 22:00`.
fn water_line(material: &Material, day: Day) -> String {
    let care = &material.care;
    let mut line = "Strip, fresh slanting cut, into water".to_owned();
    if care.hydrate_hours > 0 {
        line = format!("Strip, fresh slanting cut, {} hours in water", care.hydrate_hours);
    }
    if care.opening_days > 0 {
        line = format!("{line}; about {} days to open", care.opening_days);
    }
    if care.hydrate_hours == 0 && care.opening_days == 0 {
        return line;
    }
    format!("{line}: not used before {}", said(ready_from(material, day)))
}

/// An estimate, where the care data allow one.
fn freshness_line(bench: &Bench<'_>, material: &Material, delivery: &Delivery) -> Option<String> {
    let last = delivery
        .events
        .iter()
        .filter_map(|at| bench.events().get(*at))
        .max_by_key(|event| ends(&event.event))?;
    let made = last.make_days.values().min().copied().unwrap_or(last.event.day);
    let way = Way { arrives: delivery.day, made, ends: ends(&last.event) };
    Some(match days_left(&material.care, way)? {
        0 => "May be past its best before the event ends (an estimate)".into(),
        1 => "About 1 day left at the end of the event (an estimate)".into(),
        days => format!("About {days} days left at the end of the event (an estimate)"),
    })
}

/// A delivery that still stands in water, or is not even here, when its pieces have to be finished.
fn late(bench: &mut Bench<'_>, material: &Material, delivery: &Delivery) {
    let ready = ready_from(material, delivery.day);
    let parts = bench.inputs.weekend.need_of(material.id).into_iter().flat_map(|need| &need.parts);
    let finished = parts.filter(|part| delivery.events.contains(&part.event)).filter_map(|part| {
        let window = part.window.as_ref().ok()?;
        Some(made_by(&bench.events().get(part.event)?.event, window.make_day))
    });
    let Some(finished) = finished.min().filter(|finished| ready >= *finished) else { return };
    bench.conflicts.push(format!(
        "{} arrives {} and may not be used before {}, but it is wanted in pieces by {}: have it delivered earlier.",
        material.name,
        bench.formats.weekday(delivery.day),
        said(ready),
        said(finished)
    ));
}

/// Whole packs and what they are called; stems where no pack is known.
fn packs(pack: Option<&Pack>, stems: i64) -> (i64, String) {
    match pack {
        Some(pack) if pack.size > 1 => {
            let count = started(stems, pack.size);
            (count, plural(&pack.name, count))
        }
        _ => (stems, if stems == 1 { "stem".into() } else { "stems".into() }),
    }
}

fn plural(name: &str, count: i64) -> String {
    match (count, name.chars().last()) {
        (1, _) => name.to_owned(),
        (_, Some('x' | 's')) => format!("{name}es"),
        (_, Some('h')) if name.ends_with("ch") => format!("{name}es"),
        _ => format!("{name}s"),
    }
}

fn count_of_packs(bench: &Bench<'_>, material: &Material, delivery: &Delivery) -> i64 {
    let size = bench.inputs.packs.get(&material.id).map_or(1, |pack| pack.size.max(1));
    // Without a known pack ten stems are taken for a bunch (common practice, no published source).
    started(delivery.stems, if size == 1 { 10 } else { size })
}

fn started(count: i64, size: i64) -> i64 {
    count.saturating_add(size - 1) / size
}

/// The stems behind the packs, where packs are counted.
fn stems_line(bench: &Bench<'_>, material: &Material, delivery: &Delivery) -> Option<String> {
    let pack = bench.inputs.packs.get(&material.id).filter(|pack| pack.size > 1)?;
    Some(format!("{} stems, {} to a {}", delivery.stems, pack.size, pack.name))
}
