//! The whole list as a file: saving it, and taking one in after a preview, all or nothing.

use askama::Template;
use axum::extract::State;
use axum::extract::multipart::{Field, Multipart};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::super::file::columns::{COLUMNS, Column};
use super::super::file::table::{MOST_BYTES, MOST_LINES, decode, read};
use super::super::forms::file::{LineReport, LineStanding, Plan, export, plan};
use super::super::store::{self, Upload};
use crate::ground::formats::clipped;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, download, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// How many lines a page of the preview holds.
const PAGE: usize = 100;

/// `GET /price-list.csv`: the list as it stands today.
pub(super) async fn save_as_file(mut visit: Visit) -> Answer {
    let known = store::known_list(&mut visit.connection, visit.today).await?;
    let text = export(&known, &visit.studio.formats, visit.today);
    download(&format!("price-list-{}.csv", visit.today), "text/csv; charset=utf-8", text)
}

#[derive(Template)]
#[template(path = "price_list/import.html")]
struct UploadPage {
    shell: Shell,
    pasted: String,
    errors: FieldErrors,
}

impl UploadPage {
    fn new(visit: &Visit, pasted: String, errors: FieldErrors) -> UploadPage {
        UploadPage { shell: visit.shell(Section::PriceList, "Take in a price list"), pasted, errors }
    }

    fn columns(&self) -> &'static [Column] {
        &COLUMNS
    }

    fn most_lines(&self) -> String {
        self.shell.formats.number(MOST_LINES.into(), 0)
    }

    fn most_megabytes(&self) -> usize {
        MOST_BYTES / 1024 / 1024
    }
}

pub(super) async fn blank(visit: Visit) -> Answer {
    page(&UploadPage::new(&visit, String::new(), FieldErrors::default()))
}

/// Takes the file's bytes, or the pasted text, and goes on to its preview.
pub(super) async fn upload(State(app): State<App>, visit: Visit, mut parts: Multipart) -> Answer {
    let mut file: Option<(String, Result<Vec<u8>, String>)> = None;
    let mut pasted = Ok(Vec::new());
    while let Some(mut part) = parts.next_field().await.map_err(broken_off)? {
        let name = part.name().unwrap_or_default().to_owned();
        let file_name = part.file_name().map(str::to_owned);
        let bytes = all_bytes(&mut part).await?;
        match (name.as_str(), file_name) {
            ("file", Some(file_name)) if !file_name.is_empty() => file = Some((file_name, bytes)),
            ("pasted", _) => pasted = bytes,
            _ => {}
        }
    }
    let text =
        pasted.as_ref().map_or_else(|_| String::new(), |bytes| String::from_utf8_lossy(bytes).into_owned());
    let (field, file_name, bytes) = match file {
        Some((file_name, bytes)) => ("file", file_name, bytes),
        None if !text.trim().is_empty() || pasted.is_err() => ("pasted", "Pasted lines".to_owned(), pasted),
        None => {
            let errors = FieldErrors::one("file", "Choose a file, or paste lines into the field below it.");
            return refused(&UploadPage::new(&visit, text, errors));
        }
    };
    let content = match bytes {
        Ok(bytes) => tokio::task::spawn_blocking(move || table_text(&bytes)).await?,
        Err(message) => Err(message),
    };
    let content = match content {
        Ok(content) => content,
        Err(message) => return refused(&UploadPage::new(&visit, text, FieldErrors::one(field, message))),
    };
    let mut tx = app.book.write().await?;
    let upload = Upload { file_name: clipped(&file_name), content };
    let id = store::keep_upload(&mut tx, &upload, visit.now).await?;
    tx.commit().await?;
    onward(format!("/price-list/import/{id}"))
}

/// A file's text, once it is known to be a table.
fn table_text(bytes: &[u8]) -> Result<String, String> {
    let content = decode(bytes)?;
    read(&content).map(|_| content)
}

/// All bytes of a part; one that is too large is read to its end, so that the browser hears the answer, but not kept.
async fn all_bytes(part: &mut Field<'_>) -> Result<Result<Vec<u8>, String>, Trouble> {
    let mut bytes = Vec::new();
    let mut length = 0;
    while let Some(chunk) = part.chunk().await.map_err(broken_off)? {
        length += chunk.len();
        if length <= MOST_BYTES {
            bytes.extend_from_slice(&chunk);
        } else {
            bytes = Vec::new();
        }
    }
    if length > MOST_BYTES {
        let most = MOST_BYTES / 1024 / 1024;
        return Ok(Err(format!(
            "It is larger than {most} MB, the most that is taken in at once. Split it into several files."
        )));
    }
    Ok(Ok(bytes))
}

fn broken_off(_: axum::extract::multipart::MultipartError) -> Trouble {
    Trouble::Conflict("The file did not arrive whole. Nothing was taken in; send it again.".into())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct PreviewQuery {
    show: String,
    page: String,
}

#[derive(Template)]
#[template(path = "price_list/preview.html")]
struct PreviewPage {
    shell: Shell,
    id: i64,
    file_name: String,
    plan: Plan,
    show: &'static str,
    number: usize,
    /// Whether the list changed since the preview that was confirmed.
    list_changed: bool,
}

/// The kinds of lines with the word for the address, the word on the page and its shape.
const KINDS: [(LineStanding, &str, &str, &str); 4] = [
    (LineStanding::Refused, "refused", "Refused", "late"),
    (LineStanding::New, "new", "New", "done"),
    (LineStanding::Changed, "changed", "Changed", "part"),
    (LineStanding::Same, "same", "As it was", "off"),
];

impl PreviewPage {
    fn new(visit: &Visit, id: i64, upload: Upload, plan: Plan, query: &PreviewQuery) -> PreviewPage {
        let asked = KINDS.iter().find(|(_, code, ..)| *code == query.show);
        let first = KINDS.iter().find(|(standing, ..)| plan.count(*standing) > 0);
        let show = asked.or(first).map_or("same", |(_, code, ..)| *code);
        PreviewPage {
            shell: visit.shell(Section::PriceList, "Look before taking in"),
            id,
            file_name: upload.file_name,
            plan,
            show,
            number: query.page.parse::<usize>().unwrap_or(1).max(1),
            list_changed: false,
        }
    }

    fn may_be_taken_in(&self) -> bool {
        self.refused() == 0 && !self.plan.writes.is_empty()
    }

    fn refused(&self) -> usize {
        self.plan.count(LineStanding::Refused)
    }

    fn fingerprint(&self) -> String {
        self.plan.fingerprint()
    }

    /// Each kind of lines: code, word, how many.
    fn kinds(&self) -> Vec<(&'static str, &'static str, usize)> {
        KINDS.iter().map(|(standing, code, word, _)| (*code, *word, self.plan.count(*standing))).collect()
    }

    fn shown(&self) -> Vec<&LineReport> {
        self.of_kind().skip((self.number - 1).saturating_mul(PAGE)).take(PAGE).collect()
    }

    fn of_kind(&self) -> impl Iterator<Item = &LineReport> {
        let kind = KINDS.iter().find(|(_, code, ..)| *code == self.show).map(|(standing, ..)| *standing);
        self.plan.lines.iter().filter(move |line| Some(line.standing()) == kind)
    }

    fn more(&self) -> bool {
        self.of_kind().count() > self.number.saturating_mul(PAGE)
    }

    fn path(&self) -> String {
        self.shell.list_path(&format!("/price-list/import/{}", self.id), &[("show", self.show)])
    }

    fn word(&self, line: &LineReport) -> &'static str {
        KINDS.iter().find(|(standing, ..)| *standing == line.standing()).map_or("", |(_, _, word, _)| word)
    }

    fn shape(&self, line: &LineReport) -> &'static str {
        KINDS.iter().find(|(standing, ..)| *standing == line.standing()).map_or("", |(.., shape)| shape)
    }

    fn sums(&self) -> String {
        sums(&self.plan)
    }
}

/// What would be or was written, in words.
fn sums(plan: &Plan) -> String {
    let counted = plan.writes.counts().into_iter().filter(|(count, _)| *count > 0);
    let words = counted.map(|(count, what)| {
        let what = if count == 1 { what.trim_end_matches('s') } else { what };
        format!("{count} {what}")
    });
    let words: Vec<String> = words.collect();
    if words.is_empty() { "nothing new".into() } else { words.join(", ") }
}

const GONE: &str = "That file is no longer waiting: it was taken in or given up already, or it lay for more than a day. Take the file in again from the start.";

async fn planned(
    connection: &mut SqliteConnection,
    visit: &Visit,
    id: i64,
) -> Result<(Upload, Plan), Trouble> {
    let upload = store::upload(connection, id).await?.ok_or_else(|| Trouble::Conflict(GONE.into()))?;
    let known = store::known_list(connection, visit.today).await?;
    let table = read(&upload.content).map_err(Trouble::Conflict)?;
    let plan = plan(&table, &known, &visit.studio.formats, visit.today);
    Ok((upload, plan))
}

pub(super) async fn preview(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<i64>,
    Query(query): Query<PreviewQuery>,
) -> Answer {
    let mut connection = app.book.read().await?;
    let (upload, plan) = planned(&mut connection, &visit, id).await?;
    page(&PreviewPage::new(&visit, id, upload, plan, &query))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct AcceptForm {
    fingerprint: String,
}

/// Takes in what was previewed: all of it, or nothing.
pub(super) async fn accept(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<i64>,
    Form(form): Form<AcceptForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let (upload, plan) = planned(&mut tx, &visit, id).await?;
    if plan.count(LineStanding::Refused) > 0 {
        return refused(&PreviewPage::new(&visit, id, upload, plan, &PreviewQuery::default()));
    }
    if plan.fingerprint() != form.fingerprint {
        let page = PreviewPage::new(&visit, id, upload, plan, &PreviewQuery::default());
        return stale(&PreviewPage { list_changed: true, ..page });
    }
    store::write_all(&mut tx, &plan.writes, visit.now).await?;
    store::drop_upload(&mut tx, id).await?;
    tx.commit().await?;
    onward_saying(&app, "/materials", format!("Taken in from {}: {}.", upload.file_name, sums(&plan)))
}

pub(super) async fn give_up(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    let mut tx = app.book.write().await?;
    store::drop_upload(&mut tx, id).await?;
    tx.commit().await?;
    onward_saying(&app, "/price-list/import", "Given up; nothing was taken in.")
}
