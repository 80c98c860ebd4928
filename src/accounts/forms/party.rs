//! The form of what an invoice says of a client.

use serde::Deserialize;

use super::terms::country;
use crate::accounts::ClientAccount;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PartyForm {
    pub version: String,
    pub country: String,
    pub tax_number: String,
    pub legal_id: String,
    pub reference: String,
}

impl PartyForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(account: &ClientAccount) -> PartyForm {
        PartyForm {
            version: account.version.to_string(),
            country: account.country.clone(),
            tax_number: account.tax_number.clone(),
            legal_id: account.legal_id.clone(),
            reference: account.reference.clone(),
        }
    }

    /// Reads the form, or gives every message.
    pub fn parse(&self, formats: &Formats) -> Result<ClientAccount, FieldErrors> {
        let mut c = Checker::new(formats);
        let account = ClientAccount {
            version: 0,
            country: country(&mut c, &self.country),
            tax_number: c.line("tax_number", &self.tax_number),
            legal_id: c.line("legal_id", &self.legal_id),
            reference: c.line("reference", &self.reference),
        };
        c.done(account)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &PartyForm) -> Vec<Difference> {
        differences(&[
            ("Country", &self.country, &theirs.country),
            ("Tax number", &self.tax_number, &theirs.tax_number),
            ("Register number", &self.legal_id, &theirs.legal_id),
            ("Their reference", &self.reference, &theirs.reference),
        ])
    }
}
