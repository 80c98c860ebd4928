//! Names that a spreadsheet would take for formulas, in every file that leaves the book: no cell begins one (OWASP, CSV
//! Injection), and what was saved comes back as it was.

use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Read};
use std::path::Path;
use std::str::FromStr;

use axum::body::Body;
use axum::http::Request;
use rust_decimal::Decimal;
use sqlx::{AssertSqlSafe, Connection};
use trug::book_files::export::export;
use trug::book_files::import::import;
use trug::book_files::source::Source;
use trug::db::Book;

use crate::roles::routes;
use crate::support::TestStudio;

/// What a name can begin with that a form keeps.
const TYPED: [&str; 7] = ["=HYPERLINK(\"http://x\",\"y\")", "+1", "-1", "@SUM(A1)", "＝1", "－1", "'=1"];
/// What only another program can write.
const FORGED: [&str; 4] = ["\t=1", "\r=1", "\n+1", " =1"];

/// Columns of names and notes, in whatever table.
const COLUMNS: [&str; 13] = [
    "name",
    "note",
    "account",
    "contact",
    "pack_name",
    "colour",
    "grade",
    "material",
    "supplier",
    "client",
    "hand",
    "said",
    "reference",
];

/// Puts such a beginning before every name and note of the demo's book, past Trug, also of what is never changed.
async fn disguised(beginnings: &[&str]) -> TestStudio {
    let studio = TestStudio::demo().await;
    let mut connection = studio.by_hand().await;
    let columns: Vec<(String, String)> = sqlx::query_as(
        "SELECT m.name, c.name FROM sqlite_schema m JOIN pragma_table_info(m.name) c WHERE m.type = 'table' AND c.type = 'TEXT'",
    )
    .fetch_all(&mut connection)
    .await
    .unwrap();
    let cases = beginnings.iter().enumerate().fold(String::new(), |cases, (at, text)| {
        format!("{cases} WHEN {at} THEN '{}'", text.replace('\'', "''"))
    });
    let mut done = Vec::new();
    for (table, column) in columns.into_iter().filter(|(_, column)| COLUMNS.contains(&column.as_str())) {
        let sql = format!(
            "UPDATE \"{table}\" SET \"{column}\" = (CASE rowid % {} {cases} END) || \"{column}\" WHERE \"{column}\" <> ''",
            beginnings.len()
        );
        // Where a rule of the book refuses it, no such text can stand there.
        if sqlx::query(AssertSqlSafe(sql)).execute(&mut connection).await.is_ok() {
            done.push(format!("{table}.{column}"));
        }
    }
    for needed in [
        "client.name",
        "event.name",
        "material.name",
        "supplier.name",
        "recipe.name",
        "place.name",
        "piece.note",
        "tick.hand",
    ] {
        assert!(done.iter().any(|done| done == needed), "{needed}: {done:?}");
    }
    let frozen = "UPDATE invoice SET document = replace(document, '\"name\":\"', '\"name\":\"' || ?)";
    let beginning = beginnings[0].replace('"', "\\\"").replace('\t', "\\t").replace('\r', "\\r");
    sqlx::query(frozen).bind(beginning).execute(&mut connection).await.unwrap();
    connection.close().await.unwrap();
    studio
}

/// Fails where a cell that is no plain number begins as a formula does, also behind spaces.
#[track_caller]
fn starts_no_formula(file: &str, bytes: &[u8]) {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
    for record in reader.records() {
        for cell in &record.unwrap() {
            let begins = cell.trim_start().starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠'])
                || cell.starts_with(['\t', '\r', '\n']);
            assert!(!begins || Decimal::from_str(cell).is_ok(), "{file}: {cell:?}");
        }
    }
}

/// Fails where a spreadsheet file holds a formula other than its own sum.
#[track_caller]
fn holds_only_its_sum(file: &str, bytes: &[u8]) {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut sheet = String::new();
    archive.by_name("xl/worksheets/sheet1.xml").unwrap().read_to_string(&mut sheet).unwrap();
    let formulas: Vec<&str> =
        sheet.split("<f>").skip(1).map(|rest| rest.split("</f>").next().unwrap()).collect();
    assert!(formulas.len() == 1 && formulas[0].starts_with("SUM(O2:O"), "{file}: {formulas:?}");
}

/// Every file of rows that there is, by its address: each route that ends so, and those whose ending is part of a name.
async fn files(studio: &TestStudio) -> BTreeMap<String, Vec<u8>> {
    let routes = routes();
    let routes =
        routes.iter().filter(|(method, route)| *method == "GET" && route.rsplit('.').next() == Some("csv"));
    let others = ["/orders/{id}.csv", "/orders/{id}.xlsx", "/stem-order/suppliers/{id}.csv"];
    let mut found = BTreeMap::new();
    for route in routes.map(|(_, route)| route.as_str()).chain(others) {
        let asked = match route.split('/').nth(1) {
            Some("accounts") => "?from=2026-01-01&to=2026-12-31",
            Some("stem-order" | "stem-order.csv") => "?event=3",
            _ => "",
        };
        let before = found.len();
        for id in 1..=5 {
            let path = format!("{}{asked}", route.replace("{id}", &id.to_string()));
            let page = studio.get(&path).await;
            if page.media_type.starts_with("text/csv") || page.media_type.contains("spreadsheetml") {
                found.insert(path, page.body);
            }
            if found.len() > before && (!asked.is_empty() || !route.contains("{id}")) {
                break;
            }
        }
        assert!(found.len() > before, "nothing from {route}");
    }
    found
}

async fn begin_nothing(beginnings: &[&str]) -> TestStudio {
    let studio = disguised(beginnings).await;
    let files = files(&studio).await;
    assert!(files.len() > 8, "{:?}", files.keys());
    for (path, bytes) in &files {
        if bytes.starts_with(b"PK") {
            holds_only_its_sum(path, bytes);
        } else {
            starts_no_formula(path, bytes);
        }
    }
    // The names are in them.
    let all: String = files.values().map(|bytes| String::from_utf8_lossy(bytes).into_owned()).collect();
    assert!(all.contains(&format!("'{}", beginnings[0].replace('"', "\"\""))), "nothing was guarded");
    studio
}

#[tokio::test]
async fn no_cell_of_any_file_begins_a_formula() {
    let studio = begin_nothing(&TYPED).await;
    comes_back_by_the_price_list(&studio).await;
    comes_back_as_a_whole(&studio).await;
}

#[tokio::test]
async fn nor_does_one_behind_a_tab_or_a_line_break() {
    let studio = begin_nothing(&FORGED).await;
    comes_back_as_a_whole(&studio).await;
}

async fn comes_back_by_the_price_list(studio: &TestStudio) {
    let saved = studio.get("/price-list.csv").await;
    let mut body =
        b"--cut\r\nContent-Disposition: form-data; name=\"file\"; filename=\"list.csv\"\r\n\r\n".to_vec();
    body.extend_from_slice(&saved.body);
    body.extend_from_slice(b"\r\n--cut--\r\n");
    let request = Request::post("/price-list/import")
        .header("content-type", "multipart/form-data; boundary=cut")
        .header("sec-fetch-site", "same-origin");
    let path = studio.send(request, Body::from(body)).await.onward().to_owned();
    studio.get(&path).await.says("Nothing to take in").says("Refused 0").says("Changed 0").says("New 0");
}

async fn comes_back_as_a_whole(studio: &TestStudio) {
    let folder = studio.book.path().with_file_name("files");
    let (first, second, book) = (folder.join("first"), folder.join("second"), folder.join("again.trug"));
    fs::create_dir_all(&folder).unwrap();
    export(&studio.book, &first).await.unwrap();
    import(Source::Folder(&first), &book, 0).await.unwrap();
    let again = Book::open(&book).await.unwrap();
    export(&again, &second).await.unwrap();
    let mut seen = 0;
    for entry in fs::read_dir(&first).unwrap() {
        let name = entry.unwrap().file_name();
        if Path::new(&name).extension().is_some_and(|end| end == "csv") {
            let bytes = fs::read(first.join(&name)).unwrap();
            starts_no_formula(&name.to_string_lossy(), &bytes);
            assert!(bytes == fs::read(second.join(&name)).unwrap(), "{}", name.display());
            seen += 1;
        }
    }
    assert!(seen > 80, "{seen}");
}
