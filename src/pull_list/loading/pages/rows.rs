//! The rows of the load sheet's table: a crate, a can, or what is loose, to be ticked when it is in.

mod goods;

use super::super::crates::Lot;
use super::super::sheet::{Drop, Freight, LoadSheet};
use super::super::sizes::PieceSize;
use super::pictures::{CratePicture, of_crate};
use crate::ground::formats::Formats;
use crate::ground::weight::Weight;
use crate::pull_list::vessel_water::needs_two_people;

/// One thing that goes into the van.
pub(super) struct Row {
    /// The same each time the sheet is made, so that a tick stays where it was set.
    pub(super) key: String,
    /// `3`, `K1` for kit and goods, large; nothing for what is loose.
    pub(super) number: String,
    /// `crate`, `can`, `loose`.
    pub(super) unit: &'static str,
    /// The kind of crate, or the piece.
    pub(super) what: String,
    /// What stands in it: its number in the picture (0 where it has none), how many, what and where it goes.
    pub(super) contents: Vec<(usize, String)>,
    /// What it weighs, and the sum behind that.
    pub(super) weight: String,
    pub(super) working: String,
    pub(super) two_people: bool,
    pub(super) too_heavy: bool,
    /// What of it is estimated, in words; empty if nothing.
    pub(super) estimated: String,
    pub(super) picture: Option<CratePicture>,
}

/// Equal rows that are loaded one after the other, shown as one.
pub(super) struct Group<'a> {
    /// Each of them, by its number.
    pub(super) rows: Vec<&'a Row>,
}

impl<'a> Group<'a> {
    /// What they have in common.
    pub(super) fn first(&self) -> &'a Row {
        self.rows[0]
    }

    pub(super) fn several(&self) -> bool {
        self.rows.len() > 1
    }

    /// `17`, `9–14`, `5, 7`; how many where they have no numbers.
    pub(super) fn numbers(&self) -> String {
        let numbers: Vec<&str> = self.rows.iter().map(|row| row.number.as_str()).collect();
        match (numbers.first(), numbers.last()) {
            (Some(&""), _) => self.rows.len().to_string(),
            (Some(first), Some(last)) if self.is_run() && numbers.len() > 2 => format!("{first}–{last}"),
            _ => numbers.join(", "),
        }
    }

    fn is_run(&self) -> bool {
        let number = |row: &Row| row.number.parse::<usize>().ok();
        self.rows.windows(2).all(|pair| number(pair[0]).map(|number| number + 1) == number(pair[1]))
    }

    /// `crate`, `6 crates`, `loose`.
    pub(super) fn unit(&self) -> String {
        match (self.first().unit, self.rows.len()) {
            ("crate", many) if many > 1 => format!("{many} crates"),
            ("can", many) if many > 1 => "cans".into(),
            (unit, _) => unit.into(),
        }
    }
}

/// Equal neighbours together, each group by number.
pub(super) fn grouped(rows: Vec<&Row>) -> Vec<Group<'_>> {
    let mut groups: Vec<Group<'_>> = Vec::new();
    for row in rows {
        match groups.last_mut().filter(|group| group.first().is_like(row)) {
            Some(group) => group.rows.push(row),
            None => groups.push(Group { rows: vec![row] }),
        }
    }
    for group in &mut groups {
        group.rows.sort_by_key(|row| row.number.parse::<usize>().unwrap_or(0));
    }
    groups
}

impl Row {
    fn is_like(&self, other: &Row) -> bool {
        (self.unit, &self.what, &self.contents, &self.working)
            == (other.unit, &other.what, &other.contents, &other.working)
    }

    /// What a tick on it says aloud.
    pub(super) fn spoken(&self) -> String {
        format!("In the van: {} {} {}", self.unit, self.number, self.what)
    }
}

/// Everything on the floor, each with its drop, in the order of the drops.
pub(super) fn rows(sheet: &LoadSheet, formats: Formats) -> Vec<Row> {
    sheet
        .freight
        .iter()
        .filter_map(|freight| {
            let drop = sheet.drops.get(freight.drop())?;
            match freight {
                Freight::Crate(_, at) => crate_row(sheet, drop, *at, formats),
                Freight::Loose(_, lot, number) => {
                    Some(loose_row(drop, drop.lots.get(*lot)?, *number, formats))
                }
                Freight::Goods(_, at) => goods::crate_row(sheet, drop, *at, formats),
                Freight::LooseGoods(_, line, number) => goods::loose_row(drop, *line, *number, formats),
                Freight::Can(_, at) => goods::can_row(drop, *at, formats),
            }
        })
        .collect()
}

fn crate_row(sheet: &LoadSheet, drop: &Drop, at: usize, formats: Formats) -> Option<Row> {
    let packed = drop.packed.crates.get(at)?;
    let kind = sheet.kinds.get(packed.kind)?;
    let held: Vec<(&Lot, i64)> =
        packed.contents.iter().filter_map(|(lot, count)| Some((drop.lots.get(*lot)?, *count))).collect();
    let contents = (1..)
        .zip(&held)
        .map(|(label, (lot, count))| (label, format!("{count} × {}, {}", lot.what, lot.place)));
    let weights = held.iter().map(|(lot, count)| {
        let water = if lot.size.water == Weight::default() { "" } else { " with water" };
        format!("{count} × {}{water} ({})", formats.weight(lot.size.weight), lot.what)
    });
    let working = format!(
        "{} + {} (the crate) = {}. {} have room in it, {}.",
        weights.collect::<Vec<_>>().join(" + "),
        formats.weight(kind.own_weight),
        formats.weight(packed.weight),
        packed.packing.count(),
        packed.packing.words()
    );
    Some(Row {
        key: format!("e{}-c{}", drop.event.id, packed.number),
        number: packed.number.to_string(),
        unit: "crate",
        what: kind.name.clone(),
        contents: contents.collect(),
        weight: formats.weight(packed.weight),
        working,
        two_people: needs_two_people(packed.weight.kilograms()),
        too_heavy: packed.too_heavy,
        estimated: estimated(held.iter().map(|(lot, _)| &lot.size)),
        picture: Some(of_crate(kind, &drop.lots, packed)),
    })
}

fn loose_row(drop: &Drop, lot: &Lot, number: i64, formats: Formats) -> Row {
    let why = drop.packed.loose.iter().find(|loose| drop.lots.get(loose.lot) == Some(lot));
    let size = &lot.size;
    Row {
        key: format!("e{}-l{}-{number}", drop.event.id, lot.piece),
        number: String::new(),
        unit: "loose",
        what: format!("{}, {}", lot.what, lot.place),
        contents: Vec::new(),
        weight: formats.weight(size.weight),
        working: format!(
            "{} wide, {} high, {} of it water: {}.",
            formats.length(size.diameter),
            formats.length(size.height),
            formats.weight(size.water),
            why.map_or("loose", |loose| loose.why)
        ),
        two_people: needs_two_people(size.weight.kilograms()),
        too_heavy: false,
        estimated: estimated([size].into_iter()),
        picture: None,
    }
}

/// `width and weight estimated`.
fn estimated<'a>(sizes: impl Iterator<Item = &'a PieceSize>) -> String {
    let mut all: Vec<&str> = Vec::new();
    for what in sizes.flat_map(|size| &size.estimated) {
        if !all.contains(what) {
            all.push(what);
        }
    }
    match all.as_slice() {
        [] => String::new(),
        [one] => format!("{one} estimated"),
        [first @ .., last] => format!("{} and {last} estimated", first.join(", ")),
    }
}
