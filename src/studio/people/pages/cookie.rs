//! The cookie that carries a session's token: for the server alone, never sent along from other sites, and where pages travel
//! encrypted only over such lines and to this very name (`__Host-`).

use axum::http::header::InvalidHeaderValue;
use axum::http::{HeaderMap, HeaderValue};

use super::super::session::MOST_DAYS;
use crate::web::cookies::sent;
use crate::web::door::Door;

const PLAIN: &str = "trug_session";
const ENCRYPTED: &str = "__Host-trug_session";

fn name(door: &Door) -> &'static str {
    if door.is_encrypted() { ENCRYPTED } else { PLAIN }
}

/// The token that a request carries.
pub(super) fn token<'a>(door: &Door, headers: &'a HeaderMap) -> Option<&'a str> {
    sent(headers, name(door)).filter(|token| !token.is_empty())
}

/// Hands a token to the browser, for as long as a session may last.
pub(super) fn given(door: &Door, token: &str) -> Result<HeaderValue, InvalidHeaderValue> {
    written(door, token, MOST_DAYS * 24 * 60 * 60)
}

/// Takes it back.
pub(super) fn taken(door: &Door) -> Result<HeaderValue, InvalidHeaderValue> {
    written(door, "", 0)
}

fn written(door: &Door, token: &str, seconds: i64) -> Result<HeaderValue, InvalidHeaderValue> {
    let secure = if door.is_encrypted() { "; Secure" } else { "" };
    HeaderValue::try_from(format!(
        "{}={token}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict{secure}",
        name(door)
    ))
}
