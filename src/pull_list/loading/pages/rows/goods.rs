//! Rows for what is not a piece: crates of kit and goods, what stands beside them, cans of water.

use super::super::super::goods::{CAN_LITRES, usable};
use super::super::super::sheet::{Drop, LoadSheet};
use super::Row;
use crate::ground::formats::Formats;
use crate::ground::quantity::Quantity;
use crate::ground::weight::Weight;
use crate::pull_list::vessel_water::needs_two_people;

const ESTIMATED: &str = "room and weight estimated";

pub(super) fn crate_row(sheet: &LoadSheet, drop: &Drop, at: usize, formats: Formats) -> Option<Row> {
    let packed = drop.goods.crates.get(at)?;
    let kind = sheet.kinds.get(packed.kind)?;
    let lines = packed.contents.iter();
    let held: Vec<_> = lines.filter_map(|(line, count)| Some((drop.aboard.get(*line)?, *count))).collect();
    let words = held.iter().map(|(line, count)| format!("{count} × {}", line.name)).collect::<Vec<_>>();
    let weights = held.iter().filter_map(|(line, count)| {
        Some(format!("{count} × {} ({})", formats.weight(line.room?.weight), line.name))
    });
    let litres = |raw| formats.number(Quantity::from_raw(raw).decimal(), 1);
    let working = format!(
        "{} + {} (the crate) = {}. {} of {} litres are taken; things of all shapes fill six tenths of a crate.",
        weights.collect::<Vec<_>>().join(" + "),
        formats.weight(kind.own_weight),
        formats.weight(packed.weight),
        litres(packed.filled),
        litres(usable(kind))
    );
    let estimated = held.iter().any(|(line, _)| line.room.is_some_and(|room| room.estimated));
    Some(Row {
        number: format!("K{}", packed.number),
        what: format!("{}: kit and goods", kind.name),
        contents: vec![(0, words.join("; "))],
        estimated: if estimated { ESTIMATED.into() } else { String::new() },
        ..row(format!("e{}-k{}", drop.event.id, packed.number), "crate", packed.weight, working, formats)
    })
}

pub(super) fn loose_row(drop: &Drop, line: usize, number: i64, formats: Formats) -> Option<Row> {
    let line = drop.aboard.get(line)?;
    let room = line.room?;
    let litres = formats.quantity(room.litres);
    let working =
        format!("{} and {litres} litres: too large or too heavy for a crate.", formats.weight(room.weight));
    Some(Row {
        what: line.name.clone(),
        estimated: if room.estimated { ESTIMATED.into() } else { String::new() },
        ..row(format!("e{}-{}-{number}", drop.event.id, line.key), "loose", room.weight, working, formats)
    })
}

pub(super) fn can_row(drop: &Drop, at: usize, formats: Formats) -> Option<Row> {
    let weight = *drop.cans.get(at)?;
    let working = format!(
        "{}: a can of {CAN_LITRES} litres, as full as it must be, 0.9982 kg a litre, and 0.6 kg of can.",
        formats.weight(weight)
    );
    Some(Row {
        what: "Water to top up".into(),
        ..row(format!("e{}-w{}", drop.event.id, at + 1), "can", weight, working, formats)
    })
}

fn row(key: String, unit: &'static str, weight: Weight, working: String, formats: Formats) -> Row {
    Row {
        key,
        number: String::new(),
        unit,
        what: String::new(),
        contents: Vec::new(),
        weight: formats.weight(weight),
        working,
        two_people: needs_two_people(weight.kilograms()),
        too_heavy: false,
        estimated: String::new(),
        picture: None,
    }
}
