//! A notice for the next page, with an undo where there is one. It travels in a signed cookie and is shown once.

use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::Response;
use axum_extra::extract::SignedCookieJar;
use axum_extra::extract::cookie::{Cookie, Key, SameSite};
use serde::{Deserialize, Serialize};

use super::answer::{Answer, onward};
use super::state::App;
use crate::db::history::act_of_this_errand;
use crate::ground::dates::Moment;

const COOKIE: &str = "trug_notice";
/// Takes the notice from the browser: it was shown, or somebody else sits there now.
pub const GONE: HeaderValue =
    HeaderValue::from_static("trug_notice=; Path=/; Max-Age=0; HttpOnly; SameSite=Strict");

/// What the next page says at its top.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Flash {
    /// A plain sentence.
    pub message: String,
    /// Where a POST takes the change back.
    pub undo: Option<String>,
    /// What the request changed, if it changed something: the act's number and moment, and the page it leads to. It may be
    /// taken back where the history allows it.
    #[serde(default)]
    pub act: Option<(i64, Moment, String)>,
}

/// Sends the browser on, with a notice. Where the request overwrote something that can be put back, the notice offers it.
pub fn onward_saying(app: &App, path: impl AsRef<str>, message: impl Into<String>) -> Answer {
    let act = act_of_this_errand().map(|(act, at)| (act, at, path.as_ref().to_owned()));
    with(app, path, &Flash { message: message.into(), undo: None, act })
}

/// Sends the browser on, with a notice that offers to take the change back.
pub fn onward_undo(
    app: &App,
    path: impl AsRef<str>,
    message: impl Into<String>,
    undo: impl Into<String>,
) -> Answer {
    with(app, path, &Flash { message: message.into(), undo: Some(undo.into()), act: None })
}

fn with(app: &App, path: impl AsRef<str>, flash: &Flash) -> Answer {
    let value = serde_json::to_string(flash)?;
    let cookie = Cookie::build((COOKIE, value))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Strict)
        .secure(app.door.is_encrypted())
        .build();
    let jar = SignedCookieJar::<Key>::new(app.key.clone()).add(cookie);
    let response = onward(path)?;
    Ok(axum::response::IntoResponse::into_response((jar, response)))
}

/// The notice a request carries, if it is ours.
#[must_use]
pub fn carried(app: &App, headers: &axum::http::HeaderMap) -> Option<Flash> {
    let jar = SignedCookieJar::<Key>::from_headers(headers, app.key.clone());
    serde_json::from_str(jar.get(COOKIE)?.value()).ok()
}

/// Middleware: once a whole page has shown the notice, its cookie goes.
pub async fn clear_shown(request: Request, next: Next) -> Response {
    let carries = request
        .headers()
        .get_all(header::COOKIE)
        .iter()
        .any(|value| value.to_str().is_ok_and(|cookies| cookies.contains(COOKIE)));
    let partial = request.headers().contains_key("trug-part");
    let mut response = next.run(request).await;
    let page = response.status() == StatusCode::OK
        && response
            .headers()
            .get(header::CONTENT_TYPE)
            .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    if carries && page && !partial {
        response.headers_mut().append(header::SET_COOKIE, GONE);
    }
    response
}
