//! The cookies that more than one room knows.

use axum::http::header::InvalidHeaderValue;
use axum::http::{HeaderMap, HeaderValue, header};

/// Who works on this device: proposed wherever a sheet asks who. No secret; the script writes it too.
pub const HAND: &str = "trug_hand";

/// Keeps the name of who works on this device for a year.
///
/// # Errors
/// Never for a name; the type asks for it.
pub fn hand(name: &str) -> Result<HeaderValue, InvalidHeaderValue> {
    let name: String = form_urlencoded::byte_serialize(name.as_bytes()).collect();
    HeaderValue::try_from(format!("{HAND}={name}; Path=/; Max-Age=31536000; SameSite=Strict"))
}

/// The value of a request's cookie.
#[must_use]
pub fn sent<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    cookies
        .flat_map(|cookies| cookies.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(found, value)| (found == name).then_some(value))
}
