//! The best choice within a budget, and how much pieces matter.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::chart::{Chart, chart};
use super::telling::{self, ChosenRow, StepRow};
use crate::events::{Event, Piece};
use crate::ground::ids::EventId;
use crate::ground::money::Money;
use crate::quotes::budget::Alternative;
use crate::quotes::budget::alternatives::{Offered, offered};
use crate::quotes::budget::fit::{Fit, fit};
use crate::quotes::budget::forms::WishesForm;
use crate::quotes::budget::frontier::TooMany;
use crate::quotes::budget::store;
use crate::quotes::draft::Draft;
use crate::quotes::forms::QuoteForm;
use crate::quotes::pages::opening::{Opened, open};
use crate::quotes::pages::sending::no_rates;
use crate::quotes::pricing::{Priced, price};
use crate::recipes;
use crate::recipes::cost::Costing;
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Checker, Difference, FieldErrors, Form, Query, differences};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct FitQuery {
    budget: Option<String>,
}

/// A quote with what there is to choose in it.
pub(super) struct Choosing {
    pub opened: Opened,
    pub form: QuoteForm,
    pub draft: Draft,
    pub priced: Priced,
    pub offered: Offered,
    pub wishes: WishesForm,
}

impl Choosing {
    /// The best choice within a budget.
    pub(super) fn fit(&self, budget: Money) -> Result<Fit, TooMany> {
        fit(&self.draft, &self.priced, &self.offered.groups, budget)
    }
}

/// Opens an event's quote with what there is to choose in it. Without a tax rate there is none.
pub(super) async fn choosing(
    connection: &mut SqliteConnection,
    visit: (&Studio, crate::ground::dates::Day),
    id: EventId,
) -> Result<Choosing, Trouble> {
    let (studio, today) = visit;
    let opened = open(connection, studio, id).await?;
    if opened.known.rates.is_empty() {
        return Err(no_rates());
    }
    let form = opened.form(studio, today);
    let draft = form.draft(&opened.known);
    let sets = store::alternatives(connection).await?;
    let wishes = store::wishes(connection, id).await?;
    let sets = sets_of(&draft, sets);
    let mut roots = draft.recipes();
    roots.extend(sets.iter().map(|one| one.recipe));
    let (book, costs) = recipes::store::priced_book(connection, &roots, opened.priced_on(today)).await?;
    let costing = Costing::of(studio, &book, &costs);
    let priced = price(&draft, &costing);
    let offered = offered(&draft, &priced, &costing, &sets, &wishes);
    let wishes = WishesForm::of(&opened.pieces, &wishes, "");
    Ok(Choosing { opened, form, draft, priced, offered, wishes })
}

/// The sets from which a draft has a recipe: the others are not read.
fn sets_of(draft: &Draft, sets: Vec<Alternative>) -> Vec<Alternative> {
    let (named, all) = (draft.recipes(), sets.clone());
    let used = |one: &Alternative| {
        let mut same = all.iter().filter(|other| other.set.eq_ignore_ascii_case(&one.set));
        same.any(|other| named.contains(&other.recipe))
    };
    sets.into_iter().filter(used).collect()
}

#[derive(Template)]
#[template(path = "quotes/budget/fit.html")]
pub(super) struct FitPage {
    pub shell: Shell,
    event: Event,
    pieces: Vec<Piece>,
    budget: String,
    budget_errors: FieldErrors,
    wishes: WishesForm,
    errors: FieldErrors,
    pub differences: Vec<Difference>,
    unpriced: Vec<(String, String)>,
    nothing_to_choose: bool,
    too_many: bool,
    found: Option<Found>,
}

/// What was found for a budget, in words.
struct Found {
    as_it_stands: StepRow,
    best: Option<StepRow>,
    chosen: Vec<ChosenRow>,
    steps: Vec<StepRow>,
    chart: Option<Chart>,
    sure: bool,
    total: i64,
    version: String,
    seen: String,
    changes_nothing: bool,
    least: String,
}

impl FitPage {
    fn new(visit: &Visit, choosing: Choosing, typed: Option<&str>) -> FitPage {
        let shell = visit.shell(Section::Events, format!("Fit to budget, {}", choosing.opened.event.name));
        let event = choosing.opened.event.clone();
        let kept = event.budget.map(|budget| shell.formats.money_input(budget)).unwrap_or_default();
        let budget = typed.map_or(kept, str::to_owned);
        let (amount, budget_errors) = read_budget(&shell, &budget);
        let fit = amount.map(|amount| (amount, choosing.fit(amount)));
        let too_many = matches!(fit, Some((_, Err(TooMany))));
        let found = fit.and_then(|(amount, fit)| Some(found(&choosing, &fit.ok()?, amount, &shell)));
        FitPage {
            event,
            budget: budget.clone(),
            budget_errors,
            wishes: WishesForm { budget, ..choosing.wishes },
            errors: FieldErrors::default(),
            differences: Vec::new(),
            unpriced: choosing.offered.unpriced,
            nothing_to_choose: choosing.offered.groups.is_empty(),
            too_many,
            found,
            pieces: choosing.opened.pieces,
            shell,
        }
    }

    /// A piece with what is said of it: row, place and name, importance, whether it may be left out.
    fn wish_rows(&self) -> Vec<(usize, String, &str, bool)> {
        let wishes = &self.wishes;
        let row = |(row, piece): (usize, &String)| {
            let piece = self.pieces.iter().find(|known| known.id.to_string() == *piece)?;
            let importance = wishes.importance.get(row)?;
            let out = wishes.leave_out.get(row).is_some_and(|typed| typed == "yes");
            Some((row, format!("{}: {}", piece.place, piece.recipe), importance.as_str(), out))
        };
        wishes.piece.iter().enumerate().filter_map(row).collect()
    }
}

fn read_budget(shell: &Shell, typed: &str) -> (Option<Money>, FieldErrors) {
    let mut c = Checker::new(&shell.formats);
    let amount = c.money_or_none("budget", typed);
    match c.done(amount) {
        Ok(amount) => (amount, FieldErrors::default()),
        Err(errors) => (None, errors),
    }
}

fn found(choosing: &Choosing, fit: &Fit, budget: Money, shell: &Shell) -> Found {
    let words = telling::Words { choosing, fit, budget, formats: shell.formats };
    let best = fit.best.and_then(|best| fit.steps.get(best));
    let near = telling::near(fit);
    Found {
        as_it_stands: words.step(&fit.as_it_stands, None),
        best: best.map(|best| words.step(best, Some(&fit.as_it_stands))),
        chosen: best.map(|best| words.chosen(best)).unwrap_or_default(),
        chart: chart(&near, fit, budget, shell.formats),
        steps: near.iter().map(|step| words.step(step, best.or(Some(&fit.as_it_stands)))).collect(),
        sure: fit.sure,
        total: best.map_or(0, |best| best.total.minor()),
        version: choosing.form.version.clone(),
        seen: choosing.form.seen.clone(),
        changes_nothing: best.is_none_or(|best| best.picks.iter().all(|pick| *pick == 0)),
        least: fit.steps.first().map(|least| shell.formats.money(least.total)).unwrap_or_default(),
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>, Query(query): Query<FitQuery>) -> Answer {
    let (studio, today) = (visit.studio.clone(), visit.today);
    let choosing = choosing(&mut visit.connection, (&studio, today), id).await?;
    let shown = FitPage::new(&visit, choosing, query.budget.as_deref());
    if shown.budget_errors.is_empty() { page(&shown) } else { refused(&shown) }
}

/// The page once more, since the choice that was taken is no longer the one that was shown.
pub(super) fn changed(visit: &Visit, choosing: Choosing, budget: &str) -> Answer {
    let difference = |label, yours: &str, theirs: &str| differences(&[(label, yours, theirs)]);
    let shown = FitPage::new(visit, choosing, Some(budget));
    let differences =
        difference("The quote", "as it was when this page was made", "changed since: look again");
    stale(&FitPage { differences, ..shown })
}

/// Keeps how much an event's pieces matter.
pub(super) async fn wish(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<WishesForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let choosing = choosing(&mut tx, (&visit.studio, visit.today), id).await?;
    let wishes = match form.parse(&visit.studio.formats) {
        Ok(wishes) => wishes,
        Err(errors) => {
            let shown = FitPage::new(&visit, choosing, Some(&form.budget));
            return refused(&FitPage { wishes: form, errors, ..shown });
        }
    };
    if form.seen != choosing.wishes.seen {
        let seen = choosing.wishes.seen.clone();
        let differences = differences(&[
            ("Importance", &form.importance.join(", "), &choosing.wishes.importance.join(", ")),
            ("May be left out", &form.leave_out.join(", "), &choosing.wishes.leave_out.join(", ")),
        ]);
        let shown = FitPage::new(&visit, choosing, Some(&form.budget));
        return stale(&FitPage { wishes: WishesForm { seen, ..form }, differences, ..shown });
    }
    store::keep_wishes(&mut tx, id, &wishes).await?;
    tx.commit().await?;
    let mut asked = form_urlencoded::Serializer::new(String::new());
    asked.append_pair("budget", &form.budget);
    onward_saying(
        &app,
        format!("/events/{id}/quote/budget?{}", asked.finish()),
        "Kept how much each piece matters.",
    )
}
