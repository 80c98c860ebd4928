//! The people who ask: names and how to reach them. May import `ground`, `db`, `web`, `studio`.

pub mod forms;
pub mod pages;
pub mod store;

use crate::ground::ids::ClientId;

/// Someone who asked for flowers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Client {
    /// Its identity.
    pub id: ClientId,
    /// Counts saves, so that a stale one is noticed.
    pub version: i64,
    /// A person's or a firm's name.
    pub name: String,
    /// Where they read.
    pub email: String,
    /// Where they answer.
    pub phone: String,
    /// Postal address, several lines.
    pub address: String,
    /// What to remember.
    pub note: String,
}

/// A client as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewClient {
    /// A person's or a firm's name.
    pub name: String,
    /// Where they read.
    pub email: String,
    /// Where they answer.
    pub phone: String,
    /// Postal address, several lines.
    pub address: String,
    /// What to remember.
    pub note: String,
}
