//! Walks from the first page along every link and looks at one page of each kind, and at what each form answers to
//! rubbish.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fs;
use std::path::Path;
use std::process::Command;

use axum::body::Body;
use axum::http::{Request, header};
use scraper::{Html, Selector};
use serde_json::json;
use tower::ServiceExt;
use trug::app::router;
use trug::clock::Clock;
use trug::web::state::App;

use crate::refused::refusals;
use crate::support::{Browser, NOW, Served, missing, page_check};

/// Pages that an empty book has no link to, or not yet.
const OFF_THE_PATH: [&str; 4] = ["/stock/sheet", "/loans/charges", "/stem-order/placing", "/search?q=rose"];

/// Pages that list something. In an empty book each says so, and what to do first.
const LISTS: [&str; 17] = [
    "/events",
    "/clients",
    "/recipes",
    "/materials",
    "/suppliers",
    "/stem-order",
    "/orders",
    "/receiving",
    "/stock",
    "/left-overs",
    "/losses",
    "/closed-days",
    "/prep",
    "/pull-lists",
    "/loans",
    "/crates",
    "/calendar",
];

/// Pages by kind: an address with its numbers and days left out, so that one event stands for all.
async fn pages(served: &Served) -> BTreeMap<String, (String, String)> {
    pages_from(served, &["/", "/nowhere"]).await
}

/// The same from these pages on, which need not be linked to.
async fn pages_from(served: &Served, first: &[&str]) -> BTreeMap<String, (String, String)> {
    let app = router(App::new(served.book.clone(), Clock::Fixed(NOW.parse().unwrap())));
    let mut found = BTreeMap::new();
    let mut seen = BTreeSet::new();
    let mut queue: VecDeque<String> = first.iter().map(|path| (*path).to_owned()).collect();
    while let Some(path) = queue.pop_front() {
        let kind = kind(&path);
        if found.contains_key(&kind) || !seen.insert(path.clone()) {
            continue;
        }
        let request = Request::get(&path).header(header::HOST, "localhost").body(Body::empty()).unwrap();
        let answer = app.clone().oneshot(request).await.unwrap();
        assert!(!answer.status().is_server_error(), "{path}: {}", answer.status());
        assert!(
            answer.status().is_success() || first.contains(&path.as_str()),
            "a dead link: {path}: {}",
            answer.status()
        );
        if !answer.headers()[header::CONTENT_TYPE].as_bytes().starts_with(b"text/html") {
            continue;
        }
        let body = axum::body::to_bytes(answer.into_body(), usize::MAX).await.unwrap();
        let html = String::from_utf8(body.to_vec()).expect("pages are UTF-8");
        queue.extend(links(&html, &path));
        found.insert(kind, (path, html));
    }
    found
}

fn links(html: &str, from: &str) -> Vec<String> {
    let anchors = Selector::parse("a[href]").unwrap();
    let page = from.split('?').next().unwrap();
    Html::parse_document(html)
        .select(&anchors)
        .filter_map(|anchor| anchor.attr("href"))
        .map(|href| href.split('#').next().unwrap().to_owned())
        .filter_map(|href| match href.chars().next() {
            Some('/') => Some(href),
            Some('?') => Some(format!("{page}{href}")),
            _ => None,
        })
        .collect()
}

fn kind(path: &str) -> String {
    let (path, query) = path.split_once('?').unwrap_or((path, ""));
    let names: BTreeSet<&str> = query.split('&').filter_map(|pair| pair.split('=').next()).collect();
    let parts: Vec<&str> = path
        .split('/')
        .map(|part| if part.starts_with(|c: char| c.is_ascii_digit()) { "#" } else { part })
        .collect();
    format!("{}?{}", parts.join("/"), names.into_iter().collect::<Vec<_>>().join("&"))
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_is_valid_html() {
    let Some(program) = page_check("html-validate/bin/html-validate.mjs") else { return };
    let pages = pages(&Served::demo().await).await;
    let refused = refusals(&pages).await;
    let shown = pages.into_iter().map(|(kind, (_, html))| (kind, html));
    let refused = refused.into_iter().map(|(kind, refusal)| (kind, refusal.html));
    validate(&program, "demo", shown.chain(refused));
}

/// Holds pages against the HTML standard.
pub(crate) fn validate(program: &Path, name: &str, pages: impl Iterator<Item = (String, String)>) {
    let folder = std::env::temp_dir().join(format!("trug-pages-{name}-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    let mut files = Vec::new();
    for (number, (kind, html)) in pages.enumerate() {
        let name: String = kind.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '_' }).collect();
        let file = folder.join(format!("{number:02}{name}.html"));
        fs::write(&file, html).unwrap();
        files.push(file);
    }
    let config = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/browser/.htmlvalidate.json");
    let run = Command::new("node")
        .arg(program)
        .args(["--config", config, "--formatter", "text"])
        .args(&files)
        .output();
    let Ok(run) = run else {
        missing::<()>("node is not installed");
        return;
    };
    assert!(
        run.status.success(),
        "{}{}",
        String::from_utf8_lossy(&run.stdout),
        String::from_utf8_lossy(&run.stderr)
    );
    fs::remove_dir_all(&folder).unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_is_accessible_on_a_desk() {
    no_violation(1280).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_is_accessible_on_a_phone() {
    no_violation(390).await;
}

/// A new studio opens every page there is before it has written anything down.
#[tokio::test(flavor = "multi_thread")]
async fn an_empty_book_is_valid_accessible_and_says_what_to_do_first() {
    let Some(program) = page_check("html-validate/bin/html-validate.mjs") else { return };
    let Some(axe) = page_check("axe-core/axe.min.js") else { return };
    let axe = fs::read_to_string(axe).unwrap();
    let served = Served::empty().await;
    open_feed(&served).await;
    let first: Vec<&str> = ["/"].iter().chain(&LISTS).chain(&OFF_THE_PATH).copied().collect();
    let pages = pages_from(&served, &first).await;
    for path in LISTS {
        let html = &pages[&kind(path)].1;
        let page = Html::parse_document(html);
        let leads =
            Selector::parse("main section.empty a, main section.empty button, main section.empty ~ form")
                .unwrap();
        assert!(page.select(&leads).next().is_some(), "{path} does not say what to do first");
    }
    for width in [1280, 390] {
        let Some(browser) = Browser::start(width).await else { return };
        let mut wrong = Vec::new();
        for (kind, (path, _)) in &pages {
            browser.open(&served.url(path)).await;
            wrong.extend(violations(&browser, &axe).await.map(|found| format!("{kind} ({path}) {found}")));
        }
        browser.stop().await;
        assert!(wrong.is_empty(), "an empty book at {width} px:\n{}", wrong.join("\n"));
    }
    validate(&program, "empty", pages.into_iter().map(|(kind, (_, html))| (kind, html)));
}

/// So that the calendar's page is looked at with its address too; the demo's has none.
async fn open_feed(served: &Served) {
    let mut tx = served.book.write().await.unwrap();
    sqlx::query("INSERT INTO calendar_feed (id, book, token, token_at) VALUES (1, ?1, ?1, ?2)")
        .bind("0123456789abcdef0123456789abcdef")
        .bind(NOW)
        .execute(&mut *tx)
        .await
        .unwrap();
    tx.commit().await.unwrap();
}

async fn no_violation(width: u32) {
    let Some(axe) = page_check("axe-core/axe.min.js") else { return };
    let Some(browser) = Browser::start(width).await else { return };
    let served = Served::demo().await;
    let axe = fs::read_to_string(axe).unwrap();
    let pages = pages(&served).await;
    let refused = refusals(&pages).await;
    let mut wrong = Vec::new();
    for (kind, (path, _)) in &pages {
        browser.open(&served.url(path)).await;
        wrong.extend(violations(&browser, &axe).await.map(|found| format!("{kind} ({path}) {found}")));
    }
    for (kind, refusal) in &refused {
        browser.send_rubbish(&served, refusal).await;
        let found = violations(&browser, &axe).await;
        wrong.extend(found.map(|found| format!("{kind} ({}) {found}", refusal.path)));
    }
    browser.stop().await;
    assert!(wrong.is_empty(), "at {width} px:\n{}", wrong.join("\n"));
}

/// What is wrong with the page that is open.
pub(crate) async fn violations(browser: &Browser, axe: &str) -> Option<String> {
    browser.client.execute(axe, Vec::new()).await.unwrap();
    let run = "const done = arguments[0];
        axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
            .then((found) => done(found.violations.map((v) => [v.id, v.help, v.nodes.map((n) => n.html)])));";
    let found = browser.client.execute_async(run, Vec::new()).await.unwrap();
    let wider = "return document.documentElement.scrollWidth - document.documentElement.clientWidth";
    let over = browser.client.execute(wider, Vec::new()).await.unwrap().as_i64().unwrap_or(0);
    match (found == json!([]), over > 0) {
        (true, false) => None,
        (true, true) => Some(format!("is {over} px wider than the screen")),
        (false, _) => Some(format!("{found:#}; {over} px wider than the screen")),
    }
}
