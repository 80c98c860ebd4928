//! The house's own rules: who may know whom, and the door.

use std::fs;
use std::path::{Path, PathBuf};

use axum::body::Body;
use axum::http::{Request, StatusCode};

use crate::support::TestStudio;

/// The stages, in the order in which an event passes through them; each knows only those before it.
/// The room of ticks stands before the stem order: goods-in, the first sheet that is ticked off, belongs to it.
const STAGES: [&str; 13] = [
    "studio",
    "papers",
    "price_list",
    "recipes",
    "clients",
    "events",
    "quotes",
    "ticks",
    "stem_order",
    "prep",
    "pull_list",
    "accounts",
    "close_out",
];

fn allowed(from: &str, to: &str) -> bool {
    let stage = |name: &str| STAGES.iter().position(|stage| *stage == name);
    match (from, to) {
        ("ground" | "clock.rs", to) => to == "ground",
        ("db", to) => matches!(to, "db" | "ground"),
        ("web", to) => matches!(to, "web" | "ground" | "db" | "clock"),
        ("config.rs", _) => false,
        (from, to) => match (stage(from), stage(to)) {
            (Some(from), Some(to)) => to <= from,
            (Some(_), None) => matches!(to, "ground" | "db" | "web"),
            // The desk, the app, the demo and the command line know all.
            (None, _) => true,
        },
    }
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn no_room_knows_a_later_one() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    let mut wrong = Vec::new();
    for file in files {
        let of = file.strip_prefix(&root).unwrap().iter().next().unwrap().to_string_lossy().into_owned();
        let text = fs::read_to_string(&file).unwrap();
        for (at, _) in text.match_indices("crate::") {
            let rest = &text[at + "crate::".len()..];
            let to: String = rest.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect();
            if !to.is_empty() && !text[..at].ends_with('$') && !allowed(&of, &to) {
                wrong.push(format!("{} uses crate::{to}", file.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn calculations_know_no_page_and_no_book() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    for stage in STAGES {
        sources(&root.join(stage), &mut files);
    }
    for file in files {
        let name = file.file_stem().unwrap().to_string_lossy().into_owned();
        let page_side = file.iter().any(|part| {
            let part = part.to_string_lossy();
            ["store", "pages", "forms", "visit"].iter().any(|side| part.trim_end_matches(".rs") == *side)
        });
        if page_side || name == "mod" {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        for word in ["sqlx::", "axum::", "askama::", "crate::clock", "crate::web", "crate::db"] {
            assert!(!text.contains(word), "{} is a calculation and uses {word}", file.display());
        }
    }
}

#[tokio::test]
async fn a_foreign_host_is_refused() {
    let studio = TestStudio::new().await;
    let foreign = Request::get("/").header("host", "studio.example.org");
    studio.send(foreign, Body::empty()).await.is(StatusCode::MISDIRECTED_REQUEST);
    studio.get("/").await.is(StatusCode::OK);
}

#[tokio::test]
async fn a_post_from_another_site_is_refused() {
    let studio = TestStudio::new().await;
    let foreign = Request::post("/clients")
        .header("content-type", "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "cross-site")
        .header("origin", "https://example.org");
    studio.send(foreign, Body::from("name=Ada")).await.is(StatusCode::FORBIDDEN);
    studio.get("/clients").await.says("No clients yet");
}

#[tokio::test]
async fn every_answer_carries_the_safe_headers() {
    let studio = TestStudio::new().await;
    studio.get("/nowhere").await.is(StatusCode::NOT_FOUND).says("There is no such page");
}
