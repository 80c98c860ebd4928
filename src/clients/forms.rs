//! The client's form.

use serde::Deserialize;

use super::{Client, NewClient};
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ClientForm {
    pub version: String,
    pub name: String,
    pub email: String,
    pub phone: String,
    pub address: String,
    pub note: String,
}

impl ClientForm {
    /// The form filled in from a client.
    #[must_use]
    pub fn of(client: &Client) -> ClientForm {
        ClientForm {
            version: client.version.to_string(),
            name: client.name.clone(),
            email: client.email.clone(),
            phone: client.phone.clone(),
            address: client.address.clone(),
            note: client.note.clone(),
        }
    }

    /// Reads the form: a client, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<NewClient, FieldErrors> {
        let mut c = Checker::new(formats);
        let email = c.line("email", &self.email);
        if !email.is_empty() && !email.contains('@') {
            c.refuse("email", "An email address has an @ in it.");
        }
        let client = NewClient {
            name: c.name("name", &self.name, "the client's name"),
            email,
            phone: c.line("phone", &self.phone),
            address: c.text("address", &self.address),
            note: c.text("note", &self.note),
        };
        c.done(client)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &ClientForm) -> Vec<Difference> {
        differences(&[
            ("Name", &self.name, &theirs.name),
            ("Email", &self.email, &theirs.email),
            ("Phone", &self.phone, &theirs.phone),
            ("Address", &self.address, &theirs.address),
            ("Note", &self.note, &theirs.note),
        ])
    }
}
