//! Who asks for an event: a client found by name, or a new one written down in the same breath.

use super::EventForm;
use crate::clients::{Client, NewClient};
use crate::ground::ids::ClientId;
use crate::web::forms::Checker;

/// Who asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Asker {
    /// Someone in the book.
    Known(ClientId),
    /// Someone new.
    New(NewClient),
}

impl EventForm {
    /// What was chosen for the name as it stands; a choice made for another name no longer counts.
    #[must_use]
    pub fn choice(&self) -> &str {
        let same = self.which_for.trim().to_lowercase() == self.client.trim().to_lowercase();
        if same { self.which.trim() } else { "" }
    }

    pub(super) fn parse_asker(&self, c: &mut Checker, named: &[Client]) -> Asker {
        let client = self.parse_new_client(c);
        if client.name.is_empty() {
            return Asker::New(client);
        }
        let choice = self.choice();
        if choice == "new" {
            return Asker::New(client);
        }
        if let Some(chosen) = named.iter().find(|known| known.id.to_string() == choice) {
            return Asker::Known(chosen.id);
        }
        let name = &client.name;
        match (named, self.new_client == "yes") {
            ([one], false) => return Asker::Known(one.id),
            ([], true) => {}
            ([], false) => c.refuse(
                "client",
                format!("No client is called \u{201c}{name}\u{201d} yet. Choose below; saving again writes a new one in the book."),
            ),
            ([_], true) => {
                c.refuse("client", format!("\u{201c}{name}\u{201d} is in the book already. Choose who it is."));
            }
            (_, _) => c.refuse(
                "client",
                format!("{} clients are called \u{201c}{name}\u{201d}. Choose who it is.", named.len()),
            ),
        }
        Asker::New(client)
    }

    fn parse_new_client(&self, c: &mut Checker) -> NewClient {
        let email = c.line("client_email", &self.client_email);
        if !email.is_empty() && !email.contains('@') {
            c.refuse("client_email", "An email address has an @ in it.");
        }
        NewClient {
            name: c.name("client", &self.client, "who asks"),
            email,
            phone: c.line("client_phone", &self.client_phone),
            address: String::new(),
            note: String::new(),
        }
    }
}
