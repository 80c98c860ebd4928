//! Vessels to dress and ribbon to cut: any day before, here the day before the first piece of their event is made.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::PrepTask;
use super::bench::{Bench, Slot};
use super::cuts::{by_day, lengths};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::ground::quantity::Length;
use crate::prep::Step;
use crate::prep::bench_plan::DRESS_MINUTES;
use crate::price_list::{Material, MaterialKind};
use crate::recipes::explosion::{ExplosionError, need};

/// Puts vessels and lengths of ribbon, wire and tape on the bench.
pub(super) fn dress(bench: &mut Bench<'_>) -> Result<(), ExplosionError> {
    vessels(bench)?;
    ribbons(bench)
}

fn vessels(bench: &mut Bench<'_>) -> Result<(), ExplosionError> {
    for (at, event) in bench.events().iter().enumerate() {
        let mut counts: BTreeMap<MaterialId, Decimal> = BTreeMap::new();
        for (wanted, need) in need(&bench.inputs.weekend.book, &event.counts)? {
            *counts.entry(wanted.material).or_default() += need.count;
        }
        for (id, count) in counts {
            let vessel = bench.material(id).filter(|material| material.kind == MaterialKind::Vessel);
            let count = i64::try_from(count.ceil()).unwrap_or(i64::MAX);
            let Some(vessel) = vessel.filter(|_| count > 0) else { continue };
            put_vessel(bench, at, vessel, count);
        }
    }
    Ok(())
}

/// Vessels of one kind, on the days of the bench plan.
fn put_vessel(bench: &mut Bench<'_>, at: usize, vessel: &Material, count: i64) {
    let each = bench.inputs.bench.dress_minutes.unwrap_or(DRESS_MINUTES);
    let key = format!("dress-{}-{}", bench.events()[at].event.id, vessel.id);
    let planned = bench.plan.days_of(&key);
    let planned = if planned.is_empty() { vec![(usual_day(bench, at), count)] } else { planned };
    for (day, some) in &planned {
        let minutes = some.saturating_mul(each);
        let mut how = vec!["Wash, dry, check for cracks, dress: any day before".into()];
        how.splice(0..0, bench.split(&planned, *day, *some));
        let task = PrepTask {
            key: key.clone(),
            count: *some,
            unit: String::new(),
            what: vessel.name.clone(),
            how,
            wanted_for: bench.names(&[at]),
            not_before: None,
            minutes,
            working: format!(
                "{count} for all pieces of the event; {some} × {each} minutes = {minutes} minutes"
            ),
            makes: None,
        };
        let events = [at];
        let slot =
            Slot { day: *day, step: Step::Dress, order: 0, events: &events, cautions: vessel.cautions };
        bench.put(&slot, task);
    }
}

fn ribbons(bench: &mut Bench<'_>) -> Result<(), ExplosionError> {
    for ((made, id), cut) in by_day(bench)? {
        let Some(material) = bench.material(id).filter(|material| !material.is_fresh()) else { continue };
        let mut whole: BTreeMap<Length, u64> = BTreeMap::new();
        for (length, count) in &cut.lengths {
            let count = u64::try_from(count.ceil()).unwrap_or(0);
            let sum = whole.entry(to_the_next_tenth(*length, *bench.formats)).or_default();
            *sum = sum.saturating_add(count);
        }
        let count = whole.values().fold(0_u64, |sum, count| sum.saturating_add(*count));
        let events: Vec<usize> = cut.events.iter().copied().collect();
        let day = events.iter().map(|at| dressing_day(bench, *at)).min().map_or(made, |day| day.min(made));
        let task = PrepTask {
            key: format!("lengths-{id}-{made}"),
            count: i64::try_from(count).unwrap_or(i64::MAX),
            unit: if count == 1 { "length".into() } else { "lengths".into() },
            what: format!("{}: {}", material.name, lengths(&whole, *bench.formats)),
            how: vec!["Cut to length: any day before".into()],
            wanted_for: bench.names(&events),
            not_before: None,
            minutes: 0,
            working: format!("{count} for pieces made on {}", bench.formats.weekday(made)),
            makes: None,
        };
        let slot = Slot { day, step: Step::Dress, order: 1, events: &events, cautions: material.cautions };
        bench.put(&slot, task);
    }
    Ok(())
}

/// The day on which the bench plan begins to dress for the event, or else the day before its first piece is made.
fn dressing_day(bench: &Bench<'_>, event: usize) -> Day {
    let dressed = bench.plan.work.tasks.iter().zip(&bench.plan.placed);
    let own = dressed.filter(|(task, _)| task.step == Step::Dress && task.events == [event]);
    let first = own.filter_map(|(_, days)| days.keys().next().copied()).min();
    first.unwrap_or_else(|| usual_day(bench, event))
}

/// The day before the first piece of the event is made.
fn usual_day(bench: &Bench<'_>, event: usize) -> Day {
    let event = &bench.events()[event];
    event.make_days.values().min().copied().unwrap_or(event.event.day).plus(-1)
}

/// A ribbon is cut a little long rather than to the hundredth: up to the next tenth of the studio's unit.
fn to_the_next_tenth(length: Length, formats: Formats) -> Length {
    let tenth = formats.length_unit.um() / 10;
    Length::from_um(length.um().saturating_add(tenth - 1) / tenth * tenth)
}
