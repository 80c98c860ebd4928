//! What if: other counts, recipes and stems beside the quote as it stands; taken, or left.

use std::collections::HashSet;

use askama::Template;
use axum::extract::State;
use sqlx::SqliteConnection;

use super::grid::keep;
use super::opening::{Opened, open};
use super::sending::no_rates;
use crate::events::{CountRule, Event};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, RecipeId};
use crate::ground::money::Money;
use crate::quotes::forms::{QuoteForm, WhatIfForm, cell};
use crate::quotes::pricing::{Priced, PricedLine};
use crate::quotes::what_if::{Comparison, StemChange, with_changes};
use crate::quotes::words;
use crate::recipes::cost::Costing;
use crate::recipes::{self, NewRecipe, RecipeBook};
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form, differences};
use crate::web::path::Path;
use crate::web::state::App;

/// Rows for other numbers of stems.
const STEM_ROWS: usize = 4;

/// A quote with what was typed over it.
struct Tried {
    opened: Opened,
    form: QuoteForm,
    /// The recipes that the pieces have, changed or not.
    book: RecipeBook,
    stems: Result<Vec<StemChange>, FieldErrors>,
    comparison: Comparison,
}

async fn tried(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (id, today): (EventId, Day),
    typed: Option<&WhatIfForm>,
) -> Result<Tried, Trouble> {
    let opened = open(connection, studio, id).await?;
    if opened.known.rates.is_empty() {
        return Err(no_rates());
    }
    let form = opened.form(studio, today);
    let stands = form.draft(&opened.known);
    let would = typed.map_or_else(|| stands.clone(), |typed| typed.over(&form).draft(&opened.known));
    let mut roots = stands.recipes();
    roots.extend(would.recipes());
    let (book, costs) = recipes::store::priced_book(connection, &roots, opened.priced_on(today)).await?;
    let stems = typed.map_or(Ok(Vec::new()), |typed| typed.stems(&opened.known, &would.recipes(), &book));
    let changed = with_changes(&book, stems.as_deref().unwrap_or_default());
    let (now, then) = (Costing::of(studio, &book, &costs), Costing::of(studio, &changed, &costs));
    let comparison = Comparison::of((&stands, &now), (&would, &then));
    Ok(Tried { opened, form, book, stems, comparison })
}

/// A row of the pieces as typed.
struct TryRow<'a> {
    /// Its place in the quote, by which its messages are named.
    at: usize,
    id: &'a str,
    place: &'a str,
    recipe: &'a str,
    count: &'a str,
    rule: &'a str,
    stands: String,
    errors: &'a FieldErrors,
}

impl TryRow<'_> {
    fn error(&self, cell: &str) -> Option<&str> {
        self.errors.of(&format!("pieces-{}-{cell}", self.at))
    }
}

/// A row of stems as typed.
struct StemRow<'a> {
    row: usize,
    recipe: &'a str,
    what: &'a str,
    count: &'a str,
}

/// A row of the comparison.
struct BesideRow {
    what: String,
    stands: String,
    would: String,
    difference: String,
}

#[derive(Template)]
#[template(path = "quotes/what_if.html")]
struct WhatIfPage {
    shell: Shell,
    event: Event,
    form: WhatIfForm,
    quote: QuoteForm,
    comparison: Comparison,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

/// The comparison for what is typed so far.
#[derive(Template)]
#[template(path = "quotes/what_if_preview.html")]
struct WhatIfPart {
    shell: Shell,
    comparison: Comparison,
    /// What of it cannot be read yet.
    unread: FieldErrors,
}

macro_rules! compared {
    ($($page:ident)*) => {$(
        impl $page {
            fn rows(&self) -> Vec<BesideRow> {
                rows(&self.comparison, &self.shell)
            }

            fn sums(&self) -> Vec<BesideRow> {
                sums(&self.comparison, &self.shell)
            }
        }
    )*};
}
compared! { WhatIfPage WhatIfPart }

impl WhatIfPage {
    fn new(visit: &Visit, tried: Tried, form: WhatIfForm) -> WhatIfPage {
        let shell = visit.shell(Section::Events, format!("What if, {}", tried.opened.event.name));
        WhatIfPage {
            shell,
            event: tried.opened.event,
            form,
            quote: tried.form,
            comparison: tried.comparison,
            errors: tried.stems.err().unwrap_or_default(),
            differences: Vec::new(),
        }
    }

    fn try_rows(&self) -> Vec<TryRow<'_>> {
        let (form, quote) = (&self.form, &self.quote);
        let row = |(row, id): (usize, &String)| {
            let at = quote.piece_id.iter().position(|known| known == id)?;
            let rule = CountRule::from_code(cell(&quote.rule, at)).unwrap_or(CountRule::Number);
            let stands = format!("{}, {} {}", cell(&quote.recipe, at), cell(&quote.count, at), rule.label());
            Some((row, at, stands))
        };
        let rows = form.piece_id.iter().enumerate().filter_map(row);
        rows.map(|(row, at, stands)| TryRow {
            at,
            id: cell(&form.piece_id, row),
            place: cell(&quote.place, at),
            recipe: cell(&form.recipe, row),
            count: cell(&form.count, row),
            rule: cell(&form.rule, row),
            stands,
            errors: &self.errors,
        })
        .collect()
    }

    fn stem_rows(&self) -> Vec<StemRow<'_>> {
        let form = &self.form;
        let row = |row| StemRow {
            row,
            recipe: cell(&form.stem_recipe, row),
            what: cell(&form.stem_what, row),
            count: cell(&form.stem_count, row),
        };
        (0..STEM_ROWS.max(form.stem_what.len())).map(row).collect()
    }

    fn rules(&self) -> Vec<(&'static str, &'static str)> {
        CountRule::options()
    }
}

fn rows(comparison: &Comparison, studio: &Studio) -> Vec<BesideRow> {
    let side = |line: &PricedLine| {
        let count = line.line.made.count.map_or_else(|| "no count".to_owned(), |count| count.to_string());
        let price = line.price.map_or_else(|| "no price".to_owned(), |price| studio.formats.money(price));
        let margin = line.margin.and_then(|margin| margin.share());
        let margin = margin.map(|share| format!(", margin {}", words::percent(share, &studio.formats)));
        format!("{count} × {} at {price}{}", line.line.name, margin.unwrap_or_default())
    };
    let net = |line: &PricedLine| line.total.map(|total| total.net()).unwrap_or_default();
    let row = |beside: crate::quotes::what_if::Beside<'_>| {
        let would = beside.would.map_or(Money::ZERO, net);
        let place = &beside.stands.line.place;
        BesideRow {
            what: if place.is_empty() { beside.stands.line.name.clone() } else { place.clone() },
            stands: side(beside.stands),
            would: beside.would.map_or_else(|| "left out".to_owned(), side),
            difference: signed(would - net(beside.stands), studio),
        }
    };
    comparison.differing().into_iter().map(row).collect()
}

fn sums(comparison: &Comparison, studio: &Studio) -> Vec<BesideRow> {
    let f = &studio.formats;
    let cost = |priced: &Priced| f.money(Money::rounded(priced.margin.cost));
    let left = |priced: &Priced| words::left(&priced.margin, f);
    let (stands, would) = (&comparison.stands, &comparison.would);
    let total = |priced: &Priced| f.money(priced.totals.sums.total);
    let costs = Money::rounded(would.margin.cost) - Money::rounded(stands.margin.cost);
    let row = |what: &str, stands, would, difference: Money| BesideRow {
        what: what.into(),
        stands,
        would,
        difference: signed(difference, studio),
    };
    vec![
        row("Total, with tax", total(stands), total(would), comparison.total_difference()),
        row("Cost of the pieces", cost(stands), cost(would), costs),
        row("Left to the studio, without tax", left(stands), left(would), comparison.left_difference()),
    ]
}

fn signed(difference: Money, studio: &Studio) -> String {
    let amount = |amount| studio.formats.money(amount);
    match difference.cmp(&Money::ZERO) {
        std::cmp::Ordering::Equal => "0".into(),
        std::cmp::Ordering::Greater => format!("+{}", amount(difference)),
        std::cmp::Ordering::Less => format!("−{}", amount(-difference)),
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let studio = std::sync::Arc::clone(&visit.studio);
    let tried = tried(&mut visit.connection, &studio, (id, visit.today), None).await?;
    let form = WhatIfForm::of(&tried.form);
    page(&WhatIfPage::new(&visit, tried, form))
}

/// The comparison for what is typed so far; nothing is kept.
pub(super) async fn preview(
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<WhatIfForm>,
) -> Answer {
    let studio = std::sync::Arc::clone(&visit.studio);
    let tried = tried(&mut visit.connection, &studio, (id, visit.today), Some(&form)).await?;
    let unread = refusals(&tried, &form);
    page(&WhatIfPart { shell: visit.shell(Section::Events, "What if"), comparison: tried.comparison, unread })
}

/// The page with the comparison, where no script refreshes it; nothing is kept.
pub(super) async fn look(mut visit: Visit, Path(id): Path<EventId>, Form(form): Form<WhatIfForm>) -> Answer {
    let studio = std::sync::Arc::clone(&visit.studio);
    let tried = tried(&mut visit.connection, &studio, (id, visit.today), Some(&form)).await?;
    let errors = refusals(&tried, &form);
    if !errors.is_empty() {
        return refused(&WhatIfPage { errors, ..WhatIfPage::new(&visit, tried, form) });
    }
    page(&WhatIfPage::new(&visit, tried, form))
}

/// What of it could not be taken into the quote, each at its field.
fn refusals(tried: &Tried, form: &WhatIfForm) -> FieldErrors {
    let mut errors = form.over(&tried.form).parse(&tried.opened.known).err().unwrap_or_default();
    for (field, message) in tried.stems.as_ref().err().into_iter().flat_map(FieldErrors::list) {
        errors.add(field.clone(), message.clone());
    }
    errors
}

/// Takes what was tried into the quote. Recipes with other numbers of stems are kept beside the ones they come from.
pub(super) async fn take(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<WhatIfForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let tried = tried(&mut tx, &visit.studio, (id, visit.today), Some(&form)).await?;
    if form.version != tried.form.version || form.seen != tried.form.seen {
        let now = WhatIfForm { version: tried.form.version.clone(), seen: tried.form.seen.clone(), ..form };
        let differences = differences(&[(
            "The quote",
            "as it was when this page was made",
            "changed since: look at the comparison again",
        )]);
        return stale(&WhatIfPage { differences, ..WhatIfPage::new(&visit, tried, now) });
    }
    let errors = refusals(&tried, &form);
    if !errors.is_empty() {
        return refused(&WhatIfPage { errors, ..WhatIfPage::new(&visit, tried, form) });
    }
    let changes = tried.stems.clone().unwrap_or_default();
    let filled = with_new_recipes(&mut tx, form.over(&tried.form), &tried.book, &changes, &visit).await?;
    let opened = open(&mut tx, &visit.studio, id).await?;
    let new = match filled.parse(&opened.known) {
        Ok(new) => new,
        Err(errors) => return refused(&WhatIfPage { errors, ..WhatIfPage::new(&visit, tried, form) }),
    };
    keep(&mut tx, &opened, &new, visit.today).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}/quote"), "What was tried stands in the quote now.")
}

/// Keeps each changed recipe under a name of its own and puts that name where the old one stands.
async fn with_new_recipes(
    connection: &mut SqliteConnection,
    mut form: QuoteForm,
    book: &RecipeBook,
    changes: &[StemChange],
    visit: &Visit,
) -> Result<QuoteForm, sqlx::Error> {
    let altered = with_changes(book, changes);
    let mut done: HashSet<RecipeId> = HashSet::new();
    for id in changes.iter().map(|change| change.recipe).filter(|id| done.insert(*id)) {
        let Some((old, new)) = book.recipes.get(&id).zip(altered.recipes.get(&id)) else { continue };
        let of = |change: &&StemChange| change.recipe == id;
        let said: Vec<String> = changes.iter().filter(of).map(|change| said(change, book, visit)).collect();
        let name = free_name(connection, &format!("{}, {}", old.name, said.join(", "))).await?;
        let added = recipes::store::keep::add(connection, &NewRecipe::copy_of(new, name.clone())).await?;
        recipes::store::keep::set_picture(connection, added, old.picture_id).await?;
        for cell in form.recipe.iter_mut().filter(|cell| cell.trim().eq_ignore_ascii_case(&old.name)) {
            cell.clone_from(&name);
        }
    }
    Ok(form)
}

/// `8 Rose, white`.
fn said(change: &StemChange, book: &RecipeBook, visit: &Visit) -> String {
    let name = book.materials.get(&change.material).map_or("", |material| material.name.as_str());
    format!("{} {name}", visit.studio.formats.quantity(change.quantity))
}

/// A name that no recipe has, of a length that is kept.
async fn free_name(connection: &mut SqliteConnection, wanted: &str) -> Result<String, sqlx::Error> {
    let wanted: String = wanted.chars().take(crate::web::forms::NAME_LENGTH - 4).collect();
    let mut name = wanted.clone();
    let mut next = 2;
    while recipes::store::recipe_named(connection, &name).await?.is_some() {
        name = format!("{wanted} {next}");
        next += 1;
    }
    Ok(name)
}
