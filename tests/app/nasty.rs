//! Every form that the demo's pages offer, filled with what nobody should type: no answer breaks, no page shows markup as
//! markup, and the book is whole afterwards.

use std::collections::{BTreeMap, HashSet, VecDeque};

use axum::body::Body;
use axum::http::{Request, StatusCode};
use scraper::{ElementRef, Html, Selector};
use trug::book_check::{check, findings};

use crate::support::{Page, TestStudio};

/// Markup that would run, were it ever written as it is.
const MARKUP: &str = "\"'><script>x(1)</script><img src=x>";

/// What is typed. The long one is made when it is needed.
const NASTY: [&str; 52] = [
    MARKUP,
    "<script>x(3)",
    "'; DROP TABLE event; --",
    "\" OR 1=1 --",
    "{{ 7*7 }} ${7*7} %s%n%x {0} #{1}",
    "a\0b",
    "\u{1}\u{7}\u{1b}[31m\u{7f}\u{85}",
    "\u{202e}evitceles\u{202c}\u{2066}",
    "zero\u{200b}width\u{feff}\u{2060}\u{ad}",
    "\\ud800\\u0000 &#xD800; &#0;",
    "LONG",
    "=1+1",
    "+1",
    "-",
    "@SUM(A1)",
    "\t=1",
    "\r\n\r\nSet-Cookie: a=b",
    "../../etc/passwd",
    "..\\..\\windows",
    "%2e%2e%2f%2e%2e%2fetc%2fpasswd",
    "/etc/passwd\0.png",
    "🌸🌷👩‍🌾🏳️‍🌈",
    "Z̸̡͎̟a̷l̶g̵o̴ e\u{301}\u{301}\u{301}",
    "ＦＵＬＬ １２ ＝1",
    "İıßﬁ ǅ",
    "NaN",
    "Infinity",
    "-Infinity",
    "1e308",
    "1e-400",
    "-0",
    "0",
    "-1",
    "-0.5",
    "0.0000000000000000000000000001",
    "79228162514264337593543950335",
    "99999999999999999999999999999999999999999",
    "9223372036854775807",
    "9223372036854775808",
    "-9223372036854775808",
    "2147483648",
    "0x10",
    "１２",
    "1,2,3.4.5",
    "2026-02-30",
    "0000-00-00",
    "9999-12-31",
    "-009999-01-01",
    "25:61",
    "24:00",
    "     ",
    "true,false;null|undefined",
];

/// A form as a browser would send it.
#[derive(Debug, Clone)]
struct Form {
    action: String,
    multipart: bool,
    fields: Vec<(String, String)>,
    /// Places in `fields` that a person types, or a program may forge.
    typed: Vec<usize>,
    /// Fields for files.
    files: Vec<String>,
}

/// An address with its numbers, days and answers left out, and what is asked for only by its first name.
fn kind(path: &str) -> String {
    let (path, query) = path.split_once('?').unwrap_or((path, ""));
    let asked = query.split(['=', '&']).next().unwrap_or_default();
    path.chars().filter(|c| !c.is_ascii_digit()).chain(asked.chars()).collect()
}

/// What plans a weekend takes seconds in a debug build: one of each such page stands for all.
fn is_slow(path: &str) -> bool {
    ["/stem-order", "/prep", "/?", "/shifts"].iter().any(|slow| path.starts_with(slow))
}

fn selector(words: &str) -> Selector {
    Selector::parse(words).unwrap()
}

/// Pages reached by links from the first one, at most two of each kind; their forms, one of each kind.
async fn walked(studio: &TestStudio, mut look: impl FnMut(&str, &Page)) -> BTreeMap<String, Form> {
    let (anchors, forms) = (selector("a[href]"), selector("form"));
    let (mut seen, mut kinds, mut found) = (HashSet::new(), BTreeMap::new(), BTreeMap::new());
    let mut queue = VecDeque::from(["/".to_owned()]);
    while let Some(path) = queue.pop_front() {
        let count = kinds.entry(kind(&path)).or_insert(0);
        // What plans a weekend's order takes seconds in a debug build: one of each such page stands for all.
        let most =
            if ["/stem-order", "/prep", "/?"].iter().any(|slow| path.starts_with(slow)) { 1 } else { 2 };
        if *count == most || !seen.insert(path.clone()) {
            continue;
        }
        *count += 1;
        let page = studio.get(&path).await;
        look(&path, &page);
        if !page.media_type.starts_with("text/html") {
            continue;
        }
        let here = path.split('?').next().unwrap().to_owned();
        let html = Html::parse_document(&page.text());
        queue.extend(html.select(&anchors).filter_map(|anchor| {
            let href = anchor.attr("href")?.split('#').next()?;
            match href.chars().next()? {
                '/' if !href.starts_with("/static") => Some(href.to_owned()),
                '?' => Some(format!("{here}{href}")),
                _ => None,
            }
        }));
        for form in html.select(&forms) {
            let action = form.attr("action").unwrap_or(&here).to_owned();
            let method = form.attr("method").unwrap_or("get").to_lowercase();
            if method != "dialog" {
                found.entry(format!("{method} {}", kind(&action))).or_insert_with(|| filled(form, action));
            }
            // Live figures are asked for by the same fields.
            if let Some(live) = form.attr("data-live") {
                found.entry(format!("post {}", kind(live))).or_insert_with(|| filled(form, live.to_owned()));
            }
        }
    }
    found
}

/// A form as it stands in its page.
fn filled(form: ElementRef<'_>, action: String) -> Form {
    let (fields, options) = (selector("input[name], textarea[name], select[name]"), selector("option"));
    let multipart = form.attr("enctype").is_some_and(|kind| kind.starts_with("multipart"));
    let mut read = Form { action, multipart, fields: Vec::new(), typed: Vec::new(), files: Vec::new() };
    for field in form.select(&fields) {
        let name = field.attr("name").unwrap().to_owned();
        let text = || field.text().collect::<String>();
        let value = field.attr("value").unwrap_or_default().to_owned();
        match (field.value().name(), field.attr("type").unwrap_or("text")) {
            ("input", "checkbox" | "radio") if field.attr("checked").is_some() => {
                read.fields.push((name, field.attr("value").unwrap_or("on").to_owned()));
            }
            ("input", "checkbox" | "radio" | "submit" | "button") => {}
            ("input", "file") => read.files.push(name),
            ("select", _) => {
                let chosen = field.select(&options).find(|option| option.attr("selected").is_some());
                let chosen = chosen.or_else(|| field.select(&options).next());
                let value = chosen.and_then(|option| option.attr("value")).unwrap_or_default().to_owned();
                read.typed.push(read.fields.len());
                read.fields.push((name, value));
            }
            (element, _) => {
                read.typed.push(read.fields.len());
                read.fields.push((name, if element == "textarea" { text() } else { value }));
            }
        }
    }
    read
}

/// The nasty text with a number.
fn nasty(number: usize) -> String {
    let text = NASTY[number % NASTY.len()];
    if text == "LONG" { "w\u{fc}".repeat(33_000) } else { text.to_owned() }
}

/// A number that is the same in every run.
fn sampled(text: &str) -> usize {
    text.bytes().fold(7_usize, |sum, byte| sum.wrapping_mul(31).wrapping_add(usize::from(byte)) % 1_000_003)
}

async fn send(studio: &TestStudio, method: &str, form: &Form, file: &[u8]) -> Page {
    let pairs: Vec<(&str, &str)> =
        form.fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    if form.multipart {
        return send_multipart(studio, form, file).await;
    }
    if method == "get" {
        let query = form_urlencoded::Serializer::new(String::new()).extend_pairs(&pairs).finish();
        let path = form.action.split('?').next().unwrap();
        return studio.get(&format!("{path}?{query}")).await;
    }
    studio.post(&form.action, &pairs).await
}

async fn send_multipart(studio: &TestStudio, form: &Form, file: &[u8]) -> Page {
    let mut body = Vec::new();
    for (name, value) in &form.fields {
        let head = format!("--cut\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        body.extend_from_slice(head.as_bytes());
    }
    for name in &form.files {
        let head = format!(
            "--cut\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"../../<script>x(4).png\"\r\n\r\n"
        );
        body.extend_from_slice(head.as_bytes());
        body.extend_from_slice(file);
        body.extend_from_slice(b"\r\n");
    }
    body.extend_from_slice(b"--cut--\r\n");
    let request = Request::post(&form.action)
        .header("content-type", "multipart/form-data; boundary=cut")
        .header("sec-fetch-site", "same-origin");
    studio.send(request, Body::from(body)).await
}

/// What may never stand in a page as it was typed.
#[track_caller]
fn is_safe(what: &str, page: &Page) {
    assert!(!page.status.is_server_error(), "{what}: {}\n{}", page.status, page.text());
    if page.media_type.starts_with("text/html") {
        let text = page.text();
        for markup in ["<script>x", "<img src=x"] {
            assert!(!text.contains(markup), "{what} shows {markup}:\n{text}");
        }
    }
    assert!(!page.headers.contains_key("a") && !page.location.contains('\n'), "{what}");
}

/// Fields are tried one by one with one text each, and all at once; which text is drawn by the field's name, so that over
/// the many forms each text is tried in each kind of field.
#[tokio::test]
async fn nothing_that_is_typed_breaks_anything() {
    let studio = TestStudio::demo().await;
    let forms = walked(&studio, |path, page| is_safe(path, page)).await;
    assert!(forms.len() > 100, "{}", forms.len());
    let (mut sent, mut taken) = (0, 0);
    for (kind, form) in &forms {
        let (method, _) = kind.split_once(' ').unwrap();
        let mut names = HashSet::new();
        let mut tries: Vec<Vec<usize>> = form
            .typed
            .iter()
            .filter(|at| names.insert(form.fields[**at].0.as_str()))
            .take(if is_slow(&form.action) { 2 } else { 6 })
            .map(|at| vec![*at])
            .collect();
        tries.push(form.typed.clone());
        for (turn, places) in tries.iter().enumerate() {
            let mut typed = form.clone();
            for at in places {
                let (name, value) = &mut typed.fields[*at];
                *value = nasty(sampled(&format!("{kind} {name}")) + turn);
                if method == "get" {
                    // No address may be longer than 65,534 bytes.
                    *value = value.chars().take(2_000).collect();
                }
            }
            let answer = send(&studio, method, &typed, nasty(turn).as_bytes()).await;
            is_safe(&format!("{kind} {places:?} {:.2000?}", typed.fields), &answer);
            sent += 1;
            taken += usize::from(answer.status == StatusCode::SEE_OTHER);
        }
    }
    assert!(sent > 400 && taken > 50, "{taken} of {sent}");
    holds_together(&studio).await;
}

/// Markup in every field at once is taken where texts are, and shown as text on every page.
#[tokio::test]
async fn markup_is_shown_as_text_on_every_page() {
    let studio = TestStudio::demo().await;
    let texts: [(&str, &str); 9] = [
        ("client", "name"),
        ("event", "name"),
        ("material", "name"),
        ("supplier", "name"),
        ("recipe", "name"),
        ("place", "name"),
        ("studio", "name"),
        ("tick", "hand"),
        ("kit_item", "name"),
    ];
    let mut fill = studio.book.write().await.unwrap();
    for (table, column) in texts {
        let sql = format!("UPDATE \"{table}\" SET \"{column}\" = ? || rowid");
        sqlx::query(sqlx::AssertSqlSafe(sql)).bind(MARKUP).execute(&mut *fill).await.unwrap();
    }
    let notes: Vec<(String, String)> = sqlx::query_as(
        "SELECT m.name, c.name FROM sqlite_schema m JOIN pragma_table_info(m.name) c
            WHERE m.type = 'table' AND c.type = 'TEXT' AND c.name IN ('note', 'notes', 'address', 'venue', 'reason', 'contact', 'phone', 'colour', 'grade')",
    )
    .fetch_all(&mut *fill)
    .await
    .unwrap();
    assert!(notes.len() > 10, "{notes:?}");
    for (table, column) in notes {
        let sql = format!("UPDATE \"{table}\" SET \"{column}\" = ?");
        // Rows that are never changed refuse it.
        let _ = sqlx::query(sqlx::AssertSqlSafe(sql)).bind(MARKUP).execute(&mut *fill).await;
    }
    fill.commit().await.unwrap();
    let mut shown = 0;
    let _ = walked(&studio, |path, page| {
        is_safe(path, page);
        shown += usize::from(page.text().contains("&#60;script&#62;x(1)"));
    })
    .await;
    assert!(shown > 50, "{shown}");
}

async fn holds_together(studio: &TestStudio) {
    let _ = walked(studio, |path, page| is_safe(path, page)).await;
    let mut connection = studio.book.read().await.unwrap();
    let found = findings(&mut connection).await.unwrap();
    assert!(found.is_empty(), "{found:#?}");
    drop(connection);
    let found = check(studio.book.path()).await.unwrap();
    assert!(found.is_empty(), "{found:#?}");
}
