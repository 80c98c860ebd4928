//! The recipe's form: what is typed once a recipe, and its lines.

use serde::Deserialize;

use super::names::Names;
use super::{Category, Ingredient, Measure, NewLine, NewRecipe, Recipe, RecipeBook, Travel, amount};
use crate::ground::caution::{Caution, Cautions};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::quantity::{Length, Quantity};
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// More lines than this in one recipe are refused.
pub const MOST_LINES: usize = 100;
/// By how many pieces an event's own things are borne where nothing else is said.
pub const USUAL_BATCH: i64 = 10;
/// Empty lines at the end of the grid, so that it can be filled without script.
const SPARE_LINES: usize = 3;
/// The most bench minutes of one piece.
const MOST_MINUTES: Quantity = Quantity::whole(10_000);

/// No piece is larger: 20 m.
const LONGEST: Length = Length::from_um(20_000_000);

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct RecipeForm {
    pub id: String,
    pub version: String,
    pub batch: String,
    pub name: String,
    pub category: String,
    pub minutes: String,
    pub holding_hours: String,
    pub steps: String,
    pub client_words: String,
    pub note: String,
    pub second_binding: String,
    pub stem_clearance: String,
    pub diameter: String,
    pub height: String,
    pub weight: String,
    pub caution: Vec<String>,
    /// One of each a line.
    pub what: Vec<String>,
    pub amount: Vec<String>,
    pub stands_in: Vec<String>,
    pub line_note: Vec<String>,
}

/// One line of the grid as typed.
#[derive(Debug, Clone, Copy)]
pub struct TypedLine<'a> {
    /// Its place, from 0.
    pub place: usize,
    /// Material or part.
    pub what: &'a str,
    /// How much of it.
    pub amount: &'a str,
    /// What may stand in.
    pub stands_in: &'a str,
    /// What to remember.
    pub note: &'a str,
}

impl TypedLine<'_> {
    /// Whether nothing was typed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        [self.what, self.amount, self.stands_in, self.note].iter().all(|cell| cell.trim().is_empty())
    }

    /// The field's id of one of its cells, which is also where its message stands.
    #[must_use]
    pub fn field(&self, cell: &str) -> String {
        format!("lines-{}-{cell}", self.place)
    }
}

impl RecipeForm {
    /// What a new recipe begins with.
    #[must_use]
    pub fn blank() -> RecipeForm {
        RecipeForm {
            batch: USUAL_BATCH.to_string(),
            category: Category::Table.code().into(),
            holding_hours: "24".into(),
            ..RecipeForm::default()
        }
    }

    /// The form filled in from a recipe.
    #[must_use]
    pub fn of(
        recipe: &Recipe,
        book: &RecipeBook,
        names: &Names,
        batch: i64,
        formats: &Formats,
    ) -> RecipeForm {
        let length = |length| formats.length_input(length);
        let material =
            |id: &MaterialId| book.materials.get(id).map_or("", |material| &material.name).to_owned();
        let what = |ingredient| match ingredient {
            Ingredient::Material(id) => material(&id),
            Ingredient::Part(id) => {
                names.written(book.recipes.get(&id).map_or("", |recipe| recipe.name.as_str()))
            }
        };
        let lines = &recipe.lines;
        RecipeForm {
            id: recipe.id.to_string(),
            version: recipe.version.to_string(),
            batch: batch.to_string(),
            name: recipe.name.clone(),
            category: recipe.category.code().into(),
            minutes: formats.quantity(recipe.minutes),
            holding_hours: recipe.holding_hours.to_string(),
            steps: recipe.steps.clone(),
            client_words: recipe.client_words.clone(),
            note: recipe.note.clone(),
            second_binding: recipe.second_binding.map(length).unwrap_or_default(),
            stem_clearance: recipe.stem_clearance.map(length).unwrap_or_default(),
            diameter: recipe.travel.diameter.map(length).unwrap_or_default(),
            height: recipe.travel.height.map(length).unwrap_or_default(),
            weight: recipe.travel.weight.map(|weight| formats.weight_input(weight)).unwrap_or_default(),
            caution: recipe.cautions.list().iter().map(|caution| caution.name().into()).collect(),
            what: lines.iter().map(|line| what(line.ingredient)).collect(),
            amount: lines.iter().map(|line| amount::written(line.measure, formats)).collect(),
            stands_in: lines
                .iter()
                .map(|line| line.substitutes.iter().map(material).collect::<Vec<_>>().join("; "))
                .collect(),
            line_note: lines.iter().map(|line| line.note.clone()).collect(),
        }
    }

    /// The lines as typed, with empty ones at the end to go on in.
    #[must_use]
    pub fn lines(&self) -> Vec<TypedLine<'_>> {
        let typed = self.what.len().max(self.amount.len()).min(MOST_LINES * 2);
        let filled = (0..typed).rev().find(|place| !self.line(*place).is_empty()).map_or(0, |last| last + 1);
        (0..filled + SPARE_LINES).map(|place| self.line(place)).collect()
    }

    fn line(&self, place: usize) -> TypedLine<'_> {
        TypedLine {
            place,
            what: at(&self.what, place),
            amount: at(&self.amount, place),
            stands_in: at(&self.stands_in, place),
            note: at(&self.line_note, place),
        }
    }

    /// Every name in the lines, to be looked up.
    #[must_use]
    pub fn typed_names(&self) -> Vec<String> {
        let substitutes = self.stands_in.iter().flat_map(|names| names.split(';'));
        let typed = self.what.iter().map(String::as_str).chain(substitutes);
        typed.map(Names::asked).filter(|name| !name.is_empty()).take(1_000).collect()
    }

    /// Of how many pieces this one is priced as one.
    #[must_use]
    pub fn batch(&self) -> i64 {
        self.batch.trim().parse().ok().filter(|batch| (1..=100_000).contains(batch)).unwrap_or(USUAL_BATCH)
    }

    /// Reads the form: a recipe, or every message.
    pub fn parse(&self, formats: &Formats, names: &Names) -> Result<NewRecipe, FieldErrors> {
        let mut c = Checker::new(formats);
        let lines = self.parse_lines(&mut c, *formats, names);
        let recipe = NewRecipe {
            name: c.name("name", &self.name, "the recipe's name"),
            category: c.pick("category", &self.category),
            minutes: minutes(&mut c, &self.minutes),
            holding_hours: c.whole("holding_hours", &self.holding_hours, 0..=720),
            steps: c.text("steps", &self.steps),
            client_words: c.text("client_words", &self.client_words),
            note: c.text("note", &self.note),
            second_binding: c.length_or_none("second_binding", &self.second_binding),
            stem_clearance: c.length_or_none("stem_clearance", &self.stem_clearance),
            cautions: self.cautions(),
            travel: self.travel(&mut c),
            lines,
        };
        c.done(recipe)
    }

    fn travel(&self, c: &mut Checker) -> Travel {
        let mut side = |field: &str, raw: &str| {
            let length = c.length_or_none(field, raw);
            if length.is_some_and(|length| length > LONGEST) {
                c.refuse(field, "No piece is larger than 20 m.");
            }
            length
        };
        let (diameter, height) = (side("diameter", &self.diameter), side("height", &self.height));
        Travel { diameter, height, weight: c.weight_or_none("weight", &self.weight) }
    }

    fn parse_lines(&self, c: &mut Checker, formats: Formats, names: &Names) -> Vec<NewLine> {
        let typed: Vec<_> = self.lines().into_iter().filter(|line| !line.is_empty()).collect();
        if typed.is_empty() {
            c.refuse("lines-0-what", "Write at least one line: a piece is made of something.");
        }
        if typed.len() > MOST_LINES {
            c.refuse("lines-0-what", format!("A recipe has at most {MOST_LINES} lines; make parts of it."));
            return Vec::new();
        }
        let mut lines = Vec::new();
        for line in typed {
            match line.parse(formats, names) {
                Ok(line) => lines.push(line),
                Err(errors) => errors.list().iter().for_each(|(field, message)| c.refuse(field, message)),
            }
        }
        lines
    }

    /// What can be read of an unfinished form: enough to reckon with. The lines are those that are whole, by place,
    /// those of removed materials too.
    #[must_use]
    pub fn draft(&self, formats: &Formats, names: &Names) -> (NewRecipe, Vec<(usize, NewLine)>) {
        let names = names.with_removed();
        let lines: Vec<(usize, NewLine)> = self
            .lines()
            .into_iter()
            .filter(|line| !line.is_empty())
            .take(MOST_LINES)
            .filter_map(|line| Some((line.place, line.parse(*formats, &names).ok()?)))
            .collect();
        let length = |raw: &str| formats.read_length(raw).ok();
        let recipe = NewRecipe {
            name: self.name.trim().chars().take(120).collect(),
            category: Category::from_code(&self.category).unwrap_or(Category::Other),
            minutes: formats.read_quantity(&self.minutes).unwrap_or_default().min(MOST_MINUTES),
            holding_hours: 0,
            steps: String::new(),
            client_words: String::new(),
            note: String::new(),
            second_binding: length(&self.second_binding),
            stem_clearance: length(&self.stem_clearance),
            cautions: self.cautions(),
            travel: Travel::default(),
            lines: lines.iter().map(|(_, line)| line.clone()).collect(),
        };
        (recipe, lines)
    }

    fn cautions(&self) -> Cautions {
        let typed = |caution: &Caution| self.caution.iter().any(|name| name == caution.name());
        Cautions::of(&Caution::ALL.into_iter().filter(typed).collect::<Vec<_>>())
    }

    /// Whether a caution is marked.
    #[must_use]
    pub fn warns_of(&self, caution: &Caution) -> bool {
        self.cautions().has(*caution)
    }

    /// The recipe being changed, if it is one.
    #[must_use]
    pub fn recipe(&self) -> Option<RecipeId> {
        self.id.parse().ok()
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &RecipeForm) -> Vec<Difference> {
        differences(&[
            ("Name", &self.name, &theirs.name),
            ("Category", &self.category, &theirs.category),
            ("Bench minutes", &self.minutes, &theirs.minutes),
            ("Holds", &self.holding_hours, &theirs.holding_hours),
            ("Lines", &self.lines_in_words(), &theirs.lines_in_words()),
            ("Steps", &self.steps.replace("\r\n", "\n"), &theirs.steps),
            ("For the client", &self.client_words.replace("\r\n", "\n"), &theirs.client_words),
            ("Note", &self.note.replace("\r\n", "\n"), &theirs.note),
            ("Second binding", &self.second_binding, &theirs.second_binding),
            ("Clearance", &self.stem_clearance, &theirs.stem_clearance),
            ("Width", &self.diameter, &theirs.diameter),
            ("Height", &self.height, &theirs.height),
            ("Weight", &self.weight, &theirs.weight),
            ("Cautions", &self.caution.join(", "), &theirs.caution.join(", ")),
        ])
    }

    fn lines_in_words(&self) -> String {
        let lines = self.lines();
        let lines = lines.iter().filter(|line| !line.is_empty());
        lines
            .map(|line| format!("{} {}", line.amount.trim(), line.what.trim()))
            .collect::<Vec<_>>()
            .join("; ")
    }
}

impl TypedLine<'_> {
    /// In a word why the line cannot be reckoned with yet, if so.
    #[must_use]
    pub fn trouble(&self, formats: &Formats, names: &Names) -> Option<&'static str> {
        let errors = self.parse(*formats, names).err()?;
        let unknown = errors.of(&self.field("what")).is_some() && !self.what.trim().is_empty();
        Some(match () {
            () if self.what.trim().is_empty() => "of what?",
            () if unknown && names.is_removed(self.what) => "removed",
            () if unknown => "no such name",
            () if self.amount.trim().is_empty() => "how much?",
            () => "not understood",
        })
    }

    fn parse(&self, formats: Formats, names: &Names) -> Result<NewLine, FieldErrors> {
        let mut c = Checker::new(&formats);
        let what = c.name(&self.field("what"), self.what, "which material or recipe");
        let ingredient = if what.is_empty() { None } else { self.ingredient(&mut c, names) };
        let measure = self.measure(&mut c, formats, ingredient);
        let line = NewLine {
            ingredient: ingredient.unwrap_or(Ingredient::Material(MaterialId(0))),
            measure,
            note: c.line(&self.field("note"), self.note),
            substitutes: self.substitutes(&mut c, names, ingredient),
        };
        c.done(line)
    }

    fn ingredient(&self, c: &mut Checker, names: &Names) -> Option<Ingredient> {
        names.ingredient(self.what).map_err(|message| c.refuse(self.field("what"), message)).ok()
    }

    fn measure(&self, c: &mut Checker, formats: Formats, of: Option<Ingredient>) -> Measure {
        let counted = Measure::Count { quantity: Quantity::whole(1) };
        match (amount::read(self.amount, &formats), of) {
            (Ok(Measure::Count { quantity }), _) => Measure::Count { quantity },
            (Ok(_), Some(Ingredient::Part(_))) => {
                c.refuse(self.field("amount"), "A recipe as a part is counted: write a number such as 2.");
                counted
            }
            (Ok(measure), _) => measure,
            (Err(message), _) => {
                c.refuse(self.field("amount"), message);
                counted
            }
        }
    }

    fn substitutes(&self, c: &mut Checker, names: &Names, of: Option<Ingredient>) -> Vec<MaterialId> {
        let field = self.field("stands_in");
        let typed: Vec<&str> =
            self.stands_in.split(';').map(str::trim).filter(|name| !name.is_empty()).collect();
        if !typed.is_empty() && matches!(of, Some(Ingredient::Part(_))) {
            c.refuse(&field, "Nothing stands in for a recipe: name substitutes in its own lines.");
            return Vec::new();
        }
        let mut found = Vec::new();
        for name in typed {
            match names.material(name) {
                Ok(id) if Some(Ingredient::Material(id)) == of => {
                    c.refuse(&field, "A material does not stand in for itself.");
                }
                Ok(id) => found.push(id),
                Err(message) => c.refuse(&field, message),
            }
        }
        found.sort_unstable();
        found.dedup();
        found
    }
}

fn minutes(c: &mut Checker, raw: &str) -> Quantity {
    if raw.trim() == "0" {
        return Quantity::default();
    }
    let minutes = c.quantity("minutes", raw);
    if minutes > MOST_MINUTES {
        c.refuse("minutes", "Write at most 10,000 minutes.");
    }
    minutes
}

fn at(column: &[String], place: usize) -> &str {
    column.get(place).map_or("", String::as_str)
}

#[cfg(test)]
mod tests;
