//! The form of how the studio invoices.

use serde::Deserialize;

use super::parts::{Columns, PartRow, cells};
use crate::accounts::document::Category;
use crate::accounts::iban::is_iban;
use crate::accounts::{CancellationStep, Terms, Treatment, countries};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::quantity::Share;
use crate::quotes::payment::Due;
use crate::studio::TaxRate;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct TermsForm {
    pub version: String,
    pub country: String,
    pub legal_id: String,
    pub account_holder: String,
    pub iban: String,
    pub bic: String,
    pub number_prefix: String,
    pub first_number: String,
    pub payment_days: String,
    pub words: String,
    pub part_label: Vec<String>,
    pub part_amount: Vec<String>,
    pub part_due: Vec<String>,
    pub part_days: Vec<String>,
    pub step_days: Vec<String>,
    pub step_share: Vec<String>,
    pub rate_id: Vec<String>,
    pub rate_category: Vec<String>,
    pub rate_reason: Vec<String>,
}

/// A row of two cells: days and share.
#[derive(Debug, Clone)]
pub struct StepRow {
    pub at: usize,
    pub days: String,
    pub share: String,
}

/// A row of the tax rates.
#[derive(Debug, Clone)]
pub struct RateRow {
    pub at: usize,
    pub id: String,
    pub name: String,
    pub category: String,
    pub reason: String,
}

impl TermsForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(terms: &Terms, rates: &[TaxRate], formats: &Formats) -> TermsForm {
        let parts: Vec<_> = terms.usual.iter().map(|part| cells(part, formats)).collect();
        let steps = &terms.cancellation;
        let treatment = |rate: &TaxRate| terms.treatment(rate.id);
        let category = |rate: &TaxRate| match treatment(rate) {
            Some(one) => one.category.code().to_owned(),
            None if rate.rate > Share::default() => Category::Standard.code().to_owned(),
            None => String::new(),
        };
        TermsForm {
            version: terms.version.to_string(),
            country: terms.country.clone(),
            legal_id: terms.legal_id.clone(),
            account_holder: terms.account_holder.clone(),
            iban: terms.iban.clone(),
            bic: terms.bic.clone(),
            number_prefix: terms.number_prefix.clone(),
            first_number: terms.first_number.to_string(),
            payment_days: terms.payment_days.to_string(),
            words: terms.words.clone(),
            part_label: terms.usual.iter().map(|part| part.label.clone()).collect(),
            part_amount: parts.iter().map(|cells| cells.0.clone()).collect(),
            part_due: parts.iter().map(|cells| cells.1.clone()).collect(),
            part_days: parts.into_iter().map(|cells| cells.2).collect(),
            step_days: steps.iter().map(|step| step.days_before.to_string()).collect(),
            step_share: steps.iter().map(|step| formats.share_input(step.retained)).collect(),
            rate_id: rates.iter().map(|rate| rate.id.to_string()).collect(),
            rate_category: rates.iter().map(category).collect(),
            rate_reason: rates
                .iter()
                .map(|rate| treatment(rate).map(|one| one.reason.clone()).unwrap_or_default())
                .collect(),
        }
    }

    /// The rows of the payment's parts.
    #[must_use]
    pub fn parts(&self) -> Vec<PartRow> {
        self.columns().rows()
    }

    fn columns(&self) -> Columns<'_> {
        Columns {
            ids: &[],
            labels: &self.part_label,
            amounts: &self.part_amount,
            dues: &self.part_due,
            days: &self.part_days,
        }
    }

    /// The rows of the cancellation table with three empty ones.
    #[must_use]
    pub fn steps(&self) -> Vec<StepRow> {
        let row = |at| StepRow { at, days: cell(&self.step_days, at), share: cell(&self.step_share, at) };
        (0..self.step_days.len() + 3).map(row).collect()
    }

    /// The rows of the tax rates.
    #[must_use]
    pub fn rate_rows(&self, rates: &[TaxRate]) -> Vec<RateRow> {
        let row = |at: usize| {
            let id = cell(&self.rate_id, at);
            let named = rates.iter().find(|rate| rate.id.to_string() == id);
            let name = named.map(|rate| rate.name.clone()).unwrap_or_default();
            RateRow {
                at,
                id,
                name,
                category: cell(&self.rate_category, at),
                reason: cell(&self.rate_reason, at),
            }
        };
        (0..self.rate_id.len()).map(row).collect()
    }

    /// Reads the form: terms, or every message.
    pub fn parse(&self, rates: &[TaxRate], formats: &Formats) -> Result<Terms, FieldErrors> {
        let mut c = Checker::new(formats);
        let compact = |raw: &str| raw.split_whitespace().collect::<String>().to_uppercase();
        let iban = compact(&self.iban);
        if !iban.is_empty() && !is_iban(&iban) {
            c.refuse("iban", "The check digits of this IBAN do not fit: look for a slip.");
        }
        let usual = self.columns().parse(&mut c);
        if usual.iter().any(|part| matches!(part.due, Due::On(_))) {
            c.refuse("parts-0-due", "A usual part is due by the acceptance or by the event, not on a day.");
        }
        let terms = Terms {
            version: 0,
            country: country(&mut c, &self.country),
            legal_id: c.line("legal_id", &self.legal_id),
            account_holder: c.line("account_holder", &self.account_holder),
            iban,
            bic: c.line("bic", &compact(&self.bic)),
            number_prefix: c.line("number_prefix", &self.number_prefix),
            first_number: c.whole("first_number", &self.first_number, 1..=1_000_000_000),
            payment_days: c.whole("payment_days", &self.payment_days, 0..=365),
            words: c.text("words", &self.words),
            usual,
            cancellation: self.parse_steps(&mut c),
            treatments: self.parse_rates(&mut c, rates),
        };
        c.done(terms)
    }

    fn parse_steps(&self, c: &mut Checker) -> Vec<CancellationStep> {
        let mut steps: Vec<CancellationStep> = Vec::new();
        for row in self.steps() {
            if row.days.trim().is_empty() && row.share.trim().is_empty() {
                continue;
            }
            let days_before = c.whole(&format!("steps-{}-days", row.at), &row.days, 0..=3650);
            let retained = c.share(&format!("steps-{}-share", row.at), &row.share);
            if steps.iter().any(|step| step.days_before == days_before) {
                c.refuse(format!("steps-{}-days", row.at), format!("{days_before} days stand here twice."));
            }
            steps.push(CancellationStep { days_before, retained });
        }
        steps.sort_by_key(|step| std::cmp::Reverse(step.days_before));
        if steps.windows(2).any(|pair| pair[0].retained > pair[1].retained) {
            c.refuse("steps-0-share", "The nearer the event, the more is kept: these shares fall.");
        }
        steps
    }

    fn parse_rates(&self, c: &mut Checker, rates: &[TaxRate]) -> Vec<Treatment> {
        let mut treatments = Vec::new();
        for row in self.rate_rows(rates) {
            let Some(rate) = rates.iter().find(|rate| rate.id.to_string() == row.id) else { continue };
            let field = format!("rates-{}-category", row.at);
            let Some(category) = c.pick_or_none::<Category>(&field, &row.category) else { continue };
            if (category == Category::Standard) != (rate.rate > Share::default()) {
                c.refuse(field, format!("{} is {}: choose what fits that.", rate.name, rate_words(rate)));
            }
            let reason = c.line(&format!("rates-{}-reason", row.at), &row.reason);
            treatments.push(Treatment { rate: rate.id, category, reason });
        }
        treatments
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &TermsForm) -> Vec<Difference> {
        let parts = |form: &TermsForm| {
            let rows = form.parts().into_iter().filter(|row| !row.label.is_empty());
            rows.map(|row| format!("{} {} {} {}", row.label, row.amount, row.due, row.days))
                .collect::<Vec<_>>()
                .join("; ")
        };
        let steps = |form: &TermsForm| {
            let rows = form.steps().into_iter().filter(|row| !row.days.is_empty());
            rows.map(|row| format!("{} days {} %", row.days, row.share)).collect::<Vec<_>>().join("; ")
        };
        differences(&[
            ("Country", &self.country, &theirs.country),
            ("Register number", &self.legal_id, &theirs.legal_id),
            ("Account holder", &self.account_holder, &theirs.account_holder),
            ("IBAN", &self.iban, &theirs.iban),
            ("BIC", &self.bic, &theirs.bic),
            ("Before the number", &self.number_prefix, &theirs.number_prefix),
            ("First number", &self.first_number, &theirs.first_number),
            ("Days to pay", &self.payment_days, &theirs.payment_days),
            ("Words", &self.words, &theirs.words),
            ("Parts of a payment", &parts(self), &parts(theirs)),
            ("Cancellation", &steps(self), &steps(theirs)),
            ("Tax rates", &self.rate_category.join(", "), &theirs.rate_category.join(", ")),
            ("Reasons", &self.rate_reason.join(", "), &theirs.rate_reason.join(", ")),
        ])
    }
}

fn rate_words(rate: &TaxRate) -> &'static str {
    if rate.rate > Share::default() { "above 0 %" } else { "0 %" }
}

fn cell(column: &[String], at: usize) -> String {
    column.get(at).cloned().unwrap_or_default()
}

/// A country's code, or nothing.
pub(super) fn country(c: &mut Checker, raw: &str) -> String {
    let code = raw.trim().to_uppercase();
    if !code.is_empty() && !countries::is_country(&code) {
        c.refuse("country", "Write a country's two letters of ISO 3166, such as GB, DE, FR, US.");
        return String::new();
    }
    code
}
