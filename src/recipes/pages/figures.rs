//! What a recipe costs, as its page shows it: every figure with the sum behind it, the bar of its parts, what has no
//! price, whether a bundle holds, where it can hurt someone.

use std::collections::HashMap;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::super::cost::{CostLine, Costing, PiecePrice};
use super::super::forms::RecipeForm;
use super::super::{Ingredient, NewLine, NewRecipe, Recipe, RecipeBook, store};
use super::tied::{Binding, bindings};
use super::working::{Words, why};
use crate::ground::caution::Caution;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::money::Money;
use crate::ground::quantity::{Factor, Quantity};
use crate::price_list::{self, CostKind, UnitCost};
use crate::studio::visit::Visit;
use crate::studio::{LabourRule, RoundingDirection, Studio};
use crate::web::answer::Trouble;

/// A recipe that is not in the book yet.
pub(super) const DRAFT: RecipeId = RecipeId(0);

/// Everything shown of a recipe's cost, in words.
#[derive(Default)]
pub(super) struct Figures {
    /// Why there are none.
    pub(super) trouble: Option<String>,
    pub(super) kinds: Vec<KindRow>,
    pub(super) cost: String,
    pub(super) price: String,
    pub(super) price_working: String,
    pub(super) margin: Option<String>,
    pub(super) margin_working: String,
    pub(super) batch: i64,
    pub(super) unpriced: Vec<Unpriced>,
    pub(super) bar: Vec<BarPart>,
    pub(super) bar_words: String,
    pub(super) bindings: Vec<Binding>,
    pub(super) cautions: Vec<Caution>,
    /// What each line costs, or in a word why it cannot be told; by place.
    pub(super) line_costs: HashMap<usize, String>,
}

/// One part of the price.
pub(super) struct KindRow {
    pub(super) label: &'static str,
    pub(super) cost: String,
    pub(super) working: Vec<String>,
    pub(super) markup: String,
    pub(super) asked: String,
    /// The same, unrounded.
    exact: String,
}

/// A material whose cost is not known.
pub(super) struct Unpriced {
    pub(super) id: MaterialId,
    pub(super) name: String,
    pub(super) why: &'static str,
}

/// One part of the stacked bar, in thousandths of its width.
pub(super) struct BarPart {
    pub(super) number: usize,
    pub(super) x: i64,
    pub(super) width: i64,
    pub(super) words: String,
}

impl BarPart {
    pub(super) fn is_wide(&self) -> bool {
        self.width > 60
    }

    pub(super) fn text_x(&self) -> i64 {
        self.x + 18
    }
}

impl Figures {
    /// What stands at a line's end.
    pub(super) fn line_cost(&self, place: usize) -> &str {
        self.line_costs.get(&place).map_or("", String::as_str)
    }

    pub(super) fn is_of_nothing(&self) -> bool {
        self.trouble.is_none() && self.kinds.is_empty()
    }
}

/// A share as a percentage with one decimal.
pub(super) fn percent(share: Decimal) -> String {
    let tenths = (share * Decimal::ONE_THOUSAND).round();
    format!("{:.1}\u{a0}%", tenths / Decimal::TEN)
}

/// The figures of a form as typed.
pub(super) async fn of_form(visit: &mut Visit, form: &RecipeForm) -> Result<Figures, Trouble> {
    let formats = visit.studio.formats;
    let names = store::names::names(&mut visit.connection, &form.typed_names()).await?;
    let (draft, lines) = form.draft(&formats, &names);
    let id = form.recipe().unwrap_or(DRAFT);
    let mut book = book_of(visit, &draft, id).await?;
    let materials: Vec<MaterialId> = book.materials.keys().copied().collect();
    let costs = price_list::store::unit_costs(&mut visit.connection, &materials, visit.today).await?;
    let mut line_costs = line_costs(&visit.studio, &mut book, &costs, (&draft, &lines), form.batch());
    for line in form.lines().iter().filter(|line| !line.is_empty()) {
        if let Some(trouble) = line.trouble(&formats, &names) {
            line_costs.insert(line.place, trouble.to_owned());
        }
    }
    let recipe = draft.draft(id);
    Ok(Figures { line_costs, ..of_recipe(&visit.studio, &book, &costs, &recipe, form.batch()) })
}

/// The book of a draft: its parts from the book as it is, itself as typed.
async fn book_of(visit: &mut Visit, draft: &NewRecipe, id: RecipeId) -> Result<RecipeBook, sqlx::Error> {
    let recipe = draft.draft(id);
    let parts = recipe.lines.iter().filter_map(|line| match line.ingredient {
        Ingredient::Part(part) => Some(part),
        Ingredient::Material(_) => None,
    });
    let mut book = store::recipe_book(&mut visit.connection, &parts.collect::<Vec<_>>()).await?;
    let own: Vec<MaterialId> = recipe.lines.iter().flat_map(super::super::RecipeLine::materials).collect();
    book.materials.extend(price_list::store::materials(&mut visit.connection, &own).await?);
    book.recipes.insert(id, recipe);
    Ok(book)
}

/// Each line priced by itself, as a recipe of that line only.
fn line_costs(
    studio: &Studio,
    book: &mut RecipeBook,
    costs: &HashMap<MaterialId, UnitCost>,
    (draft, lines): (&NewRecipe, &[(usize, NewLine)]),
    batch: i64,
) -> HashMap<usize, String> {
    let alone = RecipeId(-1);
    let mut words = HashMap::new();
    for (place, line) in lines {
        let single = NewRecipe { lines: vec![line.clone()], minutes: Quantity::default(), ..draft.clone() };
        book.recipes.insert(alone, single.draft(alone));
        let price = Costing::of(studio, book, costs).piece(alone, batch);
        words
            .insert(*place, price.map_or_else(|_| String::new(), |price| line_words(&price, studio.formats)));
    }
    book.recipes.remove(&alone);
    words
}

fn line_words(price: &PiecePrice, formats: Formats) -> String {
    let missing = price.lines.iter().find_map(|line| line.missing);
    match missing {
        Some(missing) if price.lines.len() == 1 => why(missing).to_owned(),
        _ => formats.money(Money::rounded(price.cost())),
    }
}

/// The figures of a recipe of a book.
pub(super) fn of_recipe(
    studio: &Studio,
    book: &RecipeBook,
    costs: &HashMap<MaterialId, UnitCost>,
    recipe: &Recipe,
    batch: i64,
) -> Figures {
    let about = Figures {
        batch,
        bindings: bindings(book, recipe, studio.formats),
        cautions: book.cautions(recipe).list(),
        ..Figures::default()
    };
    match Costing::of(studio, book, costs).piece(recipe.id, batch) {
        Err(error) => Figures { trouble: Some(error.to_string()), ..about },
        Ok(price) if price.lines.is_empty() && price.minutes.is_zero() => about,
        Ok(price) => priced(about, &price, studio, &Words { book, costs, formats: studio.formats }),
    }
}

fn priced(about: Figures, price: &PiecePrice, studio: &Studio, words: &Words<'_>) -> Figures {
    let formats = words.formats;
    let kinds = kinds(price, studio, words);
    let (bar, bar_words) = bar(price, formats);
    let unpriced = price.lines.iter().filter_map(|line| {
        let name = words.name(line.material).to_owned();
        Some(Unpriced { id: line.material, name, why: why(line.missing?) })
    });
    let exact: Vec<&str> = kinds.iter().map(|kind| kind.exact.as_str()).collect();
    Figures {
        unpriced: unpriced.collect(),
        cost: formats.money(Money::rounded(price.cost())),
        price: formats.money(price.price),
        price_working: format!(
            "{} = {}, {}",
            exact.join(" + "),
            formats.unit_cost(price.computed),
            rounding_words(studio)
        ),
        margin: price.margin_at(price.price).map(percent),
        margin_working: format!(
            "({} − {}) ÷ {}",
            formats.money(price.price),
            formats.unit_cost(price.cost()),
            formats.money(price.price)
        ),
        kinds,
        bar,
        bar_words,
        ..about
    }
}

fn rounding_words(studio: &Studio) -> String {
    let step = studio.formats.money(studio.rounding.step);
    match studio.rounding.direction {
        RoundingDirection::Up => format!("brought up to steps of {step}"),
        RoundingDirection::Nearest => format!("brought to the nearest {step}"),
    }
}

fn kinds(price: &PiecePrice, studio: &Studio, words: &Words<'_>) -> Vec<KindRow> {
    let (formats, markups) = (words.formats, studio.markups);
    let row = |label, kind: CostKind, cost: Decimal, markup: Option<Factor>| {
        let lines: Vec<&CostLine> = price.lines.iter().filter(|line| line.kind == kind).collect();
        let factor = markup.map_or(Decimal::ONE, Factor::decimal);
        (!lines.is_empty()).then(|| KindRow {
            label,
            cost: formats.money(Money::rounded(cost)),
            working: lines.iter().map(|line| words.working(line)).collect(),
            markup: markup.map_or_else(|| "as it is".to_owned(), |markup| formats.factor(markup)),
            asked: formats.money(Money::rounded(cost * factor)),
            exact: formats.unit_cost(cost * factor),
        })
    };
    let materials = [
        row("Flowers and foliage", CostKind::Fresh, price.fresh, Some(markups.fresh)),
        row("Vessels, stands, candles", CostKind::HardGoods, price.hard_goods, Some(markups.hard_goods)),
        row("Mechanics and sundries", CostKind::Sundries, price.sundries, Some(markups.sundries)),
        row("Loan fees", CostKind::Loan, price.loan, None),
    ];
    let mut kinds: Vec<KindRow> = materials.into_iter().flatten().collect();
    kinds.push(labour(price, studio));
    kinds
}

fn labour(price: &PiecePrice, studio: &Studio) -> KindRow {
    let formats = studio.formats;
    let working = format!(
        "{} min, its parts' too × {} an hour ÷ 60 = {}",
        formats.number(price.minutes, 2),
        formats.money(studio.labour.rate),
        formats.unit_cost(price.labour)
    );
    KindRow {
        label: "Labour",
        cost: formats.money(Money::rounded(price.labour)),
        working: vec![working],
        markup: match studio.labour.rule {
            LabourRule::Minutes => "as it is".into(),
            LabourRule::Share => format!("{} of the flowers' price", formats.share(studio.labour.share)),
        },
        asked: formats.money(Money::rounded(price.labour_asked)),
        exact: formats.unit_cost(price.labour_asked),
    }
}

/// The parts of the cost as shares of a bar 1 000 wide.
fn bar(price: &PiecePrice, formats: Formats) -> (Vec<BarPart>, String) {
    let whole = price.cost();
    let parts = [
        ("Flowers and foliage", price.fresh),
        ("vessels, stands, candles", price.hard_goods),
        ("mechanics and sundries", price.sundries),
        ("loan fees", price.loan),
        ("labour", price.labour),
    ];
    let mut bar = Vec::new();
    let mut before = Decimal::ZERO;
    for (number, (label, cost)) in (1..).zip(parts) {
        let end = |cost: Decimal| (cost * Decimal::ONE_THOUSAND / whole).round().to_i64().unwrap_or(0);
        if cost.is_zero() {
            continue;
        }
        let (x, width) = (end(before), end(before + cost) - end(before));
        let words = format!("{label} {}, {}", formats.money(Money::rounded(cost)), percent(cost / whole));
        bar.push(BarPart { number, x: x + 1, width: (width - 2).max(1), words });
        before += cost;
    }
    let words = bar.iter().map(|part| part.words.as_str()).collect::<Vec<_>>().join("; ");
    (bar, words)
}
