//! What each role may open: every route of the app is named, and what is closed is closed; the bench sees no money.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fs;
use std::path::{Path, PathBuf};

use axum::http::StatusCode;
use scraper::{Html, Selector};
use trug::studio::people::Role;
use trug::studio::people::may::{Who, is_named, who};

use crate::people::{BENCH, DESK, OWNER, on_the_network};
use crate::support::TestStudio;

/// Every route of the app with its method, as the sources name it.
pub(crate) fn routes() -> BTreeSet<(&'static str, String)> {
    let mut found = BTreeSet::new();
    for file in sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src")) {
        let text = fs::read_to_string(&file).unwrap();
        for rest in text.split(".route(").skip(1) {
            let rest = rest.trim_start();
            let Some(path) = rest.strip_prefix('"').and_then(|rest| rest.split('"').next()) else { continue };
            let methods = arguments(rest);
            for (method, word) in [("GET", "get("), ("POST", "post(")] {
                if is_called(methods, word) {
                    found.insert((method, path.to_owned()));
                }
            }
            for word in ["put(", "patch(", "delete(", "any(", "on("] {
                assert!(
                    !is_called(methods, word),
                    "{path} has a method that the list of roles does not know"
                );
            }
        }
    }
    assert!(found.len() > 200, "the sources are read");
    found
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let files = entries.flat_map(|path| if path.is_dir() { sources(&path) } else { vec![path] });
    files.filter(|path| path.extension().is_some_and(|end| end == "rs")).collect()
}

/// What stands between the parentheses of a call, whose text begins behind the first of them.
fn arguments(text: &str) -> &str {
    let mut depth = 1;
    let end = text.char_indices().find(|(_, c)| {
        depth += match c {
            '(' => 1,
            ')' => -1,
            _ => 0,
        };
        depth == 0
    });
    end.map_or(text, |(end, _)| &text[..end])
}

fn is_called(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(at, _)| !text[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_'))
}

/// An address of the route in the demo's book.
fn sample(route: &str) -> String {
    let parts = route.split('/').map(|part| match part {
        "{day}" => "2026-05-08",
        "{size}" => "small",
        "{*path}" => "style.css",
        "{sheet}" => "prep-2026-05-08",
        part if part.starts_with('{') => "1",
        part => part,
    });
    parts.collect::<Vec<_>>().join("/")
}

#[test]
fn every_route_is_named_for_a_role_and_nothing_else_is() {
    let routes = routes();
    let missing: Vec<_> = routes.iter().filter(|(method, route)| !is_named(method, route)).collect();
    assert!(missing.is_empty(), "say in people/may/routes.rs who may open these: {missing:#?}");
    let list =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/studio/people/may/routes.rs"));
    let list = list.unwrap();
    let named = list.lines().filter_map(|line| line.trim().strip_prefix('"')?.strip_suffix("\","));
    let stale: Vec<_> = named
        .filter(|line| {
            let (method, route) = line.split_once(' ').unwrap();
            !routes.iter().any(|(m, r)| *m == method && r == route)
        })
        .collect();
    assert!(stale.is_empty(), "no such routes any more: {stale:#?}");
}

#[tokio::test]
async fn a_stranger_gets_nothing_from_any_route() {
    let studio = on_the_network(TestStudio::demo().await).await;
    for (method, route) in routes().into_iter().chain([("GET", "/nowhere".to_owned())]) {
        if who(method, &route) == Who::Everyone && route != "/log-in" {
            continue;
        }
        let path = sample(&route);
        let answer = if method == "GET" { studio.get(&path).await } else { studio.post(&path, &[]).await };
        match (method, route.as_str()) {
            ("GET", "/log-in") => answer.is(StatusCode::OK),
            ("POST", "/log-in") => answer.is(StatusCode::UNPROCESSABLE_ENTITY),
            ("GET", _) => {
                assert!(answer.onward().starts_with("/log-in"), "{route}");
                assert!(answer.body.is_empty(), "{route}");
                &answer
            }
            _ => answer.is(StatusCode::UNAUTHORIZED).says("Log in first"),
        };
        // Nothing of the book: not its name, no client, no money.
        answer.says_not("Hob").says_not("Imke").says_not("Sorrell");
        assert!(
            answer.set_cookies().is_empty() || route == "/log-out",
            "{route}: {:?}",
            answer.set_cookies()
        );
    }
    let request = axum::http::Request::get("/recipes/names?q=a").header("trug-part", "suggest");
    studio.send(request, axum::body::Body::empty()).await.is(StatusCode::UNAUTHORIZED);
    for method in ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"] {
        let request = axum::http::Request::builder()
            .method(method)
            .uri("/events/1")
            .header("sec-fetch-site", "same-origin");
        let answer = studio.send(request, axum::body::Body::empty()).await;
        answer.is(StatusCode::UNAUTHORIZED);
    }
}

/// What of a page tells money: a sign, a code, an amount with two decimals behind a point and no unit behind it.
fn money_in(text: &str) -> Option<String> {
    let at = ["£", "€", "$", "GBP", "EUR", "USD"].iter().find_map(|sign| text.find(sign));
    at.map(|at| {
        let from = text[..at].char_indices().rev().nth(60).map_or(0, |(from, _)| from);
        text[from..].chars().take(120).collect()
    })
}

fn shown_text(html: &str) -> String {
    let page = Html::parse_document(html);
    let main = Selector::parse("body").unwrap();
    let fields = Selector::parse("input[value], [aria-label], [data-label], [title]").unwrap();
    let mut text: String = page.select(&main).flat_map(|main| main.text()).collect();
    for field in page.select(&fields) {
        for (_, value) in field.value().attrs() {
            text.push('\n');
            text.push_str(value);
        }
    }
    text
}

fn main_text(html: &str) -> String {
    let main = Selector::parse("main").unwrap();
    let text: String = Html::parse_document(html).select(&main).flat_map(|main| main.text()).collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every page a role can reach by links from its first one.
async fn reached(studio: &TestStudio, session: &str, home: &str) -> BTreeMap<String, (StatusCode, String)> {
    let anchors = Selector::parse("a[href]").unwrap();
    let (mut found, mut kinds) = (BTreeMap::new(), BTreeMap::new());
    let mut queue = VecDeque::from([home.to_owned()]);
    while let Some(path) = queue.pop_front() {
        // Three of each kind stand for all: an address with its numbers and days left out.
        let kind: String = path.chars().filter(|c| !c.is_ascii_digit()).collect();
        let seen = kinds.entry(kind).or_insert(0);
        if found.contains_key(&path) || *seen == 3 {
            continue;
        }
        *seen += 1;
        let page = studio.get_with(&path, session).await;
        let html = page.text();
        if page.media_type.starts_with("text/html") {
            let here = path.split('?').next().unwrap().to_owned();
            let parsed = Html::parse_document(&html);
            queue.extend(parsed.select(&anchors).filter_map(|anchor| {
                let href = anchor.attr("href")?.split('#').next()?.to_owned();
                match href.chars().next()? {
                    '/' if href != "/" && !href.starts_with("/static") => Some(href),
                    '?' => Some(format!("{here}{href}")),
                    _ => None,
                }
            }));
        }
        found.insert(path, (page.status, html));
    }
    found
}

/// Forms that a page offers, as method and address.
fn forms(html: &str, here: &str) -> Vec<(String, String)> {
    let forms = Selector::parse("form").unwrap();
    let page = Html::parse_document(html);
    page.select(&forms)
        .map(|form| {
            let method = form.attr("method").unwrap_or("get").to_uppercase();
            (method, form.attr("action").unwrap_or(here).to_owned())
        })
        .filter(|(method, _)| method != "DIALOG")
        .collect()
}

#[tokio::test]
async fn the_bench_finds_its_pages_no_closed_door_and_no_money() {
    let studio = on_the_network(TestStudio::demo().await).await;
    let bench = studio.log_in(BENCH.0, BENCH.1).await;
    assert_eq!(studio.get_with("/", &bench).await.onward(), "/prep");
    let pages = reached(&studio, &bench, "/prep").await;
    let kinds: BTreeSet<&str> = pages.keys().filter_map(|path| path.split('/').nth(1)).collect();
    for kind in ["events", "prep", "receiving", "bench-losses", "pull-lists", "run", "load", "my-account"] {
        assert!(kinds.iter().any(|found| found.starts_with(kind)), "{kind}: {kinds:?}");
    }
    let money: Vec<_> =
        pages.iter().filter_map(|(path, (_, html))| Some((path, money_in(&shown_text(html))?))).collect();
    assert!(money.is_empty(), "{money:#?}");
    for (path, (status, html)) in &pages {
        assert_eq!(*status, StatusCode::OK, "a link to a closed door: {path}\n{html}");
        for (method, to) in forms(html, path) {
            let open = if method == "POST" {
                trug::studio::people::may::may_write(Role::Bench, &to)
            } else {
                trug::studio::people::may::may_read(Role::Bench, &to)
            };
            assert!(open, "a form that leads to a closed door: {method} {to} on {path}");
        }
    }
}

/// What is left of a page when forms go must be worth a link: most of what the owner reads there.
#[tokio::test]
async fn the_benchs_pages_are_not_emptied() {
    let studio = on_the_network(TestStudio::demo().await).await;
    let (bench, owner) = (studio.log_in(BENCH.0, BENCH.1).await, studio.log_in(OWNER.0, OWNER.1).await);
    for (_, route) in
        routes().iter().filter(|(method, route)| *method == "GET" && who(method, route) == Who::Bench)
    {
        let path = sample(route);
        let (seen, whole) = (studio.get_with(&path, &bench).await, studio.get_with(&path, &owner).await);
        if seen.media_type.starts_with("text/html") && path != "/my-account" {
            let (seen, whole) = (main_text(&seen.text()).len(), main_text(&whole.text()).len());
            assert!(seen * 2 > whole, "{path}: {seen} of {whole}");
        }
    }
}

#[tokio::test]
async fn the_bench_is_refused_every_other_route() {
    let studio = on_the_network(TestStudio::demo().await).await;
    let bench = studio.log_in(BENCH.0, BENCH.1).await;
    let mut refused = 0;
    for (method, route) in routes() {
        let path = sample(&route);
        let open = who(method, &route).has(Role::Bench);
        if route == "/log-out" || route == "/" {
            continue;
        }
        let answer = if method == "GET" {
            studio.get_with(&path, &bench).await
        } else {
            studio.post_with(&path, &[], &bench).await
        };
        if open {
            assert_ne!(answer.status, StatusCode::FORBIDDEN, "{method} {path}");
            assert!(!answer.status.is_server_error(), "{method} {path}: {}", answer.text());
        } else {
            answer.is(StatusCode::FORBIDDEN).says("belongs to the desk");
            refused += 1;
        }
        if !answer.media_type.starts_with("image/") {
            assert_eq!(money_in(&shown_text(&answer.text())), None, "{method} {path}");
        }
    }
    assert!(refused > 150, "{refused}");
}

#[tokio::test]
async fn the_desk_is_refused_people_and_backups_and_finds_no_link_there() {
    let studio = on_the_network(TestStudio::demo().await).await;
    let desk = studio.log_in(DESK.0, DESK.1).await;
    for (method, route) in routes().iter().filter(|(method, route)| who(method, route) == Who::Owner) {
        let path = sample(route);
        let answer = if *method == "GET" {
            studio.get_with(&path, &desk).await
        } else {
            studio.post_with(&path, &[], &desk).await
        };
        answer.is(StatusCode::FORBIDDEN).says("belongs to the owner");
    }
    studio
        .get_with("/settings", &desk)
        .await
        .is(StatusCode::OK)
        .says_not("/settings/people")
        .says_not("/settings/backups");
    for path in ["/", "/accounts", "/events/1/quote", "/recipes", "/materials"] {
        studio.get_with(path, &desk).await.is(StatusCode::OK);
    }
    let owner = studio.log_in(OWNER.0, OWNER.1).await;
    studio.get_with("/settings", &owner).await.says("/settings/people").says("/settings/backups");
}

#[tokio::test]
async fn whoever_is_logged_in_is_proposed_as_who_ticks() {
    let studio = on_the_network(TestStudio::demo().await).await;
    let fields = [("name", BENCH.0), ("passphrase", BENCH.1)];
    let cookies = studio.post("/log-in", &fields).await.set_cookies();
    let sent: Vec<&str> = cookies.iter().map(|cookie| cookie.split(';').next().unwrap()).collect();
    let page = studio.get_with("/prep/2026-05-08", &sent.join("; ")).await;
    page.is(StatusCode::OK).says("name=\"hand\" value=\"Bench tablet\"");
}
