//! Where sheets send their ticks and ask for those of others: a small answer for the script, the way back to the sheet
//! for a page without one.

mod hand;

use std::collections::{BTreeMap, HashMap};

use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use jiff::ToSpan;
use serde::{Deserialize, Serialize};

use super::forms::{TickForm, is_key};
use super::settle::Verdict;
use super::sheet::Reader;
use super::{SHEET_LENGTH, Ticks, Wish, store};
use crate::ground::dates::Moment;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Form, Query};
use crate::web::path::{Path, own_page};
use crate::web::state::App;

pub use hand::Hand;

/// A page shows no more sheets than this.
const MOST_SHEETS: usize = 62;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/ticks", get(told))
        .route("/ticks/{sheet}", post(take))
        .route("/ticks/{sheet}/clearings/{first}/{last}/restoration", post(restore))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct SheetsQuery {
    sheet: Vec<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct BackQuery {
    back: String,
}

/// What the script is told.
#[derive(Serialize)]
struct Told {
    sheets: BTreeMap<String, BTreeMap<String, ToldTick>>,
    /// Lines on which someone's newer tick stays.
    newer: Vec<String>,
}

#[derive(Serialize)]
struct ToldTick {
    mark: String,
    shown: Option<i64>,
    hand: String,
    signed: String,
}

/// The ticks of the sheets that a page shows; nothing where they are as they were.
async fn told(mut visit: Visit, hand: Hand, headers: HeaderMap, Query(query): Query<SheetsQuery>) -> Answer {
    let fine = query.sheet.len() <= MOST_SHEETS && query.sheet.iter().all(|key| is_key(key, SHEET_LENGTH));
    if !fine {
        return Err(Trouble::NotFound("sheet"));
    }
    let ticks = store::ticks_of(&mut visit.connection, &query.sheet).await?;
    let version = ticks.values().map(|ticks| ticks.version).max().unwrap_or(0);
    // Names and hours are told by the day: at midnight the same ticks are told anew.
    let tag = HeaderValue::try_from(format!("\"{version}-{}\"", visit.today))?;
    if headers.get(header::IF_NONE_MATCH) == Some(&tag) {
        return Ok(StatusCode::NOT_MODIFIED.into_response());
    }
    let mut response = tell(&hand.reader(&visit), &query.sheet, &ticks, Vec::new())?;
    response.headers_mut().insert(header::ETAG, tag);
    Ok(response)
}

fn tell(reader: &Reader, asked: &[String], ticks: &HashMap<String, Ticks>, newer: Vec<String>) -> Answer {
    let lines = |key: &String| {
        let ticked = ticks.get(key).into_iter().flat_map(Ticks::lines);
        let told = ticked.map(|(line, tick)| {
            let (mark, hand, signed) = (tick.mark.clone(), tick.hand.clone(), reader.signed(tick));
            (line.to_owned(), ToldTick { mark, shown: tick.shown, hand, signed })
        });
        (key.clone(), told.collect())
    };
    let told = Told { sheets: asked.iter().map(lines).collect(), newer };
    Ok(([(header::CONTENT_TYPE, "application/json")], serde_json::to_string(&told)?).into_response())
}

/// Takes what was touched on a sheet.
async fn take(
    State(app): State<App>,
    visit: Visit,
    Path(sheet): Path<String>,
    headers: HeaderMap,
    Form(form): Form<TickForm>,
) -> Answer {
    let wishes = form.parse().filter(|_| is_key(&sheet, SHEET_LENGTH)).ok_or(Trouble::NotFound("sheet"))?;
    let hand = form.hand();
    let at = Moment(visit.now.0.checked_sub(form.waited().seconds())?);
    let mut tx = app.book.write().await?;
    let before = store::latest(&mut tx).await?;
    let verdicts = store::take(&mut tx, &sheet, &wishes, (&hand, at)).await?;
    let after = store::latest(&mut tx).await?;
    let ticks = store::ticks(&mut tx, &sheet).await?;
    tx.commit().await?;
    let mut response = if headers.contains_key("trug-part") {
        let newer = wishes.iter().zip(&verdicts).filter(|(_, verdict)| **verdict == Verdict::Newer);
        let newer = newer.map(|(wish, _)| wish.line.clone()).collect();
        let reader = Hand(hand.clone()).reader(&visit);
        tell(&reader, std::slice::from_ref(&sheet), &HashMap::from([(sheet.clone(), ticks)]), newer)?
    } else {
        let words = said(&wishes, &verdicts);
        back(&app, (&sheet, &form), words, (before, after))?
    };
    response.headers_mut().append(header::SET_COOKIE, Hand(hand).cookie()?);
    Ok(response)
}

/// Back to the sheet, saying what was kept; what was cleared can be set again.
fn back(
    app: &App,
    (sheet, form): (&str, &TickForm),
    words: String,
    (before, after): (i64, i64),
) -> Result<Response, Trouble> {
    if form.clear.is_empty() || before == after {
        return onward_saying(app, form.page(), words);
    }
    let mut undo =
        form_urlencoded::Serializer::new(format!("/ticks/{sheet}/clearings/{before}/{after}/restoration?"));
    onward_undo(app, form.page(), words, undo.append_pair("back", form.page()).finish())
}

/// `3 ticks set, 1 taken back. 1 stays as someone else set it since.`
fn said(wishes: &[Wish], verdicts: &[Verdict]) -> String {
    let count = |is: &dyn Fn(&Wish, Verdict) -> bool| {
        wishes.iter().zip(verdicts).filter(|(wish, verdict)| is(wish, **verdict)).count()
    };
    let set = count(&|wish, verdict| wish.done && verdict != Verdict::Newer);
    let taken = count(&|wish, verdict| !wish.done && verdict != Verdict::Newer);
    let newer = count(&|_, verdict| verdict == Verdict::Newer);
    let ticks = |many: usize| if many == 1 { "1 tick".to_owned() } else { format!("{many} ticks") };
    let kept = match (set, taken) {
        (0, 0) => "No tick was changed.".to_owned(),
        (set, 0) => format!("{} set.", ticks(set)),
        (0, taken) => format!("{} taken back.", ticks(taken)),
        (set, taken) => format!("{} set, {taken} taken back.", ticks(set)),
    };
    match newer {
        0 => kept,
        1 => format!("{kept} 1 stays as someone else set it since."),
        many => format!("{kept} {many} stay as someone else set them since."),
    }
}

async fn restore(
    State(app): State<App>,
    Path((sheet, first, last)): Path<(String, i64, i64)>,
    Query(query): Query<BackQuery>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let set = store::restore(&mut tx, &sheet, (first, last)).await?;
    tx.commit().await?;
    let words = match set {
        0 => "Nothing is left to set again.".to_owned(),
        1 => "1 tick is set again.".to_owned(),
        many => format!("{many} ticks are set again."),
    };
    onward_saying(&app, own_page(&query.back).unwrap_or("/"), words)
}
