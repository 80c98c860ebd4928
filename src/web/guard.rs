//! What every answer passes: only our own names as Host, headers that keep pages to themselves. Posts from other sites are
//! refused by tower-http's layer beside it (see `app`).

use axum::extract::{Request, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::door::Line;
use super::state::App;

const HEADERS: [(HeaderName, &str); 7] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "same-origin"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    // Pages are never kept by a cache in between, nor by the browser for whoever comes after a log-out.
    (header::CACHE_CONTROL, "no-store"),
];
/// Half a year. Not for names below ours: those belong to others of the studio's machines.
const ENCRYPTED_FROM_NOW_ON: HeaderValue = HeaderValue::from_static("max-age=15768000");

/// What a proxy adds. One that sends its own Host along would open the book to everybody who reaches it.
const FORWARDED: [HeaderName; 5] = [
    header::FORWARDED,
    header::VIA,
    HeaderName::from_static("x-forwarded-for"),
    HeaderName::from_static("x-forwarded-host"),
    HeaderName::from_static("x-real-ip"),
];

/// Middleware: refuses what came through a proxy that nobody told us of, and a foreign Host (a name pointed at this machine by someone else's DNS).
pub async fn own_host_only(State(app): State<App>, request: Request, next: Next) -> Response {
    if !app.door.is_locked() && FORWARDED.iter().any(|name| request.headers().contains_key(name)) {
        let sentence = "This comes through a proxy, and Trug believes to be alone on its machine. Start it with --behind-proxy https://NAME: then everybody logs in.\n";
        return (StatusCode::MISDIRECTED_REQUEST, sentence).into_response();
    }
    let host = request.headers().get(header::HOST).and_then(|value| value.to_str().ok()).unwrap_or_default();
    if app.door.is_ours(host, request.extensions().get::<Line>().copied()) {
        return next.run(request).await;
    }
    let sentence = if app.door.is_locked() {
        "Trug does not answer to this name. Start it with --host NAME, or use the address it said at its start.\n"
    } else {
        "Trug answers only as localhost on this machine.\n"
    };
    (StatusCode::MISDIRECTED_REQUEST, sentence).into_response()
}

/// Middleware: the headers every answer carries.
pub async fn safe_headers(State(app): State<App>, request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    if app.door.is_encrypted() {
        headers.insert(header::STRICT_TRANSPORT_SECURITY, ENCRYPTED_FROM_NOW_ON);
    }
    response
}
