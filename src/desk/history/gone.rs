//! A record that was removed under one's hands: who removed it, when, what was typed meanwhile, and how to put it back.
//! Stands around every room's pages: where one answers that there is no such record, and the book knows that there was,
//! this page is shown instead.

use askama::Template;
use axum::body::{Body, Bytes, to_bytes};
use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};
use serde::Deserialize;

use super::store::{self, Gone};
use super::telling::who_words;
use super::words::{column_words, is_told, kind_words, parts_of};
use crate::db::schema;
use crate::studio::record_pages::numbered;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::onward_saying;
use crate::web::forms::Query;
use crate::web::path::{Path, own_page};
use crate::web::state::App;

/// A form is never longer.
const MOST_TYPED: usize = 2 * 1024 * 1024;

#[derive(Template)]
#[template(path = "desk/gone.html")]
struct GonePage {
    shell: Shell,
    kind: String,
    name: String,
    gone: Gone,
    /// Where a POST puts it back and goes on.
    put_back: String,
    history: String,
    /// Everything that was typed, as the form sent it.
    typed: Vec<(String, String)>,
}

impl GonePage {
    fn sentence(&self) -> String {
        let at = self.shell.formats.moment(self.gone.at, &self.shell.zone);
        let who = if self.gone.who.is_empty() {
            String::new()
        } else {
            format!(" by {}", who_words(&self.gone.who))
        };
        format!("It was removed{who}, {at}.")
    }

    /// What was typed, for people: without what forms carry for themselves.
    fn told(&self) -> Vec<(String, &str)> {
        let told = |(name, value): &&(String, String)| is_told(name) && !value.trim().is_empty();
        self.typed.iter().filter(told).map(|(name, value)| (column_words("", name), value.as_str())).collect()
    }
}

/// Middleware: says what became of a record that is not there any more.
pub async fn say_so(State(app): State<App>, request: Request, next: Next) -> Response {
    let Some((kind, number)) = numbered(request.uri().path()) else { return next.run(request).await };
    if removable(kind).is_none() || request.headers().contains_key("trug-part") {
        return next.run(request).await;
    }
    let (parts, body) = request.into_parts();
    let Ok((body, typed)) = typed_in(&parts, body).await else {
        return StatusCode::PAYLOAD_TOO_LARGE.into_response();
    };
    let answer = next.run(Request::from_parts(parts.clone(), body)).await;
    // A form that is refused too: what is put right there could not be saved either.
    if !matches!(answer.status(), StatusCode::NOT_FOUND | StatusCode::UNPROCESSABLE_ENTITY) {
        return answer;
    }
    match gone_page(&app, parts, kind, number, typed).await {
        Ok(Some(page)) => page,
        Ok(None) => answer,
        Err(trouble) => trouble.into_response(),
    }
}

/// The body of a form that is posted, and what it holds; other bodies go through untouched.
async fn typed_in(parts: &Parts, body: Body) -> Result<(Body, Vec<(String, String)>), axum::Error> {
    let is_form = parts
        .headers
        .get(header::CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"application/x-www-form-urlencoded"));
    if parts.method != Method::POST || !is_form {
        return Ok((body, Vec::new()));
    }
    let bytes: Bytes = to_bytes(body, MOST_TYPED).await?;
    let typed = form_urlencoded::parse(&bytes).into_owned().collect();
    Ok((Body::from(bytes), typed))
}

async fn gone_page(
    app: &App,
    mut parts: Parts,
    kind: &'static str,
    number: i64,
    typed: Vec<(String, String)>,
) -> Result<Option<Response>, Trouble> {
    let posted = parts.method == Method::POST;
    let path = parts.uri.path_and_query().map_or_else(String::new, ToString::to_string);
    let mut visit = Visit::from_request_parts(&mut parts, app).await?;
    let Some(gone) = store::gone(&mut visit.connection, kind, number).await? else { return Ok(None) };
    let tables = schema::tables(&mut visit.connection).await?;
    let row = (kind.to_owned(), number);
    let names = store::names(&mut visit.connection, &tables, &[row.clone()].into()).await?;
    let name = names.get(&row).cloned().unwrap_or_else(|| format!("{} no. {number}", kind_words(kind)));
    let then: String = form_urlencoded::byte_serialize(path.as_bytes()).collect();
    let again = if posted && !typed.is_empty() { "&again=yes" } else { "" };
    let page = GonePage {
        shell: visit.shell(section_of(kind), format!("{name} was removed")),
        kind: kind_words(kind).to_lowercase(),
        name,
        gone,
        put_back: format!("/history/restorations/{kind}-{number}?then={then}{again}"),
        history: format!("/history?of={kind}-{number}"),
        typed,
    };
    Ok(Some((StatusCode::NOT_FOUND, Html(page.render()?)).into_response()))
}

fn section_of(kind: &str) -> Section {
    match kind {
        "event" | "piece_set" => Section::Events,
        "client" => Section::Clients,
        "recipe" => Section::Recipes,
        "material" | "supplier" | "offer" => Section::PriceList,
        "stock_lot" | "placed_order" => Section::StemOrder,
        _ => Section::Settings,
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ThenQuery {
    then: String,
    again: String,
}

/// Puts a removed record back, and sends on what was typed to where it was going: the room's own save decides.
pub(super) async fn put_back(
    State(app): State<App>,
    mut visit: Visit,
    Path(record): Path<String>,
    Query(query): Query<ThenQuery>,
) -> Answer {
    let (kind, number) = parts_of(&record);
    let known = number.and_then(|number| Some((removable(kind)?, number)));
    let Some((table, number)) = known else { return Err(Trouble::NotFound("record")) };
    if store::gone(&mut visit.connection, table, number).await?.is_some() {
        let mut tx = app.book.write().await?;
        match store::put_back(&mut tx, table, number).await {
            Ok(_) => tx.commit().await?,
            Err(sqlx::Error::Database(error)) if error.is_unique_violation() => {
                return Err(Trouble::Conflict(
                    "It cannot be put back as it was: another one has its name now. Rename that one first; this page is still there when you go back.".into(),
                ));
            }
            Err(error) => return Err(error.into()),
        }
    }
    let then = own_page(&query.then).unwrap_or("/");
    if query.again == "yes" {
        return Ok(Redirect::temporary(then).into_response());
    }
    onward_saying(&app, then, "Brought back.")
}

/// The tables whose records are removed by a mark and can be put back alone.
fn removable(kind: &str) -> Option<&'static str> {
    const REMOVABLE: [&str; 8] =
        ["event", "client", "recipe", "material", "supplier", "offer", "piece_set", "closed_day"];
    REMOVABLE.into_iter().find(|table| *table == kind)
}
