//! Books that earlier Trugs made (`fixtures/books.zip`: the demo of each as it was kept then) open with today's, whole and
//! with nothing lost, after a copy was put away.

use std::fs;
use std::io::{Cursor, Read};
use std::path::Path;

use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use sqlx::{AssertSqlSafe, Connection};
use zip::ZipArchive;

use crate::machine::Machine;

/// The steps of the schema at which the books stand.
const STEPS: [i64; 5] = [21, 40, 42, 66, 85];

/// What a person typed, and what was sent: it stays as it is. Dates and moments are text, sums whole numbers.
const KEPT: [&str; 9] = [
    "SELECT group_concat(name || email || phone || note, '|') FROM (SELECT * FROM client ORDER BY id)",
    "SELECT group_concat(name || day || coalesce(guests, '') || note, '|') FROM (SELECT * FROM event ORDER BY id)",
    "SELECT group_concat(recipe_id || ':' || coalesce(count, ''), '|') FROM (SELECT * FROM piece ORDER BY id)",
    "SELECT group_concat(name || minutes, '|') FROM (SELECT * FROM recipe ORDER BY id)",
    "SELECT group_concat(material_id || ':' || quantity, '|') FROM (SELECT * FROM recipe_line WHERE material_id IS NOT NULL ORDER BY id)",
    "SELECT group_concat(name || unit || kind, '|') FROM (SELECT * FROM material ORDER BY id)",
    "SELECT group_concat(offer_id || from_day || price, '|') FROM (SELECT * FROM offer_price ORDER BY offer_id, from_day)",
    "SELECT group_concat(number || sent_on || total || document, '|') FROM (SELECT * FROM quote_version ORDER BY id)",
    "SELECT group_concat(version_id || accepted_on || accepted_by, '|') FROM (SELECT * FROM quote_acceptance ORDER BY version_id)",
];

const PAGES: [&str; 16] = [
    "/",
    "/events?when=all",
    "/events/1",
    "/events/1/pieces",
    "/events/1/quote",
    "/events/1/account",
    "/events/1/close-out",
    "/events/3/pull-list",
    "/events/3/freshness",
    "/clients/1",
    "/recipes/1",
    "/materials/1",
    "/prep",
    "/stem-order?event=3",
    "/accounts",
    "/season",
];

fn book_at(step: i64) -> Vec<u8> {
    let books = include_bytes!("../fixtures/books.zip");
    let mut books = ZipArchive::new(Cursor::new(books)).unwrap();
    let mut book = Vec::new();
    books.by_name(&format!("at-step-{step:04}.trug")).unwrap().read_to_end(&mut book).unwrap();
    book
}

async fn kept(book: &Path) -> Vec<String> {
    let options = SqliteConnectOptions::new().filename(book).read_only(true);
    let mut connection = SqliteConnection::connect_with(&options).await.unwrap();
    let mut kept = Vec::new();
    for sql in KEPT {
        let found: Option<String> =
            sqlx::query_scalar(AssertSqlSafe(sql)).fetch_one(&mut connection).await.unwrap();
        kept.push(found.unwrap_or_default());
    }
    connection.close().await.unwrap();
    kept
}

#[tokio::test]
async fn books_of_earlier_trugs_open_whole_with_nothing_lost() {
    for step in STEPS {
        let machine = Machine::new();
        let (data, folder) = (machine.at("data"), machine.0.join("data"));
        fs::create_dir_all(&folder).unwrap();
        let book = folder.join("studio.trug");
        fs::write(&book, book_at(step)).unwrap();
        let before = kept(&book).await;
        let served = machine.serve(&["serve", "--port", "0", "--data", &data]);
        for page in PAGES {
            let answer = served.get(page);
            assert!(answer.starts_with("HTTP/1.1 200"), "step {step}, {page}: {answer}");
        }
        drop(served);
        machine.says(&["check", "--data", &data]);
        assert_eq!(kept(&book).await, before, "step {step}");
        let copy = folder.join(format!("backups/studio-at-step-{step:04}.trug"));
        assert_eq!(kept(&copy).await, before, "the copy of step {step}");
    }
}
