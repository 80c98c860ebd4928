//! The disk is full, the file is closed to writing, somebody else holds it, its pages are damaged: a clear sentence, and
//! the book as it was.

use std::fs::OpenOptions;
use std::io::{Seek, SeekFrom, Write};

use axum::extract::FromRequestParts;
use axum::http::{Request, StatusCode};
use sqlx::Connection;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use trug::clock::Clock;
use trug::db::{backups, files};
use trug::studio::visit::Visit;
use trug::web::state::App;

use crate::machine::Machine;
use crate::support::{NOW, TestStudio};

const LONG: &str = "Waxflower by the window, and a line that is repeated until it fills a page. ";

/// The book's one writing connection is told something that lasts, as a full disk or a closed file would.
async fn told(studio: &TestStudio, pragma: &str) {
    let mut tx = studio.book.write().await.unwrap();
    sqlx::query(sqlx::AssertSqlSafe(format!("PRAGMA {pragma}"))).execute(&mut *tx).await.unwrap();
    tx.commit().await.unwrap();
}

async fn pages_of(studio: &TestStudio) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar("PRAGMA page_count").fetch_one(&mut *connection).await.unwrap()
}

async fn written(studio: &TestStudio, name: &str) -> crate::support::Page {
    let note = LONG.repeat(50);
    studio.post("/clients", &[("name", name), ("note", &note)]).await
}

#[tokio::test]
async fn a_full_disk_is_said_and_nothing_is_saved_by_half() {
    let studio = TestStudio::new().await;
    written(&studio, "Ada North").await.onward();
    told(&studio, &format!("max_page_count = {}", pages_of(&studio).await)).await;
    let mut kept = 1;
    let full = loop {
        let answer = written(&studio, &format!("Client {kept}")).await;
        if answer.status != StatusCode::SEE_OTHER {
            break answer;
        }
        kept += 1;
        assert!(kept < 50, "the book grows beyond its pages");
    };
    full.is(StatusCode::SERVICE_UNAVAILABLE).says("The disk is full. Nothing was saved");
    studio.get("/clients").await.says("Ada North").says_not(&format!("Client {kept}"));
    // Room is made: it goes on without a new start.
    told(&studio, "max_page_count = 1000000").await;
    written(&studio, "Bo Marsh").await.onward();
    studio.get("/clients").await.says("Bo Marsh");
    files::check(studio.book.path()).await.unwrap();
}

#[tokio::test]
async fn a_file_closed_to_writing_is_said() {
    let studio = TestStudio::new().await;
    written(&studio, "Ada North").await.onward();
    told(&studio, "query_only = 1").await;
    let closed = written(&studio, "Bo Marsh").await;
    closed.is(StatusCode::SERVICE_UNAVAILABLE).says("cannot be written to. Nothing was saved");
    studio.get("/clients").await.says("Ada North").says_not("Bo Marsh");
}

#[tokio::test]
async fn a_book_that_something_else_writes_is_waited_for_then_said() {
    let studio = TestStudio::new().await;
    told(&studio, "busy_timeout = 50").await;
    let options = SqliteConnectOptions::new().filename(studio.book.path());
    let mut other = SqliteConnection::connect_with(&options).await.unwrap();
    sqlx::query("BEGIN IMMEDIATE").execute(&mut other).await.unwrap();
    let busy = written(&studio, "Bo Marsh").await;
    busy.is(StatusCode::SERVICE_UNAVAILABLE).says("being written by something else");
    studio.get("/clients").await.is(StatusCode::OK);
    sqlx::query("ROLLBACK").execute(&mut other).await.unwrap();
    written(&studio, "Bo Marsh").await.onward();
}

#[tokio::test]
async fn damaged_pages_are_said() {
    let machine = Machine::new();
    let data = machine.at("data");
    machine.demo_book(&data);
    let book = machine.0.join("data/studio.trug");
    let options = SqliteConnectOptions::new().filename(&book);
    let mut connection = SqliteConnection::connect_with(&options).await.unwrap();
    let page: i64 = sqlx::query_scalar("SELECT rootpage FROM sqlite_schema WHERE name = 'client'")
        .fetch_one(&mut connection)
        .await
        .unwrap();
    sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").execute(&mut connection).await.unwrap();
    connection.close().await.unwrap();
    let mut file = OpenOptions::new().write(true).open(&book).unwrap();
    file.seek(SeekFrom::Start(u64::try_from(page - 1).unwrap() * 4096)).unwrap();
    file.write_all(&[0xA5; 4096]).unwrap();
    drop(file);
    let served = machine.serve(&["serve", "--port", "0", "--data", &data]);
    let answer = served.get("/clients");
    assert!(
        answer.starts_with("HTTP/1.1 503") && answer.contains("damaged. Stop Trug and restore"),
        "{answer}"
    );
    drop(served);
    assert!(machine.refuses(&["check", "--data", &data]).contains("is damaged"));
    // A backup of a damaged book is no backup: none got a name.
    let backups = backups::list(&machine.0.join("data/backups")).unwrap();
    assert!(backups.is_empty(), "{backups:?}");
}

/// A disk that gives no more room for any file: the program neither dies nor loses what it kept before.
#[cfg(unix)]
#[test]
fn a_disk_that_takes_no_more_does_not_end_the_program() {
    let machine = Machine::new();
    let data = machine.at("data");
    let program = env!("CARGO_BIN_EXE_trug");
    drop(machine.serve(&["serve", "--port", "0", "--data", &data]));
    // A quarter of a megabyte a file, counted in 512 bytes as POSIX does: the log of writes comes up against it.
    let line = format!("trap '' XFSZ; ulimit -f 512; exec {program} serve --port 0 --data '{data}'");
    let served = machine.serve_with(std::process::Command::new("sh").args(["-c", &line]));
    let note = LONG.replace(' ', "+").repeat(50);
    let answers: Vec<String> =
        (0..40).map(|number| served.post("/clients", &format!("name=Client+{number}&note={note}"))).collect();
    let kept = answers.iter().filter(|answer| answer.starts_with("HTTP/1.1 303")).count();
    let refused = answers.iter().filter(|answer| answer.starts_with("HTTP/1.1 503")).count();
    assert!(
        kept > 0 && refused > 0 && kept + refused == 40,
        "{kept} kept, {refused} refused: {}",
        answers[39]
    );
    assert!(answers[39].contains("Nothing was saved"), "{}", answers[39]);
    let page = served.get("/clients");
    assert_eq!(page.matches("Client ").count().min(kept), kept, "{page}");
    drop(served);
    assert!(machine.says(&["check", "--data", &data]).contains("is whole"));
}

#[tokio::test]
async fn more_than_the_book_can_answer_is_said() {
    let studio = TestStudio::new().await;
    studio.get("/clients").await.is(StatusCode::OK);
    let mut held = Vec::new();
    for _ in 0..8 {
        held.push(studio.book.read().await.unwrap());
    }
    // The wait for a turn passes at once.
    tokio::time::pause();
    let page = studio.get("/clients").await;
    page.is(StatusCode::SERVICE_UNAVAILABLE).says("More is asked of the book just now").says("try again");
    assert_eq!(page.headers["retry-after"], "10");
    tokio::time::resume();
    drop(held);
    studio.get("/clients").await.is(StatusCode::OK);
}

#[tokio::test]
async fn whoever_waits_for_a_plan_keeps_nobody_from_reading() {
    let studio = TestStudio::new().await;
    let app = App::new(studio.book.clone(), Clock::Fixed(NOW.parse().unwrap()));
    let mut visits = Vec::new();
    for _ in 0..8 {
        let (mut parts, ()) = Request::get("/").body(()).unwrap().into_parts();
        visits.push(Visit::from_request_parts(&mut parts, &app).await.unwrap());
    }
    let long = visits.pop().unwrap();
    let (mut visit, read) = long.apart(async { studio.book.read().await.is_ok() }).await.unwrap();
    assert!(read, "another may read meanwhile");
    let one: i64 = sqlx::query_scalar("SELECT 1").fetch_one(&mut *visit.connection).await.unwrap();
    assert_eq!(one, 1, "afterwards it reads again");
}
