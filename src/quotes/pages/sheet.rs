//! The form with its figures: what the grid's page and its preview are made from.

use sqlx::SqliteConnection;

use super::figures::{Figures, of_row};
use super::ink::Ink;
use super::opening::{Opened, priced_on};
use crate::events::forms::PieceRow;
use crate::events::{CountRule, Event};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::TaxRateId;
use crate::ground::money::Money;
use crate::quotes::draft::{Draft, Row};
use crate::quotes::forms::{OwnRow, PartRow, QuoteForm, cell};
use crate::quotes::pricing::Priced;
use crate::quotes::tax::TaxSubtotal;
use crate::quotes::{ChargeKind, words};
use crate::studio::TaxRate;
use crate::studio::visit::Shell;
use crate::web::forms::FieldErrors;

/// Rows to type in at the end, so that a grid grows without a script.
const EMPTY_ROWS: usize = 3;

/// The form with its figures.
pub(super) struct Sheet {
    pub shell: Shell,
    pub ink: Ink,
    pub event: Event,
    pub form: QuoteForm,
    pub draft: Draft,
    pub priced: Priced,
    pub priced_on: Day,
    pub rates: Vec<TaxRate>,
    pub errors: FieldErrors,
}

/// A row of the grid of pieces.
pub(super) struct PieceCells<'a> {
    pub at: String,
    pub typed: PieceRow<'a>,
    pub price: &'a str,
    pub discount: &'a str,
    pub tax: &'a str,
    pub figures: Figures,
    pub errors: &'a FieldErrors,
}

/// A row of the grid of other lines.
pub(super) struct OwnCells<'a> {
    pub at: String,
    pub typed: OwnRow<'a>,
    pub figures: Figures,
    pub errors: &'a FieldErrors,
}

/// A row of the payment.
pub(super) struct PartCells<'a> {
    pub at: String,
    pub typed: PartRow<'a>,
    pub amount: String,
    pub errors: &'a FieldErrors,
}

/// A charge.
pub(super) struct ChargeCells<'a> {
    pub row: usize,
    pub label: &'static str,
    pub typed: &'a str,
    pub tax: &'a str,
    pub amount: String,
}

macro_rules! marked {
    ($($cells:ident $table:literal)*) => {$(
        impl $cells<'_> {
            pub(super) fn error(&self, cell: &str) -> Option<&str> {
                self.errors.of(&format!(concat!($table, "-{}-{}"), self.at, cell))
            }
        }
    )*};
}
marked! { PieceCells "pieces" OwnCells "own" PartCells "parts" }

impl PieceCells<'_> {
    pub(super) fn is_rule(&self, code: &str) -> bool {
        self.typed.rule_or_number().code() == code
    }
}

impl Sheet {
    pub(super) fn piece_cells(&self) -> Vec<PieceCells<'_>> {
        // Rows and columns of one form: read from the typed columns themselves, which outlive this call.
        let count = [&self.form.place, &self.form.recipe, &self.form.count]
            .iter()
            .map(|c| c.len())
            .max()
            .unwrap_or(0);
        let shown = count.max(filled(count, |row| !self.piece_row(row).is_empty()) + EMPTY_ROWS);
        (0..shown).map(|row| self.piece_at(row)).collect()
    }

    pub(super) fn piece_row(&self, row: usize) -> PieceRow<'_> {
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

    pub(super) fn piece_at(&self, row: usize) -> PieceCells<'_> {
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

    pub(super) fn new_piece(&self) -> PieceCells<'_> {
        PieceCells { at: "new".into(), ..self.piece_at(usize::MAX) }
    }

    pub(super) fn own_cells(&self) -> Vec<OwnCells<'_>> {
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

    pub(super) fn new_own(&self) -> OwnCells<'_> {
        OwnCells {
            at: "new".into(),
            typed: OwnRow::default(),
            figures: Figures::default(),
            errors: &self.errors,
        }
    }

    pub(super) fn part_cells(&self) -> Vec<PartCells<'_>> {
        let rows = self.form.part_rows();
        // A payment has few parts: where it has some, one empty row is enough.
        let filled = filled(rows.len(), |row| !rows[row].is_empty());
        let shown = rows.len().max(filled + 1).max(EMPTY_ROWS);
        let mut amounts = self.priced.instalments.iter();
        let at = |row: usize| {
            let typed = rows.get(row).copied().unwrap_or_default();
            let amount = if typed.is_empty() { None } else { amounts.next() };
            let amount = amount.map(|amount| self.shell.formats.money(*amount)).unwrap_or_default();
            PartCells { at: row.to_string(), typed, amount, errors: &self.errors }
        };
        (0..shown).map(at).collect()
    }

    pub(super) fn new_part(&self) -> PartCells<'_> {
        PartCells { at: "new".into(), typed: PartRow::default(), amount: String::new(), errors: &self.errors }
    }

    pub(super) fn charges(&self) -> Vec<ChargeCells<'_>> {
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

    pub(super) fn rules(&self) -> Vec<(&'static str, &'static str)> {
        CountRule::options()
    }

    /// What is chosen in a row's tax field, by position among the rates.
    pub(super) fn is_rate(&self, rate: &TaxRate, typed: &str) -> bool {
        let usual = self.rates.first().map(|rate| rate.id);
        let typed: Option<TaxRateId> = typed.parse().ok().or(usual);
        typed == Some(rate.id)
    }

    pub(super) fn rate_name(&self, subtotal: &TaxSubtotal) -> String {
        let rate = self.rates.iter().find(|rate| rate.id == subtotal.tax.id);
        rate.map_or_else(
            || "Tax".into(),
            |rate| format!("{}, {}", rate.name, self.shell.formats.share(rate.rate)),
        )
    }

    pub(super) fn gross(&self, subtotal: &TaxSubtotal) -> String {
        self.ink.money(&subtotal.gross())
    }

    pub(super) fn margin_words(&self) -> Option<String> {
        let margin = self.priced.margin;
        (!margin.cost.is_zero() || !margin.asked.is_zero())
            .then(|| words::margin(&margin, &self.shell.formats))
    }

    /// What a place comes to: its lines after their own discounts.
    pub(super) fn places(&self) -> Vec<(String, String)> {
        let mut places: Vec<(&str, Money)> = Vec::new();
        for line in &self.priced.lines {
            let Some(total) = line.total else { continue };
            let place = line.line.place.as_str();
            match places.iter_mut().find(|(known, _)| known.eq_ignore_ascii_case(place)) {
                Some((_, sum)) => *sum += total.net(),
                None => places.push((place, total.net())),
            }
        }
        let name =
            |place: &str| if place.is_empty() { "Without a place".to_owned() } else { place.to_owned() };
        places.into_iter().map(|(place, sum)| (name(place), self.shell.formats.money(sum))).collect()
    }

    /// `2 lines are left out of the total: …`.
    pub(super) fn left_out(&self) -> Option<String> {
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

pub(super) async fn sheet(
    connection: &mut SqliteConnection,
    shell: Shell,
    opened: Opened,
    form: QuoteForm,
    today: Day,
) -> Result<(Sheet, Option<Money>), sqlx::Error> {
    let draft = form.draft(&opened.known);
    let day = opened.priced_on(today);
    let (priced, _) = priced_on(connection, &draft, &shell, day).await?;
    let at_today = if day == today {
        None
    } else {
        let total = priced_on(connection, &draft, &shell, today).await?.0.totals.sums.total;
        Some(total).filter(|total| *total != priced.totals.sums.total)
    };
    let (event, rates) = (opened.event, opened.known.rates);
    let errors = FieldErrors::default();
    Ok((
        Sheet { ink: Ink(shell.formats), shell, event, form, draft, priced, priced_on: day, rates, errors },
        at_today,
    ))
}
