//! Who ticks on this device: a name typed once, kept in a cookie that the script may write too. No secret and no account.

use std::convert::Infallible;
use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::HeaderValue;
use axum::http::header::InvalidHeaderValue;
use axum::http::request::Parts;

use super::super::forms::name_of;
use super::super::sheet::{Reader, Sheet, SheetLine};
use super::super::store;
use crate::studio::visit::Visit;
use crate::web::cookies;

/// The name; empty where nobody said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Hand(pub String);

impl<S: Send + Sync> FromRequestParts<S> for Hand {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Hand, Infallible> {
        let typed = cookies::sent(&parts.headers, cookies::HAND).unwrap_or_default();
        let read = form_urlencoded::parse(typed.as_bytes()).next().map(|(name, _)| name_of(&name));
        Ok(Hand(read.unwrap_or_default()))
    }
}

impl Hand {
    /// How this device reads a sheet.
    #[must_use]
    pub fn reader(&self, visit: &Visit) -> Reader {
        Reader { hand: self.0.clone(), studio: Arc::clone(&visit.studio), today: visit.today }
    }

    /// A sheet with its ticks, as its page shows it.
    pub async fn sheet(
        &self,
        visit: &mut Visit,
        (key, back): (String, String),
        lines: Vec<SheetLine>,
    ) -> Result<Sheet, sqlx::Error> {
        let ticks = store::ticks(&mut visit.connection, &key).await?;
        Ok(Sheet::new(key, back, lines, ticks, self.reader(visit)))
    }

    /// Keeps the name on the device for a year.
    pub(super) fn cookie(&self) -> Result<HeaderValue, InvalidHeaderValue> {
        cookies::hand(&self.0)
    }
}
