//! Addresses: the identity in one (an address that holds none is a page that is not there, in our own words), and whether one
//! that a form or a link carries is a page of ours.

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

/// An address to go on to, if it is a page of ours: nothing that a browser would take for another site's.
///
/// ```
/// use trug::web::path::own_page;
/// assert_eq!(own_page("/events/3"), Some("/events/3"));
/// assert_eq!(own_page("//example.org"), None);
/// ```
#[must_use]
pub fn own_page(address: &str) -> Option<&str> {
    let plain = address.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'\\');
    (address.starts_with('/') && !address.starts_with("//") && plain).then_some(address)
}

#[cfg(test)]
mod tests {
    use super::own_page;

    #[test]
    fn no_way_back_leads_to_another_site() {
        for foreign in ["https://example.org", "//example.org", "/\\example.org", "", "kit", "/a\r\nX: y"] {
            assert_eq!(own_page(foreign), None, "{foreign}");
        }
        assert_eq!(own_page("/events/3"), Some("/events/3"));
    }
}
