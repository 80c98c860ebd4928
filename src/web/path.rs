//! The identity in an address. An address that holds none is a page that is not there, in our own words.

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use serde::de::DeserializeOwned;

use super::answer::Trouble;

/// Like axum's own, but an address that cannot be read is "not found" instead of a bare sentence about types.
#[derive(Debug, Clone, Copy)]
pub struct Path<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = Trouble;

    #[expect(clippy::disallowed_types, reason = "this is the wrapper")]
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Path<T>, Trouble> {
        axum::extract::Path::from_request_parts(parts, state)
            .await
            .map(|axum::extract::Path(value)| Path(value))
            .map_err(|_| Trouble::NotFound("page"))
    }
}
