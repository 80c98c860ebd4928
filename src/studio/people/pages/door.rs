//! The door: every request passes it. Who is it, may they open this, and what of the page leads where they may not go?

use askama::Template;
use axum::body::{Body, to_bytes};
use axum::extract::{MatchedPath, Request, State};
use axum::http::{Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};

use super::super::may::{self, Who};
use super::super::{Caller, Role, session, store, withheld::withheld};
use super::cookie;
use crate::db::history::as_whom;
use crate::ground::dates::Moment;
use crate::web::answer::Trouble;
use crate::web::state::App;

/// What was asked for, as far as the door needs to know.
struct Asked {
    method: Method,
    /// The address with what is asked of it.
    address: String,
    path: String,
    /// The route as the router names it; none where there is no such page.
    route: Option<String>,
    /// Whether a script asks for a part of a page.
    part: bool,
    /// The hash of the token it carries.
    token_hash: Option<String>,
}

/// Middleware: lets in who may come in.
pub async fn admit(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let asked = Asked::of(&app, &request);
    let caller = match caller(&app, &asked).await {
        Ok(caller) => caller,
        Err(error) => return Trouble::from(error).into_response(),
    };
    let who = asked.route.as_ref().map_or(Who::Bench, |route| may::who(asked.method.as_str(), route));
    let caller = match caller {
        Some(caller) if who.has(caller.role) => caller,
        Some(caller) => return closed(&asked, &caller),
        None if who == Who::Everyone => Caller::stranger(),
        None => return log_in_first(&asked),
    };
    request.extensions_mut().insert(caller.clone());
    let response = as_whom(caller.name.clone(), next.run(request)).await;
    if caller.role == Role::Owner || caller.signed.is_none() {
        return response;
    }
    without_closed_doors(response, &asked.path, caller.role).await
}

impl Asked {
    fn of(app: &App, request: &Request) -> Asked {
        let uri = request.uri();
        Asked {
            method: request.method().clone(),
            address: uri.path_and_query().map_or_else(|| "/".to_owned(), ToString::to_string),
            path: uri.path().to_owned(),
            route: request.extensions().get::<MatchedPath>().map(|path| path.as_str().to_owned()),
            part: request.headers().contains_key("trug-part"),
            token_hash: cookie::token(&app.door, request.headers()).map(session::hash_of),
        }
    }

    fn reads(&self) -> bool {
        matches!(self.method, Method::GET | Method::HEAD)
    }

    /// A device that only asks whether there is news is not at work.
    fn is_at_work(&self) -> bool {
        self.path != "/ticks"
    }
}

/// Who it is; nobody where they must log in first.
async fn caller(app: &App, asked: &Asked) -> Result<Option<Caller>, sqlx::Error> {
    if !app.door.is_locked() {
        return Ok(Some(Caller::at_the_machine()));
    }
    let Some(token_hash) = &asked.token_hash else { return Ok(None) };
    let now = app.clock.now();
    let found = store::find(&mut *app.book.read().await?, token_hash).await?;
    let Some(found) = found.filter(|found| session::holds(now, found.seen_at, found.ends_at)) else {
        return Ok(None);
    };
    if asked.is_at_work() && session::is_to_be_noted(now, found.seen_at) {
        note_use(app, token_hash, now).await;
    }
    Ok(Some(found.caller))
}

/// That it could not be noted (a full disk) is no reason to show no page.
async fn note_use(app: &App, token_hash: &str, now: Moment) {
    let noted = async {
        let mut tx = app.book.write().await?;
        store::note_use(&mut tx, token_hash, now).await?;
        tx.commit().await
    };
    if let Err(error) = noted.await {
        tracing::warn!("The use of a session was not noted: {error}");
    }
}

#[derive(Template)]
#[template(path = "studio/people/closed.html")]
struct ClosedPage {
    heading: &'static str,
    sentence: &'static str,
    onward: &'static str,
    onward_words: &'static str,
}

/// Nobody is logged in: a page leads to the log-in and back, everything else is refused and says nothing.
fn log_in_first(asked: &Asked) -> Response {
    if asked.reads() && !asked.part {
        let to: String = form_urlencoded::Serializer::for_suffix(String::from("/log-in?"), "/log-in?".len())
            .append_pair("to", &asked.address)
            .finish();
        return Redirect::to(if asked.path == "/" { "/log-in" } else { &to }).into_response();
    }
    let page = ClosedPage {
        heading: "Log in first",
        sentence: "Nobody is logged in here any more, so nothing was saved. Log in in a second tab, come back to this one \
            and send it again: the browser still has what you typed.",
        onward: "/log-in",
        onward_words: "Log in",
    };
    answered(StatusCode::UNAUTHORIZED, &page)
}

/// Logged in, but not for this.
fn closed(asked: &Asked, caller: &Caller) -> Response {
    let home = caller.role.home();
    if asked.reads() && asked.path == "/" {
        return Redirect::to(home).into_response();
    }
    let sentence = match caller.role {
        Role::Bench => "This belongs to the desk. Nothing was changed.",
        Role::Desk | Role::Owner => "This belongs to the owner. Nothing was changed.",
    };
    let page = ClosedPage { heading: "Not open to you", sentence, onward: home, onward_words: "Back" };
    answered(StatusCode::FORBIDDEN, &page)
}

fn answered(status: StatusCode, page: &ClosedPage) -> Response {
    let body = page.render().unwrap_or_else(|_| page.sentence.to_owned());
    (status, Html(body)).into_response()
}

/// Takes out of a page what leads where its reader may not go.
async fn without_closed_doors(response: Response, here: &str, role: Role) -> Response {
    let is_page = response
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    if !is_page {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    let html = match to_bytes(body, usize::MAX).await {
        Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
        Err(error) => return Trouble::from(error).into_response(),
    };
    // The first page is everybody's: it leads each to their own.
    let reads = |address: &str| address == "/" || may::may_read(role, address);
    let shown = withheld(&html, here, reads, |address| may::may_write(role, address));
    parts.headers.remove(header::CONTENT_LENGTH);
    Response::from_parts(parts, Body::from(shown))
}
