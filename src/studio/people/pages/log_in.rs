//! Logging in and out.

use askama::Template;
use axum::Extension;
use axum::extract::State;
use axum::http::{Extensions, HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use serde::Deserialize;

use super::super::hashing::{self, HashError};
use super::super::{Caller, Role, Session, device, name_key, passphrase, session, store};
use super::cookie;
use crate::ground::dates::Moment;
use crate::ground::ids::PersonId;
use crate::web::answer::{Answer, onward};
use crate::web::cookies;
use crate::web::door::{Line, Way};
use crate::web::flash;
use crate::web::forms::{Form, Query};
use crate::web::path::own_page;
use crate::web::state::App;
use crate::web::throttle::By;

/// Where to go afterwards, and how the passphrase is shown.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct LogInQuery {
    to: String,
    shown: String,
}

/// As typed. The passphrase never goes back to the page.
#[derive(Default, Deserialize)]
#[serde(default)]
pub(super) struct LogInForm {
    name: String,
    passphrase: String,
    to: String,
}

#[derive(Template)]
#[template(path = "studio/people/log_in.html")]
struct LogInPage {
    name: String,
    to: String,
    shown: bool,
    trouble: Option<String>,
    encrypted: bool,
}

impl LogInPage {
    fn new(app: &App, name: String, to: String) -> LogInPage {
        LogInPage { name, to, shown: false, trouble: None, encrypted: app.door.way != Way::Network }
    }

    /// This page with the passphrase readable as it is typed.
    fn shown_address(&self) -> String {
        form_urlencoded::Serializer::for_suffix(String::from("/log-in?"), "/log-in?".len())
            .append_pair("to", &self.to)
            .append_pair("shown", "1")
            .finish()
    }

    fn answered(self, status: StatusCode) -> Answer {
        Ok((status, Html(self.render()?)).into_response())
    }
}

/// The page to log in; who is in already goes on.
pub(super) async fn show(
    State(app): State<App>,
    Extension(caller): Extension<Caller>,
    Query(query): Query<LogInQuery>,
) -> Answer {
    if caller.signed.is_some() || !app.door.is_locked() {
        return onward(way_on(&query.to, caller.role));
    }
    let page = LogInPage::new(&app, String::new(), query.to);
    LogInPage { shown: !query.shown.is_empty(), ..page }.answered(StatusCode::OK)
}

/// Logs someone in: a new token each time, so that nobody comes in with one that was slipped to them.
pub(super) async fn log_in(
    State(app): State<App>,
    extensions: Extensions,
    headers: HeaderMap,
    Form(form): Form<LogInForm>,
) -> Answer {
    let page = LogInPage::new(&app, form.name.clone(), form.to.clone());
    if !app.door.is_locked() {
        return onward("/");
    }
    let line = extensions.get::<Line>().copied();
    let peer = app.door.peer(&headers, line);
    let mut by = vec![By::Address(peer)];
    // At the machine itself a name never waits, so that nobody on the network can keep the owner out.
    if !app.door.is_at_the_machine(line) {
        by.push(By::Name(name_key(&form.name)));
    }
    if let Err(seconds) = begun(&app, &by) {
        return slowed(page, seconds);
    }
    let known = store::by_name(&mut *app.book.read().await?, &form.name).await?;
    let (id, hash) = known.map_or((None, None), |(id, hash)| (Some(id), Some(hash)));
    let fits = match hashing::fits(passphrase::kept(&form.passphrase), hash).await {
        Err(HashError::Busy) => return slowed(page, 5),
        fits => fits?,
    };
    let Some(id) = id.filter(|_| fits) else {
        // Not the name: people type passphrases there.
        tracing::warn!("A log-in from {peer} was refused.");
        let trouble = Some("Name and passphrase do not belong together. Look at both and try again.".into());
        return LogInPage { trouble, ..page }.answered(StatusCode::UNPROCESSABLE_ENTITY);
    };
    let_in(&app, id, (&headers, &by), &form.to).await
}

/// Counts a try at a passphrase, or says how many seconds to wait.
pub(super) fn begun(app: &App, by: &[By]) -> Result<(), i64> {
    let mut throttle = app.throttle.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    throttle.begin(by, app.clock.now())
}

pub(super) fn succeeded(app: &App, by: &[By]) {
    app.throttle.lock().unwrap_or_else(std::sync::PoisonError::into_inner).succeeded(by);
}

/// `Too many tries in a row. Wait 8 seconds, then try again.`
pub(super) fn patience(seconds: i64) -> String {
    let wait = match seconds {
        1 => "1 second".to_owned(),
        2..=90 => format!("{seconds} seconds"),
        _ => format!("{} minutes", (seconds + 59) / 60),
    };
    format!("Too many tries in a row. Wait {wait}, then try again.")
}

fn slowed(page: LogInPage, seconds: i64) -> Answer {
    let page = LogInPage { trouble: Some(patience(seconds)), ..page };
    let mut response = page.answered(StatusCode::TOO_MANY_REQUESTS)?;
    response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(seconds));
    Ok(response)
}

async fn let_in(app: &App, id: PersonId, (headers, by): (&HeaderMap, &[By]), to: &str) -> Answer {
    succeeded(app, by);
    let now = app.clock.now();
    let token = session::new_token()?;
    let agent = headers.get(header::USER_AGENT).and_then(|agent| agent.to_str().ok()).unwrap_or_default();
    let session = new_session(&token, agent, now);
    let mut tx = app.book.write().await?;
    store::sweep(&mut tx, (now, session::idle_since(now))).await?;
    if let Some(old) = cookie::token(&app.door, headers) {
        store::end(&mut tx, &session::hash_of(old)).await?;
    }
    // Removed while the passphrase was looked at: nobody is let in.
    let Some(person) = store::person(&mut tx, id).await? else { return onward("/log-in") };
    store::begin(&mut tx, id, &session).await?;
    tx.commit().await?;
    let mut response = onward(way_on(to, person.role))?;
    response.headers_mut().append(header::SET_COOKIE, cookie::given(&app.door, &token)?);
    response.headers_mut().append(header::SET_COOKIE, cookies::hand(&person.name)?);
    response.headers_mut().append(header::SET_COOKIE, flash::GONE);
    Ok(response)
}

fn new_session(token: &str, agent: &str, now: Moment) -> Session {
    Session {
        token_hash: session::hash_of(token),
        device: device::named(agent),
        begun_at: now,
        seen_at: now,
        ends_at: session::latest_end(now),
    }
}

/// Logs out: the session ends in the book, not only in the browser.
pub(super) async fn log_out(State(app): State<App>, Extension(caller): Extension<Caller>) -> Answer {
    if let Some(signed) = &caller.signed {
        let mut tx = app.book.write().await?;
        store::end(&mut tx, &signed.token_hash).await?;
        tx.commit().await?;
    }
    gone(&app, "/log-in")
}

/// Sends the browser on without its session.
pub(super) fn gone(app: &App, to: &str) -> Result<Response, crate::web::answer::Trouble> {
    let mut response = onward(to)?;
    response.headers_mut().append(header::SET_COOKIE, cookie::taken(&app.door)?);
    response.headers_mut().append(header::SET_COOKIE, cookies::hand("")?);
    response.headers_mut().append(header::SET_COOKIE, flash::GONE);
    Ok(response)
}

/// Where to go on to: a page of ours that the role may read, else its first page.
fn way_on(to: &str, role: Role) -> &str {
    let open = |to: &&str| !to.starts_with("/log-") && super::super::may::may_read(role, to);
    own_page(to).filter(open).unwrap_or_else(|| role.home())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_sent_elsewhere_or_to_a_closed_door() {
        for (to, role, page) in [
            ("/prep/2026-05-14?from=2026-05-11", Role::Bench, "/prep/2026-05-14?from=2026-05-11"),
            ("/accounts", Role::Bench, "/prep"),
            ("/accounts", Role::Desk, "/accounts"),
            ("//example.org", Role::Owner, "/"),
            ("https://example.org", Role::Owner, "/"),
            ("/\\example.org", Role::Owner, "/"),
            ("/log-in", Role::Owner, "/"),
            ("", Role::Owner, "/"),
        ] {
            assert_eq!(way_on(to, role), page, "{to}");
        }
    }

    #[test]
    fn waiting_is_said_in_seconds_or_minutes() {
        assert_eq!(patience(1), "Too many tries in a row. Wait 1 second, then try again.");
        assert!(patience(900).contains("15 minutes"));
    }
}
