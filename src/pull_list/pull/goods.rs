//! Hard goods of one event: by place, for the event as a whole, and their spares.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::PullLine;
use super::load::{Load, TOP_UP};
use crate::events::Piece;
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::quantity::Length;
use crate::price_list::{Material, Unit};
use crate::pull_list::room::SHELF;
use crate::recipes::explosion::{ExplosionError, Need, made, need};
use crate::recipes::{Ingredient, Measure, RecipeBook};
use crate::stem_order::allowance::spare_whole;
use crate::stem_order::cuts::cutting_list;

/// What is taken off the shelf, as it adds up.
pub(super) struct Shelf<'a> {
    book: &'a RecipeBook,
    formats: &'a Formats,
    only_loans: bool,
    taken: BTreeMap<MaterialId, i64>,
    water: Load,
    shortages: Vec<String>,
}

impl<'a> Shelf<'a> {
    pub(super) fn new(book: &'a RecipeBook, formats: &'a Formats) -> Shelf<'a> {
        let (taken, shortages) = (BTreeMap::new(), Vec::new());
        Shelf { book, formats, only_loans: false, taken, water: Load::default(), shortages }
    }

    /// A shelf from which only what comes back is taken.
    pub(super) fn of_loans(book: &'a RecipeBook, formats: &'a Formats) -> Shelf<'a> {
        Shelf { only_loans: true, ..Shelf::new(book, formats) }
    }

    /// How many of each material were taken so far.
    pub(super) fn into_taken(self) -> BTreeMap<MaterialId, i64> {
        self.taken
    }

    /// The hard goods of one place, vessels first.
    pub(super) fn at_place(&mut self, pieces: &[(&Piece, i64)]) -> Result<Vec<PullLine>, ExplosionError> {
        let Some((first, _)) = pieces.first() else { return Ok(Vec::new()) };
        let place = first.place_id;
        let recipes: Vec<_> = pieces.iter().map(|(piece, count)| (piece.recipe_id, *count)).collect();
        let made = made(self.book, &recipes)?;
        let mut lines = Vec::new();
        for (material, need) in self.hard_goods(&recipes)? {
            let Some(count) = whole(need.count).filter(|count| *count > 0) else { continue };
            let working = self.working(material.id, need.count, &made);
            lines.push((material.kind, self.line(material, &place.to_string(), count, working)));
        }
        lines.sort_by(|a, b| (a.0, &a.1.name).cmp(&(b.0, &b.1.name)));
        Ok(lines.into_iter().map(|(_, line)| line).collect())
    }

    /// What is bought by the started number of pieces or once an event, rolls for cut lengths, and water.
    pub(super) fn whole_event(
        &mut self,
        recipes: &[(RecipeId, i64)],
    ) -> Result<Vec<PullLine>, ExplosionError> {
        let mut lines = Vec::new();
        for (material, need) in self.hard_goods(recipes)? {
            let once = whole(need.once).unwrap_or(0);
            let (rolls, cut) = self.rolls(material, &need.cuts);
            let count = once.saturating_add(rolls);
            if count == 0 {
                continue;
            }
            let bought = (once > 0).then(|| format!("{once} by the number of pieces, or once an event"));
            let working: Vec<String> = bought.into_iter().chain(cut).collect();
            let mut line = self.line(material, "event", count, working.join("; "));
            let note = lengths_note(&need.cuts);
            if !note.is_empty() {
                line.note = note;
            }
            lines.push((material.kind, line));
        }
        lines.sort_by(|a, b| (a.0, &a.1.name).cmp(&(b.0, &b.1.name)));
        Ok(lines.into_iter().map(|(_, line)| line).chain(self.water_lines()).collect())
    }

    /// One spare for each started `spare_per` of all that is taken; also finds what the studio does not own enough of.
    pub(super) fn spares(&mut self) -> Vec<PullLine> {
        let mut lines = Vec::new();
        let taken = std::mem::take(&mut self.taken);
        for (id, count) in taken {
            let Some(material) = self.book.materials.get(&id) else { continue };
            let spares = spares(count, material);
            if spares > 0 {
                let working = format!("1 for each started {} of {count}", material.spare_per);
                lines.push(line_of(material, "spare", spares, working));
            }
            self.compare_with_owned(material, count.saturating_add(spares));
        }
        lines.sort_by(|a, b| a.name.cmp(&b.name));
        lines
    }

    pub(super) fn into_shortages(self) -> Vec<String> {
        self.shortages
    }

    /// Need of each material that does not wilt, whatever may stand in for it.
    fn hard_goods(&self, recipes: &[(RecipeId, i64)]) -> Result<Vec<(&'a Material, Need)>, ExplosionError> {
        let book = self.book;
        let mut goods: BTreeMap<MaterialId, (&'a Material, Need)> = BTreeMap::new();
        for (wanted, need) in need(book, recipes)? {
            let Some(material) = book.materials.get(&wanted.material) else { continue };
            if material.is_fresh() || (self.only_loans && !material.loaned) {
                continue;
            }
            let (_, sum) = goods.entry(material.id).or_insert_with(|| (material, Need::default()));
            sum.count += need.count;
            sum.once += need.once;
            for (length, count) in need.cuts {
                *sum.cuts.entry(length).or_default() += count;
            }
        }
        Ok(goods.into_values().collect())
    }

    fn line(&mut self, material: &Material, place: &str, count: i64, working: String) -> PullLine {
        let taken = self.taken.entry(material.id).or_default();
        *taken = taken.saturating_add(count);
        let mut line = line_of(material, place, count, working);
        if let Some((note, two_people)) = self.water.add(material, count) {
            line.note = if line.note.is_empty() { note } else { format!("{}, {note}", line.note) };
            line.two_people = two_people;
        }
        line
    }

    /// Rolls for cut lengths, laid out together; what cannot be laid out is named and counted as one.
    fn rolls(&mut self, material: &Material, cuts: &BTreeMap<Length, Decimal>) -> (i64, Option<String>) {
        if cuts.is_empty() {
            return (0, None);
        }
        if let Ok(list) = cutting_list(material, cuts) {
            let rolls = i64::try_from(list.stems()).unwrap_or(i64::MAX);
            return (rolls, Some(list.working(material, self.formats)));
        }
        let lengths = cuts.iter().map(|(length, count)| {
            format!("{} × {}", count.ceil().normalize(), self.formats.length(*length))
        });
        let words = lengths.collect::<Vec<_>>().join(", ");
        self.shortages.push(format!(
            "{}: {words}. How many that takes cannot be told from the price list's usable length; counted as one.",
            material.name
        ));
        (1, Some(words))
    }

    /// What fills the vessels, which travels in them, and what goes along to top them up.
    fn water_lines(&self) -> Vec<PullLine> {
        let Some((litres, kilograms, working)) = self.water.total() else { return Vec::new() };
        let fill = water_line("water", litres, "Water for the vessels");
        let top_up = water_line("water-top-up", self.top_up(), "Water to top up");
        let share = (TOP_UP * Decimal::ONE_HUNDRED).normalize();
        vec![
            PullLine { note: format!("The vessels travel with it: {kilograms} kg in all"), working, ..fill },
            PullLine {
                note:
                    "In cans, for what slops on the way; all of it where they travel dry and there is no tap"
                        .into(),
                working: format!("{share} % of the vessels' water, rounded up: our own assumption"),
                ..top_up
            },
        ]
    }

    /// Litres that go along to top up the vessels.
    pub(super) fn top_up(&self) -> i64 {
        self.water.top_up()
    }

    fn compare_with_owned(&mut self, material: &Material, taken: i64) {
        if material.loaned && taken > material.owned {
            let (owned, short) = (material.owned, taken - material.owned);
            self.shortages.push(format!(
                "{}: {taken} are wanted, the studio owns {owned}. Hire or buy {short}.",
                material.name
            ));
        }
    }

    /// 2 × 14 (Low bowl) + 1 × 2 (Arch) = 30.
    fn working(&self, material: MaterialId, count: Decimal, made: &BTreeMap<RecipeId, Decimal>) -> String {
        let mut parts = Vec::new();
        for (id, pieces) in made {
            let Some(recipe) = self.book.recipes.get(id) else { continue };
            for line in recipe.lines.iter().filter(|line| line.ingredient == Ingredient::Material(material)) {
                if let Measure::Count { quantity } = line.measure {
                    let (pieces, each) = (pieces.normalize(), quantity.decimal().normalize());
                    parts.push(format!("{pieces} × {each} ({})", recipe.name));
                }
            }
        }
        let rounded = if count.fract().is_zero() { "" } else { ", rounded up" };
        format!("{} = {}{rounded}", parts.join(" + "), count.normalize())
    }
}

fn line_of(material: &Material, place: &str, count: i64, working: String) -> PullLine {
    PullLine {
        key: format!("m{}-{place}", material.id),
        count,
        unit: unit(material, count).into(),
        name: material.name.clone(),
        kind: material.kind.label().into(),
        comes_back: material.loaned,
        two_people: false,
        note: material.colour.clone(),
        working,
        // What goes into pieces travels in them.
        room: ["event", "spare"].contains(&place).then_some(SHELF),
    }
}

fn water_line(key: &str, litres: i64, name: &str) -> PullLine {
    PullLine {
        key: key.into(),
        count: litres,
        unit: "litres".into(),
        name: name.into(),
        kind: "Water".into(),
        comes_back: false,
        two_people: false,
        note: String::new(),
        working: String::new(),
        room: None,
    }
}

/// How many lengths are cut from it: which, the prep sheet says.
fn lengths_note(cuts: &BTreeMap<Length, Decimal>) -> String {
    let lengths = cuts.values().map(Decimal::ceil).sum::<Decimal>();
    if lengths.is_zero() {
        return String::new();
    }
    let unit = if lengths == Decimal::ONE { "length" } else { "lengths" };
    format!("{} {unit} to cut", lengths.normalize())
}

fn unit(material: &Material, count: i64) -> &'static str {
    match (material.unit, count) {
        (Unit::Roll, 1) => "roll",
        (Unit::Roll, _) => "rolls",
        _ => "",
    }
}

/// As the stem order has it: none of what is loaned, which is counted on the shelf.
fn spares(count: i64, material: &Material) -> i64 {
    if material.loaned {
        return 0;
    }
    let (Ok(count), Ok(one_per)) = (u64::try_from(count), u64::try_from(material.spare_per)) else {
        return 0;
    };
    i64::try_from(spare_whole(count, one_per)).unwrap_or(i64::MAX)
}

fn whole(count: Decimal) -> Option<i64> {
    i64::try_from(count.ceil()).ok()
}
