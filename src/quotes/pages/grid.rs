//! The quote's grid: the event's pieces with their prices, other lines, charges, payment, words.

use askama::Template;
use axum::extract::{Path, State};
use sqlx::SqliteConnection;

use super::figures::{Figures, of_row};
use super::opening::{Opened, book_of, drafted, open, priced_on};
use super::sending::no_rates;
use super::versions::{VersionRow, rows};
use crate::events::forms::PieceRow;
use crate::events::{self, CountRule, Event, fingerprint};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, TaxRateId};
use crate::ground::money::Money;
use crate::quotes::changes::changes;
use crate::quotes::draft::{Draft, Row};
use crate::quotes::forms::{OwnRow, PartRow, QuoteForm, cell};
use crate::quotes::pricing::Priced;
use crate::quotes::{ChargeKind, store, words};
use crate::studio::TaxRate;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

/// Rows to type in at the end, so that a grid grows without a script.
const EMPTY_ROWS: usize = 3;

#[derive(Template)]
#[template(path = "quotes/grid.html")]
struct GridPage {
    sheet: Sheet,
    shell: Shell,
    differences: Vec<Difference>,
    versions: Vec<VersionRow>,
    /// What differs from the latest version.
    unsent: Vec<String>,
    /// The total at today's prices, where it is another one.
    today_total: Option<Money>,
}

/// The figures of the page for what is typed so far.
#[derive(Template)]
#[template(path = "quotes/preview.html")]
struct PreviewPart {
    sheet: Sheet,
    shell: Shell,
}

/// The form with its figures.
struct Sheet {
    shell: Shell,
    event: Event,
    form: QuoteForm,
    draft: Draft,
    priced: Priced,
    priced_on: Day,
    rates: Vec<TaxRate>,
    errors: FieldErrors,
}

/// A row of the grid of pieces.
struct PieceCells<'a> {
    at: String,
    typed: PieceRow<'a>,
    price: &'a str,
    discount: &'a str,
    tax: &'a str,
    figures: Figures,
    errors: &'a FieldErrors,
}

/// A row of the grid of other lines.
struct OwnCells<'a> {
    at: String,
    typed: OwnRow<'a>,
    figures: Figures,
    errors: &'a FieldErrors,
}

/// A row of the payment.
struct PartCells<'a> {
    at: String,
    typed: PartRow<'a>,
    amount: String,
    errors: &'a FieldErrors,
}

/// A charge.
struct ChargeCells<'a> {
    row: usize,
    label: &'static str,
    typed: &'a str,
    tax: &'a str,
    amount: String,
}

macro_rules! marked {
    ($($cells:ident $table:literal)*) => {$(
        impl $cells<'_> {
            fn error(&self, cell: &str) -> Option<&str> {
                self.errors.of(&format!(concat!($table, "-{}-{}"), self.at, cell))
            }
        }
    )*};
}
marked! { PieceCells "pieces" OwnCells "own" PartCells "parts" }

impl PieceCells<'_> {
    fn rule(&self) -> &'static str {
        self.typed.rule_or_number().code()
    }
}

impl Sheet {
    fn piece_cells(&self) -> Vec<PieceCells<'_>> {
        // Rows and columns of one form: read from the typed columns themselves, which outlive this call.
        let count = [&self.form.place, &self.form.recipe, &self.form.count].iter().map(|c| c.len()).max().unwrap_or(0);
        let shown = count.max(filled(count, |row| !self.piece_row(row).is_empty()) + EMPTY_ROWS);
        (0..shown).map(|row| self.piece_at(row)).collect()
    }

    fn piece_row(&self, row: usize) -> PieceRow<'_> {
        let form = &self.form;
        PieceRow {
            id: cell(&form.piece_id, row),
            place: cell(&form.place, row),
            recipe: cell(&form.recipe, row),
            count: cell(&form.count, row),
            rule: cell(&form.rule, row),
            note: cell(&form.note, row),
        }
    }

    fn piece_at(&self, row: usize) -> PieceCells<'_> {
        PieceCells {
            at: row.to_string(),
            typed: self.piece_row(row),
            price: cell(&self.form.price, row),
            discount: cell(&self.form.discount, row),
            tax: cell(&self.form.tax, row),
            figures: of_row(&self.priced, Row::Piece(row), &self.shell).unwrap_or_default(),
            errors: &self.errors,
        }
    }

    fn new_piece(&self) -> PieceCells<'_> {
        PieceCells { at: "new".into(), ..self.piece_at(usize::MAX) }
    }

    fn own_cells(&self) -> Vec<OwnCells<'_>> {
        let rows = self.form.own_rows();
        let shown = rows.len().max(filled(rows.len(), |row| !rows[row].is_empty()) + EMPTY_ROWS);
        let at = |row: usize| OwnCells {
            at: row.to_string(),
            typed: rows.get(row).copied().unwrap_or_default(),
            figures: of_row(&self.priced, Row::Own(row), &self.shell).unwrap_or_default(),
            errors: &self.errors,
        };
        (0..shown).map(at).collect()
    }

    fn new_own(&self) -> OwnCells<'_> {
        OwnCells { at: "new".into(), typed: OwnRow::default(), figures: Figures::default(), errors: &self.errors }
    }

    fn part_cells(&self) -> Vec<PartCells<'_>> {
        let rows = self.form.part_rows();
        let shown = rows.len().max(filled(rows.len(), |row| !rows[row].is_empty()) + EMPTY_ROWS);
        let mut amounts = self.priced.instalments.iter();
        let at = |row: usize| {
            let typed = rows.get(row).copied().unwrap_or_default();
            let amount = if typed.is_empty() { None } else { amounts.next() };
            let amount = amount.map(|amount| self.shell.formats.money(*amount)).unwrap_or_default();
            PartCells { at: row.to_string(), typed, amount, errors: &self.errors }
        };
        (0..shown).map(at).collect()
    }

    fn new_part(&self) -> PartCells<'_> {
        PartCells { at: "new".into(), typed: PartRow::default(), amount: String::new(), errors: &self.errors }
    }

    fn charges(&self) -> Vec<ChargeCells<'_>> {
        let charges = |(row, kind): (usize, &ChargeKind)| {
            let place = self.draft.charges.iter().position(|(charged, ..)| charged == kind);
            let amount = place.and_then(|place| self.priced.totals.charges.get(place));
            ChargeCells {
                row,
                label: kind.label(),
                typed: cell(&self.form.charge, row),
                tax: cell(&self.form.charge_tax, row),
                amount: amount.map(|amount| self.shell.formats.money(*amount)).unwrap_or_default(),
            }
        };
        ChargeKind::ALL.iter().enumerate().map(charges).collect()
    }

    fn rules(&self) -> Vec<(&'static str, &'static str)> {
        CountRule::options()
    }

    /// What is chosen in a row's tax field, by position among the rates.
    fn is_rate(&self, rate: &TaxRate, typed: &str) -> bool {
        let usual = self.rates.first().map(|rate| rate.id);
        let typed: Option<TaxRateId> = typed.parse().ok().or(usual);
        typed == Some(rate.id)
    }

    fn rate_name(&self, id: TaxRateId) -> String {
        let rate = self.rates.iter().find(|rate| rate.id == id);
        rate.map_or_else(|| "Tax".into(), |rate| format!("{}, {}", rate.name, self.shell.formats.share(rate.rate)))
    }

    fn margin_words(&self) -> Option<String> {
        let margin = self.priced.margin;
        (!margin.cost.is_zero() || !margin.asked.is_zero()).then(|| words::margin(&margin, &self.shell.formats))
    }

    /// What a place comes to: its lines after their own discounts.
    fn places(&self) -> Vec<(String, String)> {
        let mut places: Vec<(&str, Money)> = Vec::new();
        for line in &self.priced.lines {
            let Some(total) = line.total else { continue };
            let place = line.line.place.as_str();
            match places.iter_mut().find(|(known, _)| known.eq_ignore_ascii_case(place)) {
                Some((_, sum)) => *sum += total.net(),
                None => places.push((place, total.net())),
            }
        }
        let name = |place: &str| if place.is_empty() { "Without a place".to_owned() } else { place.to_owned() };
        places.into_iter().map(|(place, sum)| (name(place), self.shell.formats.money(sum))).collect()
    }

    /// `2 lines are left out of the total: …`.
    fn left_out(&self) -> Option<String> {
        let (open, unpriced) = (self.priced.open().len(), self.priced.unpriced().len());
        let counted = |count: usize, what: &str, whats: &str| match count {
            0 => None,
            1 => Some(format!("1 {what}")),
            count => Some(format!("{count} {whats}")),
        };
        let parts = [
            counted(open, "line whose count is open", "lines whose count is open"),
            counted(unpriced, "line without a price", "lines without a price"),
        ];
        let words = parts.into_iter().flatten().collect::<Vec<_>>().join(" and ");
        (!words.is_empty()).then(|| format!("Not in the total: {words}."))
    }
}

/// How many rows there are up to the last filled one.
fn filled(count: usize, is_filled: impl Fn(usize) -> bool) -> usize {
    (0..count).rev().find(|row| is_filled(*row)).map_or(0, |row| row + 1)
}

async fn sheet(
    connection: &mut SqliteConnection,
    shell: Shell,
    opened: Opened,
    form: QuoteForm,
    today: Day,
) -> Result<(Sheet, Option<Money>), sqlx::Error> {
    let draft = form.draft(&opened.known);
    let book = book_of(connection, &draft).await?;
    let day = opened.priced_on(today);
    let priced = priced_on(connection, (&draft, &book), &shell, day).await?;
    let at_today = if day == today {
        None
    } else {
        let total = priced_on(connection, (&draft, &book), &shell, today).await?.totals.sums.total;
        Some(total).filter(|total| *total != priced.totals.sums.total)
    };
    let (event, rates) = (opened.event, opened.known.rates);
    let errors = FieldErrors::default();
    Ok((Sheet { shell, event, form, draft, priced, priced_on: day, rates, errors }, at_today))
}

async fn grid_page(visit: &mut Visit, opened: Opened, form: QuoteForm) -> Result<GridPage, Trouble> {
    let shell = visit.shell(Section::Events, format!("Quote, {}", opened.event.name));
    let (studio, today) = (visit.studio.clone(), visit.today);
    let versions = store::versions(&mut visit.connection, opened.event.id).await?;
    let now = drafted(&mut visit.connection, &opened, &studio, today).await?;
    let unsent = versions.last().zip(now).map_or_else(Vec::new, |(latest, now)| {
        changes(&latest.frozen.document, &now.document)
    });
    let unsent = unsent.iter().map(|change| words::change(change, &studio.formats)).collect();
    let (sheet, today_total) = sheet(&mut visit.connection, shell.clone(), opened, form, today).await?;
    let versions = rows(&versions, &studio.formats, today);
    Ok(GridPage { sheet, shell, differences: Vec::new(), versions, unsent, today_total })
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let studio = visit.studio.clone();
    let opened = open(&mut visit.connection, &studio, id).await?;
    let form = opened.form(&studio, visit.today);
    page(&grid_page(&mut visit, opened, form).await?)
}

/// The figures for what is typed so far; nothing is kept.
pub(super) async fn preview(mut visit: Visit, Path(id): Path<EventId>, Form(form): Form<QuoteForm>) -> Answer {
    let studio = visit.studio.clone();
    let opened = open(&mut visit.connection, &studio, id).await?;
    let shell = visit.shell(Section::Events, "Quote");
    let today = visit.today;
    let (sheet, _) = sheet(&mut visit.connection, shell.clone(), opened, form, today).await?;
    page(&PreviewPart { sheet, shell })
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<QuoteForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let opened = open(&mut tx, &visit.studio, id).await?;
    if opened.known.rates.is_empty() {
        return Err(no_rates());
    }
    let new = match form.parse(&opened.known) {
        Ok(new) => new,
        Err(errors) => {
            drop(tx);
            let mut page = grid_page(&mut visit, opened, form).await?;
            page.sheet.errors = errors;
            return refused(&page);
        }
    };
    let version = opened.quote.as_ref().map_or(0, |quote| quote.version);
    let seen = fingerprint(&opened.pieces);
    if form.version != version.to_string() || form.seen != seen {
        drop(tx);
        let differences = form.differences(&opened.form(&visit.studio, visit.today));
        let form = QuoteForm { version: version.to_string(), seen, ..form };
        let page = grid_page(&mut visit, opened, form).await?;
        return stale(&GridPage { differences, ..page });
    }
    let pieces = events::store::keep_pieces(&mut tx, id, &new.pieces).await?;
    store::keep(&mut tx, id, opened.priced_on(visit.today), &new, &pieces).await?;
    tx.commit().await?;
    let then = if form.then == "document" { "/document" } else { "" };
    onward_saying(&app, format!("/events/{id}/quote{then}"), format!("Quote of {} saved.", opened.event.name))
}

/// Uses today's prices from now on.
pub(super) async fn price_today(State(app): State<App>, visit: Visit, Path(id): Path<EventId>) -> Answer {
    let mut tx = app.book.write().await?;
    let opened = open(&mut tx, &visit.studio, id).await?;
    let path = format!("/events/{id}/quote");
    let Some(quote) = opened.quote else {
        return onward_saying(&app, path, "The quote is not begun yet: it uses today's prices.");
    };
    store::price_as_of(&mut tx, id, visit.today).await?;
    tx.commit().await?;
    let undo = format!("/events/{id}/quote/pricing/{}", quote.priced_on);
    onward_undo(&app, path, "Priced as of today. Typed prices stay as they are.", undo)
}

/// Uses the prices of a day, which is how pricing as of today is taken back.
pub(super) async fn price_on(
    State(app): State<App>,
    visit: Visit,
    Path((id, day)): Path<(EventId, String)>,
) -> Answer {
    let day = day.parse::<Day>().ok().filter(|day| *day <= visit.today).ok_or(Trouble::NotFound("day"))?;
    let mut tx = app.book.write().await?;
    open(&mut tx, &visit.studio, id).await?;
    if !store::price_as_of(&mut tx, id, day).await? {
        return Err(Trouble::NotFound("quote"));
    }
    tx.commit().await?;
    let saying = format!("Priced on {} again.", visit.studio.formats.day(day));
    onward_saying(&app, format!("/events/{id}/quote"), saying)
}
