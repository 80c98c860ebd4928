//! A book of ten years' work, for measuring: the demo's suppliers, materials and recipes many times over, and three
//! thousand events with their pieces and quotes. It follows from the seed alone, and is made as files of the export
//! format, so that it is read by the same code as any import. Knows every room, as the desk does.

mod events;
mod sheet;

use std::path::Path;

use sheet::{Dice, Sheet};

use crate::book_files::BookFilesError;
use crate::book_files::import::import;
use crate::book_files::source::{MemoryFiles, Source};
use crate::clock::Clock;
use crate::demo;

/// How much of everything.
const SUPPLIERS: i64 = 12;
const MATERIALS: i64 = 2_000;
const OFFERS_EACH: i64 = 10;
const PRICES_EACH: i64 = 5;
const RECIPE_COPIES: i64 = 13;
/// A recipe's copy takes its materials from these copies of the demo's.
const MATERIAL_COPIES: i64 = 29;
const SEED_DAYS: i64 = 3_650;

/// Makes the book at a path where none is yet; says how many rows it has. Its busy weekend is the demo's.
pub async fn make(path: &Path, seed: u64, clock: Clock) -> Result<u64, BookFilesError> {
    let files = files(seed);
    let today = clock.today(&jiff::tz::TimeZone::UTC);
    import(Source::Memory(&files), path, demo::weeks_to_move(today)).await
}

fn files(seed: u64) -> MemoryFiles {
    let mut files = demo::files();
    let mut dice = Dice::new(seed);
    for table in ["quote_version", "quote_acceptance", "pull_extra"] {
        Sheet::of(&files, table).blank().into_files(&mut files, table);
    }
    suppliers(&mut files);
    materials(&mut files, &mut dice);
    offers(&mut files, &mut dice);
    recipes(&mut files, &mut dice);
    events::write(&mut files, &mut dice);
    files
}

fn day(after_saturday: i64) -> String {
    demo::SATURDAY.plus(after_saturday).to_string()
}

fn moment(day: &str) -> String {
    format!("{day}T08:00:00Z")
}

fn copies(name: &str, copy: i64) -> String {
    if copy == 0 { name.to_owned() } else { format!("{name} ({})", copy + 1) }
}

fn suppliers(files: &mut MemoryFiles) {
    let old = Sheet::of(files, "supplier");
    let mut new = old.blank();
    for (id, row) in (1..=SUPPLIERS).zip(old.rows.iter().cycle()) {
        let copy = (id - 1) / count(&old);
        new.add(Some(row), &[("id", id.to_string()), ("name", copies(old.cell(row, "name"), copy))]);
    }
    new.into_files(files, "supplier");
}

fn materials(files: &mut MemoryFiles, dice: &mut Dice) {
    let old = Sheet::of(files, "material");
    let mut new = old.blank();
    for (id, row) in (1..=MATERIALS).zip(old.rows.iter().cycle()) {
        let copy = (id - 1) / count(&old);
        let preferred = dice.below(SUPPLIERS) + 1;
        new.add(
            Some(row),
            &[
                ("id", id.to_string()),
                ("name", copies(old.cell(row, "name"), copy)),
                ("preferred_supplier_id", preferred.to_string()),
            ],
        );
    }
    new.into_files(files, "material");
}

/// Ten suppliers ask for each material, each with a price that has moved a few times in ten years.
fn offers(files: &mut MemoryFiles, dice: &mut Dice) {
    let mut offers = Sheet::of(files, "offer").blank();
    let mut prices = Sheet::of(files, "offer_price").blank();
    let (mut offer_id, mut price_id) = (0, 0);
    for material in 1..=MATERIALS {
        let first = dice.below(SUPPLIERS);
        let each = 40 + dice.below(200);
        for step in 0..OFFERS_EACH {
            offer_id += 1;
            let size = dice.pick(&[1, 5, 10, 10, 10, 12, 20, 25, 50, 100]);
            // Every fifth is sold for half of the year only.
            let season = if dice.happens(20) { dice.pick(&[63, 4032]) } else { 4095 };
            offers.add(
                None,
                &[
                    ("id", offer_id.to_string()),
                    ("version", "1".into()),
                    ("supplier_id", ((first + step) % SUPPLIERS + 1).to_string()),
                    ("material_id", material.to_string()),
                    ("pack_name", if size >= 50 { "box" } else { "bunch" }.into()),
                    ("pack_size", size.to_string()),
                    ("least_packs", "1".into()),
                    ("season", season.to_string()),
                ],
            );
            for change in 0..PRICES_EACH {
                price_id += 1;
                let from = day(change * SEED_DAYS / PRICES_EACH + dice.below(300) - SEED_DAYS);
                let price = each * size * (80 + change * 5 + dice.below(20)) / 100;
                prices.add(
                    None,
                    &[
                        ("id", price_id.to_string()),
                        ("offer_id", offer_id.to_string()),
                        ("recorded_at", moment(&from)),
                        ("from_day", from),
                        ("price", price.max(5).to_string()),
                    ],
                );
            }
        }
    }
    offers.into_files(files, "offer");
    prices.into_files(files, "offer_price");
}

fn recipes(files: &mut MemoryFiles, dice: &mut Dice) {
    let (old, old_lines) = (Sheet::of(files, "recipe"), Sheet::of(files, "recipe_line"));
    let old_substitutes = Sheet::of(files, "recipe_substitute");
    let materials = count(&Sheet::of(&demo::files(), "material"));
    let (mut new, mut lines, mut substitutes) = (old.blank(), old_lines.blank(), old_substitutes.blank());
    for copy in 0..RECIPE_COPIES {
        let recipe = |id: i64| (id + copy * count(&old)).to_string();
        for row in &old.rows {
            let name = copies(old.cell(row, "name"), copy);
            new.add(Some(row), &[("id", recipe(old.number(row, "id"))), ("name", name)]);
        }
        for row in &old_lines.rows {
            let old_id = old_lines.number(row, "id");
            let id = old_id + copy * count(&old_lines);
            let other = dice.below(MATERIAL_COPIES) * materials;
            let mut cells =
                vec![("id", id.to_string()), ("recipe_id", recipe(old_lines.number(row, "recipe_id")))];
            match (old_lines.number(row, "material_id"), old_lines.number(row, "part_id")) {
                (0, part) => cells.push(("part_id", recipe(part))),
                (material, _) => cells.push(("material_id", (material + other).to_string())),
            }
            lines.add(Some(row), &cells);
            for row in
                old_substitutes.rows.iter().filter(|row| old_substitutes.number(row, "line_id") == old_id)
            {
                let material = old_substitutes.number(row, "material_id") + other;
                substitutes.add(None, &[("line_id", id.to_string()), ("material_id", material.to_string())]);
            }
        }
    }
    new.into_files(files, "recipe");
    lines.into_files(files, "recipe_line");
    substitutes.into_files(files, "recipe_substitute");
}

fn count(sheet: &Sheet) -> i64 {
    i64::try_from(sheet.rows.len()).unwrap_or(0).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_makes_the_same_book() {
        let (one, two) = (files(1), files(1));
        assert!(one == two);
        let rows = |table: &str| Sheet::of(&one, table).rows.len();
        assert_eq!(
            (rows("event"), rows("piece"), rows("material"), rows("offer")),
            (3_000, 60_000, 2_000, 20_000)
        );
        assert_eq!((rows("recipe"), rows("quote"), rows("quote_line")), (338, 3_000, 60_000));
    }
}
