//! How fast Trug is with a book of ten years: `cargo bench --bench pages`. Prints medians and ratios; fails only where a page is
//! no page. `cargo test` runs its short form: each page once, without the order that is planned for twenty seconds.
//!
//! The aim: no page takes more than three times the SQL it needs, plus 2 ms. "SQL" is what SQLite and sqlx spend on the
//! page's own statements, as sqlx measures them; "a bare page" is axum answering with as many bytes from memory.
//! With the name of one page (`-- "this week"`) its costliest statements are named too. "First time" is what the first visitor waits; a buying plan is remembered after that.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a bench fails by panicking")]

#[path = "book.rs"]
mod book;
#[path = "program.rs"]
mod program;
#[path = "pages/statements.rs"]
mod statements;

use std::path::Path;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::{Body, Bytes, to_bytes};
use axum::http::{Request, StatusCode, header};
use axum::routing::get;
use book::{Folder, order_of_twelve};
use statements::Statements;
use tower::ServiceExt;
use trug::app::router;
use trug::clock::Clock;
use trug::config::BOOK_FILE;
use trug::db::Book;
use trug::ten_years;
use trug::web::state::App;

/// Monday of the week whose weekend has twelve events.
const NOW: &str = "2026-05-11T09:00:00Z";
const ROUNDS: usize = 31;
const STARTS: usize = 7;
const LONGEST: &str = "need and order, 12 events";

/// The pages, by what is measured on them.
fn pages() -> Vec<(&'static str, String)> {
    let mut pages: Vec<(&str, String)> = [
        ("this week", "/"),
        ("events, coming", "/events"),
        ("events, all, found", "/events?when=all&q=wedding"),
        ("an event", "/events/3000"),
        ("its form", "/events/3000/edit"),
        ("its pieces", "/events/3000/pieces"),
        ("its quote", "/events/3000/quote"),
        ("its pull list", "/events/3000/pull-list"),
        ("clients", "/clients"),
        ("recipes", "/recipes"),
        ("a recipe", "/recipes/9"),
        ("materials", "/materials"),
        ("a material", "/materials/2"),
        ("suppliers", "/suppliers"),
        ("pull lists", "/pull-lists"),
        ("the kit", "/kit"),
        ("settings", "/settings"),
        ("search", "/search?q=rose"),
    ]
    .map(|(name, path)| (name, path.to_owned()))
    .into();
    pages.push(("need and order, 1 event", "/stem-order?event=3000".into()));
    pages.push((LONGEST, order_of_twelve()));
    pages.push(("prep, 12 events", "/prep?from=2026-05-16&to=2026-05-17".into()));
    pages.push(("bench plan, 12 events", "/prep/plan?week=2026-05-11".into()));
    pages.push(("freshness, 12 events", "/events/3000/freshness".into()));
    pages.push(("calendar, a year", "/calendar.ics?from=2026-05-11&to=2027-05-11".into()));
    pages.push(("prep sheets, 12 events", "/prep/sheets?from=2026-05-16&to=2026-05-17".into()));
    pages
}

/// Those named on the command line, else all; in the short form all but the longest.
fn asked(short: bool) -> Vec<(&'static str, String)> {
    let named: Vec<String> = std::env::args().skip(1).collect();
    let (mut asked, mut all): (Vec<_>, Vec<_>) =
        pages().into_iter().partition(|(name, _)| named.iter().any(|word| word == name));
    if asked.is_empty() {
        all.retain(|(name, _)| !(short && *name == LONGEST));
        asked = all;
    }
    asked
}

fn main() {
    // Cargo says so when it benches.
    let short = !std::env::args().any(|word| word == "--bench");
    let asked = asked(short);
    let statements = Statements::listen();
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    let folder = Folder::new();
    let path = folder.0.join(BOOK_FILE);
    let clock = Clock::Fixed(NOW.parse().unwrap());
    runtime.block_on(async {
        let begun = Instant::now();
        let rows = ten_years::make(&path, 1, clock).await.unwrap();
        println!("Book of ten years: {rows} rows made in {:.1?}.\n", begun.elapsed());
        let book = Book::open(&path).await.unwrap();
        let app = router(App::new(book.clone(), clock));
        println!(
            "{:<27} {:>9} {:>6} {:>7} {:>11} {:>9} {:>9} {:>9} {:>7}  aim",
            "page", "bytes", "stmts", "rows", "first time", "SQL", "page", "bare", "÷ SQL"
        );
        for (name, path) in &asked {
            let heard = page(&app, statements, (name, path), if short { 1 } else { ROUNDS }).await;
            if asked.len() == 1 {
                costliest(heard);
            }
        }
        drop(app);
        book.close().await;
    });
    let paths: Vec<String> = asked.into_iter().map(|(_, path)| path).collect();
    measure(&folder.0, &paths, if short { 1 } else { STARTS });
}

/// From start to first page, and how much memory the program holds after every page was asked for.
fn measure(folder: &Path, paths: &[String], starts: usize) {
    let took = median((0..starts).map(|_| program::start(folder).1).collect());
    println!("\nFrom start to first page: {took:.0?} (median of {starts}; aim 200 ms).");
    let (program, _) = program::start(folder);
    println!("Memory after the first page: {}.", program.memory());
    for path in paths {
        program.get(path);
    }
    println!("Memory after every page: {} (aim 80 MB).", program.memory());
}

/// The ten statements of a page that took longest.
fn costliest(mut heard: statements::Heard) {
    heard.0.sort_unstable_by_key(|said| std::cmp::Reverse(said.time));
    for said in heard.0.iter().take(10) {
        println!("  {:>9} {:>7} rows  {}", shown(said.time), said.rows, said.statement);
    }
}

async fn page(
    app: &Router,
    statements: &Statements,
    (name, path): (&str, &str),
    rounds: usize,
) -> statements::Heard {
    let (status, body, first) = fetch(app, path).await;
    assert_eq!(status, StatusCode::OK, "{name}");
    // A page that takes seconds is not asked for a minute.
    let rounds = if first > Duration::from_millis(500) { rounds.min(3) } else { rounds };
    let bare = Router::new().route(
        "/",
        get({
            let body = body.clone();
            async move || ([(header::CONTENT_TYPE, "text/html")], body)
        }),
    );
    let (mut whole, mut sql, mut alone, mut heard) = (vec![], vec![], vec![], statements::Heard::default());
    for _ in 0..rounds {
        whole.push(fetch(app, path).await.2);
        statements.begin();
        fetch(app, path).await;
        heard = statements.end();
        sql.push(heard.time());
        alone.push(fetch(&bare, "/").await.2);
    }
    let (whole, sql, alone) = (median(whole), median(sql), median(alone));
    let aim = sql * 3 + Duration::from_millis(2);
    println!(
        "{name:<27} {:>9} {:>6} {:>7} {:>11} {:>9} {:>9} {:>9} {:>7}  {}",
        body.len(),
        heard.0.len(),
        heard.rows(),
        shown(first),
        shown(sql),
        shown(whole),
        shown(alone),
        ratio(whole, sql),
        if whole <= aim { "kept".to_owned() } else { format!("{} over", shown(whole.saturating_sub(aim))) }
    );
    heard
}

async fn fetch(app: &Router, path: &str) -> (StatusCode, Bytes, Duration) {
    let request = Request::get(path).header(header::HOST, "localhost").body(Body::empty()).unwrap();
    let begun = Instant::now();
    let answer = app.clone().oneshot(request).await.unwrap();
    let status = answer.status();
    let body = to_bytes(answer.into_body(), usize::MAX).await.unwrap();
    (status, body, begun.elapsed())
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

fn shown(time: Duration) -> String {
    let micros = time.as_micros();
    format!("{}.{:02} ms", micros / 1000, micros % 1000 / 10)
}

fn ratio(whole: Duration, part: Duration) -> String {
    let tenths = whole.as_nanos() * 10 / part.as_nanos().max(1);
    format!("{}.{}", tenths / 10, tenths % 10)
}
