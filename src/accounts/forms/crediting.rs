//! The form of a credit note.

use serde::Deserialize;

use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::web::forms::{Checker, FieldErrors};

/// What was typed.
#[derive(Debug, Clone, Default, Hash, Deserialize)]
#[serde(default)]
pub struct CreditForm {
    pub once_key: String,
    pub amount: String,
    pub reason: String,
}

impl CreditForm {
    /// Reads the form: the amount and why, or every message. No more is credited than is left of the invoice.
    pub fn parse(&self, left: Money, formats: &Formats) -> Result<(Money, String), FieldErrors> {
        let mut c = Checker::new(formats);
        let amount = c.money("amount", &self.amount);
        if amount.is_zero() && c.is_fine("amount") {
            c.refuse("amount", "Write an amount above nothing.");
        }
        if amount > left {
            c.refuse(
                "amount",
                format!("{} is left of this invoice: no more can be credited.", formats.money(left)),
            );
        }
        let reason = c.name("reason", &self.reason, "why it is credited; the client reads it");
        c.done((amount, reason))
    }
}
