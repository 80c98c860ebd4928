//! The events of ten years: clients, places, pieces, quotes.

use super::sheet::{Dice, Sheet};
use super::{RECIPE_COPIES, count, day};
use crate::book_files::source::MemoryFiles;

const CLIENTS: i64 = 1_500;
const EVENTS: i64 = 3_000;
/// So many on the busy weekend.
const WEEKEND: i64 = 12;
const PLACES_EACH: i64 = 4;
const PIECES_EACH: i64 = 5;
const WEEKS_BEFORE: i64 = 510;
const WEEKS_AFTER: i64 = 12;

const FIRST: [&str; 12] = [
    "Aldous", "Bettany", "Crispin", "Delphine", "Emrys", "Fenella", "Greer", "Hesper", "Imke", "Joss",
    "Keziah", "Lowen",
];
const FAMILY: [&str; 12] = [
    "Arkle", "Brindle", "Crake", "Dunnock", "Eyot", "Fallow", "Garron", "Hythe", "Inkpen", "Jessop",
    "Kestle", "Lyde",
];
const KIND: [&str; 6] = ["wedding", "supper", "christening lunch", "anniversary", "dinner", "summer party"];
const PLACE: [&str; 4] = ["Ceremony", "Long room", "Entrance", "Family"];

struct Sheets {
    events: Sheet,
    places: Sheet,
    pieces: Sheet,
    quotes: Sheet,
    lines: Sheet,
    charges: Sheet,
    instalments: Sheet,
}

/// Writes clients, events and all that hangs on them.
pub(super) fn write(files: &mut MemoryFiles, dice: &mut Dice) {
    clients(files);
    let recipes = made_by_themselves(files);
    let terms = {
        let old = Sheet::of(files, "quote");
        old.rows.first().map(|row| old.cell(row, "terms").to_owned()).unwrap_or_default()
    };
    let blank = |table: &str| Sheet::of(files, table).blank();
    let mut sheets = Sheets {
        events: blank("event"),
        places: blank("place"),
        pieces: blank("piece"),
        quotes: blank("quote"),
        lines: blank("quote_line"),
        charges: blank("quote_charge"),
        instalments: blank("quote_instalment"),
    };
    for id in 1..=EVENTS {
        let on = if id > EVENTS - WEEKEND { id % 2 } else { any_day(dice) };
        event(&mut sheets, dice, id, on);
        pieces(&mut sheets, dice, id, &recipes);
        quote(&mut sheets, id, on, &terms);
    }
    sheets.events.into_files(files, "event");
    sheets.places.into_files(files, "place");
    sheets.pieces.into_files(files, "piece");
    sheets.quotes.into_files(files, "quote");
    sheets.lines.into_files(files, "quote_line");
    sheets.charges.into_files(files, "quote_charge");
    sheets.instalments.into_files(files, "quote_instalment");
}

fn clients(files: &mut MemoryFiles) {
    let mut new = Sheet::of(files, "client").blank();
    let names = FIRST.iter().flat_map(|first| FAMILY.iter().map(move |family| format!("{first} {family}")));
    for (id, name) in (1..=CLIENTS).zip(names.cycle()) {
        let name = if id > 144 { format!("{name} of No. {}", id / 144) } else { name };
        new.add(None, &[("id", id.to_string()), ("version", "1".into()), ("name", name)]);
    }
    new.into_files(files, "client");
}

/// The recipes that are sold by themselves.
fn made_by_themselves(files: &MemoryFiles) -> Vec<i64> {
    let recipes = Sheet::of(files, "recipe");
    debug_assert_eq!(count(&recipes) % RECIPE_COPIES, 0);
    let sold = recipes.rows.iter().filter(|row| recipes.cell(row, "category") != "part");
    sold.map(|row| recipes.number(row, "id")).collect()
}

/// A day of the ten years, most often a Saturday, never the busy weekend; days after its Saturday.
fn any_day(dice: &mut Dice) -> i64 {
    let week = match dice.below(WEEKS_BEFORE + WEEKS_AFTER) - WEEKS_BEFORE {
        0 => -1,
        week => week,
    };
    week * 7 + dice.pick(&[0, 0, 0, 0, 0, 0, -1, 1, -1, 1, -2])
}

fn event(sheets: &mut Sheets, dice: &mut Dice, id: i64, on: i64) {
    let past = on < -7;
    let ending = match dice.below(100) {
        0..80 if past => "closed",
        80..96 if past => "lost",
        96.. if past => "cancelled",
        _ => "",
    };
    let family = dice.pick(&FAMILY);
    let mut cells = vec![
        ("id", id.to_string()),
        ("version", "1".into()),
        ("client_id", (dice.below(CLIENTS) + 1).to_string()),
        ("name", format!("{family} {}", dice.pick(&KIND))),
        ("day", day(on)),
        ("set_up_time", "10:00".into()),
        ("start_time", format!("{}:00", 13 + dice.below(7))),
        ("end_time", "23:30".into()),
        ("strike_time", "23:45".into()),
        ("venue", format!("{} Hall", dice.pick(&FAMILY))),
        ("guests", (30 + dice.below(120)).to_string()),
        ("seats", dice.pick(&[8, 10]).to_string()),
        ("budget", (100_000 + dice.below(900) * 1_000).to_string()),
        ("enquired_on", day(on - 60 - dice.below(300))),
    ];
    if !ending.is_empty() {
        cells.extend([("ended_on", day(on + 3)), ("ending", ending.to_owned())]);
    }
    sheets.events.add(None, &cells);
}

fn pieces(sheets: &mut Sheets, dice: &mut Dice, event: i64, recipes: &[i64]) {
    let mut piece = (event - 1) * PLACES_EACH * PIECES_EACH;
    for (position, name) in (0..PLACES_EACH).zip(PLACE) {
        let place = (event - 1) * PLACES_EACH + position + 1;
        sheets.places.add(
            None,
            &[
                ("id", place.to_string()),
                ("event_id", event.to_string()),
                ("name", name.into()),
                ("position", position.to_string()),
            ],
        );
        for _ in 0..PIECES_EACH {
            piece += 1;
            let (rule, count) =
                if dice.happens(15) { ("per_table", 1) } else { ("number", dice.below(6) + 1) };
            sheets.pieces.add(
                None,
                &[
                    ("id", piece.to_string()),
                    ("event_id", event.to_string()),
                    ("place_id", place.to_string()),
                    ("recipe_id", dice.pick(recipes).to_string()),
                    ("position", (piece % (PLACES_EACH * PIECES_EACH)).to_string()),
                    ("count_rule", rule.into()),
                    ("count", (count * 1000).to_string()),
                ],
            );
        }
    }
}

/// Each event's quote has the event's own number.
fn quote(sheets: &mut Sheets, event: i64, on: i64, terms: &str) {
    let id = event.to_string();
    sheets.quotes.add(
        None,
        &[
            ("id", id.clone()),
            ("version", "1".into()),
            ("event_id", id.clone()),
            ("priced_on", day((on - 60).min(0))),
            ("valid_until", day(on - 30)),
            ("terms", terms.to_owned()),
            ("prices_include_tax", "0".into()),
            ("discount_kind", "none".into()),
            ("discount", "0".into()),
        ],
    );
    let each = PLACES_EACH * PIECES_EACH;
    for position in 0..each {
        let piece = ((event - 1) * each + position + 1).to_string();
        sheets.lines.add(
            None,
            &[
                ("id", piece.clone()),
                ("quote_id", id.clone()),
                ("position", position.to_string()),
                ("piece_id", piece),
                ("discount_kind", "none".into()),
                ("discount", "0".into()),
                ("tax_rate_id", "1".into()),
            ],
        );
    }
    for (number, kind) in ["delivery", "set_up", "strike"].into_iter().enumerate() {
        let cells = [("kind", kind), ("rule", "amount"), ("value", "9000"), ("tax_rate_id", "1")];
        add_numbered(&mut sheets.charges, event, 3, number, &cells);
    }
    for (number, label) in ["Deposit", "Rest"].into_iter().enumerate() {
        let position = if number == 0 { "0" } else { "1" };
        let cells = [("position", position), ("label", label), ("share", "500000")];
        add_numbered(&mut sheets.instalments, event, 2, number, &cells);
    }
}

fn add_numbered(sheet: &mut Sheet, event: i64, each: i64, number: usize, cells: &[(&'static str, &str)]) {
    let id = (event - 1) * each + i64::try_from(number).unwrap_or(0) + 1;
    let mut all = vec![("id", id.to_string()), ("quote_id", event.to_string())];
    all.extend(cells.iter().map(|(name, value)| (*name, (*value).to_owned())));
    sheet.add(None, &all);
}
