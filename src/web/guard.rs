//! The door on loopback: only our own names as Host, no posts from other sites, headers that keep pages to themselves.

use axum::extract::Request;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "same-origin"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Middleware: refuses a foreign Host (a name pointed at this machine by someone else's DNS).
pub async fn own_host_only(request: Request, next: Next) -> Response {
    let host = request.headers().get(header::HOST).and_then(|value| value.to_str().ok()).unwrap_or_default();
    if own_host(host) {
        next.run(request).await
    } else {
        (StatusCode::MISDIRECTED_REQUEST, "Trug answers only as localhost on this machine.\n").into_response()
    }
}

fn own_host(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|digit| digit.is_ascii_digit()) => name,
        _ => host,
    };
    matches!(name, "localhost" | "127.0.0.1" | "[::1]")
}

/// Middleware: the headers every answer carries. Pages are never kept by a cache in between.
pub async fn safe_headers(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

#[cfg(test)]
mod tests {
    use super::own_host;

    #[test]
    fn only_loopback_names_are_ours() {
        for host in ["localhost", "localhost:4310", "127.0.0.1:80", "[::1]", "[::1]:4310"] {
            assert!(own_host(host), "{host}");
        }
        for host in ["", "example.org", "localhost.example.org", "127.0.0.1.example.org:80", "localhost:x"] {
            assert!(!own_host(host), "{host}");
        }
    }
}
