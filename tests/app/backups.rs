//! Backups: one a day, before a change of the schema, in a second place; what is refused; what is kept.

use std::fs;
use std::path::Path;

use axum::http::StatusCode;
use trug::db::{Book, backups, files};
use trug::ground::dates::Day;

use crate::machine::Machine;
use crate::support::TestStudio;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    backups::list(folder).unwrap().into_iter().map(|backup| backup.name).collect()
}

#[tokio::test]
async fn each_day_has_one_backup_and_old_ones_go_by_the_rule() {
    let studio = TestStudio::new().await;
    let folder = backups::folder_of(studio.book.path());
    assert!(backups::daily(&studio.book, day("2026-05-04")).await.unwrap());
    assert!(!backups::daily(&studio.book, day("2026-05-04")).await.unwrap(), "made once");
    files::check(&folder.join("studio-daily-2026-05-04.trug")).await.unwrap();
    // A year of backups, each a copy of the first; the next day's backup thins them out.
    let first = folder.join("studio-daily-2026-05-04.trug");
    for back in 1..365 {
        let old = day("2026-05-04").plus(-back);
        fs::copy(&first, folder.join(format!("studio-daily-{old}.trug"))).unwrap();
    }
    fs::copy(&first, folder.join("studio-backup-2020-01-01-120000.trug")).unwrap();
    fs::write(folder.join("note.txt"), "hers").unwrap();
    assert!(backups::daily(&studio.book, day("2026-05-05")).await.unwrap());
    let left = names(&folder);
    let daily = left.iter().filter(|name| name.starts_with("studio-daily-")).count();
    // Seven days, among them a Sunday and the last of April; two Sundays more; the ends of ten months more, March to June.
    assert_eq!(daily, 7 + 2 + 10, "{left:#?}");
    assert!(
        left.contains(&"studio-daily-2025-06-30.trug".into()) && left[0] == "studio-daily-2026-05-05.trug"
    );
    assert!(left.contains(&"studio-backup-2020-01-01-120000.trug".into()), "what a person made stays");
    assert!(folder.join("note.txt").exists());
}

#[tokio::test]
async fn a_second_place_gets_the_days_backup_and_is_checked_when_named() {
    let studio = TestStudio::new().await;
    let second = studio.book.path().with_file_name("stick");
    backups::daily(&studio.book, day("2026-05-04")).await.unwrap();
    let path = second.display().to_string();
    let form = [("version", "0"), ("folder", path.as_str())];
    let page = studio.post("/settings/backups", &form).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY).says("There is no folder").says(&path);
    studio.post("/settings/backups", &[("version", "0"), ("folder", "stick")]).await.says("whole path");
    studio
        .get("/settings/backups")
        .await
        .says("studio-daily-2026-05-04.trug")
        .says_not("In the second place");
    fs::create_dir(&second).unwrap();
    studio.post("/settings/backups", &form).await.onward();
    assert_eq!(names(&second), ["studio-daily-2026-05-04.trug"]);
    studio.get("/settings/backups").await.says("In the second place");
    studio.post("/settings/backups", &form).await.is(StatusCode::CONFLICT);
    // The stick is pulled out: said on the page, and an error for whoever copies; the book's own backups go on.
    fs::remove_dir_all(&second).unwrap();
    studio.get("/settings/backups").await.says("If it is on another disk, connect it");
    assert!(backups::daily(&studio.book, day("2026-05-05")).await.unwrap());
    assert!(backups::carry(&studio.book, day("2026-05-05"), &second).await.is_err());
    assert!(!second.exists());
    studio.post("/settings/backups", &[("version", "1"), ("folder", "")]).await.onward();
    studio.get("/settings/backups").await.says_not("connect it");
}

#[tokio::test]
async fn one_more_is_made_by_hand() {
    let studio = TestStudio::new().await;
    studio.post("/settings/backups/now", &[]).await.onward();
    studio.get("/settings/backups").await.says("Made by hand").says("studio-backup-2026-05-04-");
}

#[tokio::test]
async fn a_book_is_copied_before_its_schema_changes() {
    let machine = Machine::new();
    let book = machine.0.join("studio.trug");
    let old = files::new_at_step(&book, 54).await.unwrap();
    sqlx::Connection::close(old).await.unwrap();
    Book::open(&book).await.unwrap().close().await;
    let kept = backups::folder_of(&book);
    assert_eq!(names(&kept), ["studio-at-step-0054.trug"]);
    // Opened again it is at today's step, and nothing is copied.
    Book::open(&book).await.unwrap().close().await;
    assert_eq!(names(&kept).len(), 1);
    // Restored from that copy and opened: brought to today's step again, without a second copy of the copy.
    files::copy_of_backup(&kept.join("studio-at-step-0054.trug"), &machine.0.join("new.trug")).await.unwrap();
    assert_eq!(names(&kept).len(), 1);
}

#[test]
fn a_server_backs_up_by_itself_and_keeps_a_log() {
    let machine = Machine::new();
    let served = machine.serve(&["serve", "--port", "0", "--data", &machine.at("data")]);
    served.get("/");
    let folder = machine.0.join("data/backups");
    let waited = (0..100).any(|_| {
        std::thread::sleep(std::time::Duration::from_millis(50));
        backups::list(&folder).is_ok_and(|found| found.len() == 1)
    });
    assert!(waited, "no backup after five seconds");
    let log = fs::read_dir(machine.0.join("data/log")).unwrap().next().unwrap().unwrap().path();
    let said = fs::read_to_string(log).unwrap();
    assert!(said.contains("is made and whole") && !said.contains('\u{1b}'), "{said}");
}

#[test]
fn a_second_place_that_is_gone_is_told_on_the_first_page_until_another_is_named() {
    let machine = Machine::new();
    let (data, stick) = (machine.at("data"), machine.at("stick"));
    fs::create_dir_all(&stick).unwrap();
    let served = machine.serve(&["serve", "--port", "0", "--data", &data]);
    let form = |version: u8, folder: &str| format!("version={version}&folder={}", folder.replace('/', "%2F"));
    assert!(served.post("/settings/backups", &form(0, &stick)).contains("303"));
    drop(served);
    fs::remove_dir_all(&stick).unwrap();
    let served = machine.serve(&["serve", "--port", "0", "--data", &data]);
    // The day's backup is made meanwhile.
    let told = (0..100).any(|_| {
        std::thread::sleep(std::time::Duration::from_millis(50));
        served.get("/").contains("Backup missing")
    });
    assert!(told && served.get("/").contains(&format!("There is no folder {stick} now")));
    served.post("/settings/backups", &form(1, ""));
    assert!(!served.get("/").contains("Backup missing"));
}
