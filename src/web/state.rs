//! What handlers are handed.

use std::sync::{Arc, Mutex, PoisonError};

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
    backup_trouble: Arc<Mutex<Option<String>>>,
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
        let backup_trouble = Arc::default();
        App {
            book,
            clock,
            key: Key::generate(),
            door: Arc::new(door),
            throttle: Arc::default(),
            backup_trouble,
        }
    }
}

impl App {
    /// Why the last backup is not everywhere where it should be; none where it is, or where nobody makes any.
    #[must_use]
    pub fn backup_trouble(&self) -> Option<String> {
        self.backup_trouble.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Whoever makes backups says how it went.
    pub fn tell_of_backups(&self, trouble: Option<String>) {
        *self.backup_trouble.lock().unwrap_or_else(PoisonError::into_inner) = trouble;
    }
}

impl FromRef<App> for Key {
    fn from_ref(app: &App) -> Key {
        app.key.clone()
    }
}
