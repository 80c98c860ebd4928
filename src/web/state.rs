//! What handlers are handed.

use axum::extract::FromRef;
use axum_extra::extract::cookie::Key;

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
}

impl App {
    /// An app over a book, with a fresh key.
    #[must_use]
    pub fn new(book: Book, clock: Clock) -> App {
        App { book, clock, key: Key::generate() }
    }
}

impl FromRef<App> for Key {
    fn from_ref(app: &App) -> Key {
        app.key.clone()
    }
}
