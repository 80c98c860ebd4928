//! What handlers are handed.

use std::sync::{Arc, Mutex};

use axum::extract::FromRef;
use axum_extra::extract::cookie::Key;

use super::door::Door;
use super::throttle::Throttle;
use crate::clock::Clock;
use crate::db::Book;

/// The running studio: its book, its clock, the key that signs notices.
#[derive(Debug, Clone)]
pub struct App {
    /// The open book.
    pub book: Book,
    /// Where "now" comes from.
    pub clock: Clock,
    /// Signs the cookie that carries a notice to the next page.
    pub key: Key,
    /// By which way it is reached.
    pub door: Arc<Door>,
    /// Who tries to log in again and again.
    pub throttle: Arc<Mutex<Throttle>>,
}

impl App {
    /// An app over a book, with a fresh key, for this machine alone.
    #[must_use]
    pub fn new(book: Book, clock: Clock) -> App {
        App::behind(Door::default(), book, clock)
    }

    /// An app behind a door.
    #[must_use]
    pub fn behind(door: Door, book: Book, clock: Clock) -> App {
        App { book, clock, key: Key::generate(), door: Arc::new(door), throttle: Arc::default() }
    }
}

impl FromRef<App> for Key {
    fn from_ref(app: &App) -> Key {
        app.key.clone()
    }
}
