//! What is printed fits the paper that the studio has: every kind of sheet on A4 and on US Letter.

use std::fs;
use std::process::Command;

use crate::support::{Served, missing};

/// One of each: what suppliers, clients, the bench, the shelf and the van read.
const PAPERS: [&str; 8] = [
    "/orders/1/paper",
    "/receiving/1/sheet",
    "/stock/sheet",
    "/prep/sheets?from=2026-05-09&to=2026-05-10",
    "/events/3/pull-list",
    "/load/2026-05-09",
    "/recipes/1/card",
    "/quote-versions/3",
];

#[tokio::test(flavor = "multi_thread")]
async fn every_sheet_prints_on_the_studios_paper() {
    let studio = Served::demo().await;
    for (code, size, papers) in
        [("letter", ["[0 0 612", " 792]"], &PAPERS[..]), ("a4", ["[0 0 594.", " 841."], &PAPERS[..1])]
    {
        let mut tx = studio.book.write().await.unwrap();
        sqlx::query("UPDATE studio SET paper = ?").bind(code).execute(&mut *tx).await.unwrap();
        tx.commit().await.unwrap();
        for path in papers {
            let Some(sizes) = page_sizes(&studio.url(path)) else { return };
            assert!(!sizes.is_empty(), "{path} prints nothing");
            let fits = |found: &String| size.iter().all(|part| found.contains(part));
            assert!(sizes.iter().all(fits), "{path} on {code}: {sizes:?}");
        }
    }
}

/// The size of each page that Chromium prints, in points: 72 an inch.
fn page_sizes(url: &str) -> Option<Vec<String>> {
    let folder = std::env::temp_dir().join(format!("trug-papers-{}", std::process::id()));
    let file = folder.join("paper.pdf");
    fs::create_dir_all(&folder).unwrap();
    let run = Command::new("chromium")
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"])
        .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
        .arg(format!("--user-data-dir={}", folder.join("profile").display()))
        .arg(format!("--print-to-pdf={}", file.display()))
        .arg(url)
        .output();
    if run.is_err() {
        return missing("chromium is not installed");
    }
    let pdf = fs::read(&file).expect("Chromium wrote the paper");
    fs::remove_dir_all(&folder).unwrap();
    let text = String::from_utf8_lossy(&pdf);
    let size = |rest: &str| Some(rest[..=rest.find(']')?].trim().to_owned());
    Some(text.split("/MediaBox").skip(1).filter_map(size).collect())
}
