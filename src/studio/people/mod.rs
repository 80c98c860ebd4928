//! Who may come in where Trug listens beyond its own machine: people with a role and a passphrase, what each role may open,
//! who is in now. May import `ground`, `db`, `web` and the studio's own types.
//!
//! **Invariants.** Nobody comes in without a session, a session without a person who is not removed. What a role may open is
//! said in [`may`] alone, and what is not named there is the owner's. The bench sees no money. The last owner with a
//! passphrase stays one. A passphrase is kept as argon2id's hash, a session's token as its SHA-256: whoever reads the book's
//! file can do nothing with either.

pub mod device;
pub mod forms;
pub mod hashing;
pub mod may;
pub mod pages;
pub mod passphrase;
pub mod session;
pub mod store;
pub mod withheld;

use crate::ground::choice::choices;
use crate::ground::dates::Moment;
use crate::ground::ids::PersonId;

/// The longest name; as long as the name of who ticks, which it is proposed for.
pub const NAME_LENGTH: usize = 40;

choices! {
    /// What someone is in the studio. Later ones may less.
    Role {
        /// Everything.
        Owner "owner" "Owner"
        /// Everything but people and backups.
        Desk "desk" "Desk"
        /// What is made, counted, packed and driven; no money.
        Bench "bench" "Bench"
    }
}

impl Role {
    /// The page it begins with.
    #[must_use]
    pub const fn home(self) -> &'static str {
        match self {
            Role::Owner | Role::Desk => "/",
            Role::Bench => "/prep",
        }
    }

    /// What it may, in a line.
    #[must_use]
    pub const fn may(self) -> &'static str {
        match self {
            Role::Owner => "everything, people and backups too",
            Role::Desk => "everything but people and backups",
            Role::Bench => "prep, receiving, pull lists, load, run and strike; no money",
        }
    }
}

/// Someone who may come in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// Their number.
    pub id: PersonId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// The name they log in with.
    pub name: String,
    /// What they may.
    pub role: Role,
    /// Whether they can log in.
    pub has_passphrase: bool,
}

/// A person as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPerson {
    /// Their name.
    pub name: String,
    /// What they may.
    pub role: Role,
}

/// Who asks for a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// Their name; empty where nobody logged in.
    pub name: String,
    /// What they may.
    pub role: Role,
    /// Where somebody logged in: who, and their session.
    pub signed: Option<Signed>,
}

/// Somebody who logged in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// Who.
    pub person: PersonId,
    /// The hash of their session's token.
    pub token_hash: String,
}

/// A session as its owner sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// The hash of its token.
    pub token_hash: String,
    /// What it was begun with.
    pub device: String,
    /// Since when.
    pub begun_at: Moment,
    /// When it was last used, to some minutes.
    pub seen_at: Moment,
    /// When it ends at the latest.
    pub ends_at: Moment,
}

impl Caller {
    /// Whoever sits at the studio's own machine while Trug listens there only.
    #[must_use]
    pub fn at_the_machine() -> Caller {
        Caller { name: String::new(), role: Role::Owner, signed: None }
    }

    /// Nobody we know: may the least there is.
    #[must_use]
    pub fn stranger() -> Caller {
        Caller { name: String::new(), role: Role::Bench, signed: None }
    }
}

impl Session {
    /// Enough of its hash to name it in an address; nobody makes a token of it.
    #[must_use]
    pub fn mark(&self) -> &str {
        self.token_hash.get(..16).unwrap_or(&self.token_hash)
    }
}

/// A name as it is compared: letter case and spaces left aside.
///
/// ```
/// assert_eq!(trug::studio::people::name_key("  Ada  Lovelace "), "ada lovelace");
/// ```
#[must_use]
pub fn name_key(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
