//! The whole book as files: out, in, and out again, byte for byte; and what is refused.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use trug::book_files::export::export;
use trug::book_files::import::import;
use trug::book_files::source::{MemoryFiles, Source};
use trug::book_files::{BookFilesError, dictionary, is_empty};
use trug::db::{Book, schema};

use crate::support::{TestStudio, own_folder};

/// A folder of one test that is removed at its end.
struct Folder(PathBuf);

impl Folder {
    fn new() -> Folder {
        let folder = own_folder();
        fs::create_dir_all(&folder).unwrap();
        Folder(folder)
    }

    fn at(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn files_of(folder: &Path) -> MemoryFiles {
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            files
                .extend(files_of(&path).into_iter().map(|(inner, bytes)| (format!("{name}/{inner}"), bytes)));
        } else {
            files.insert(name, fs::read(&path).unwrap());
        }
    }
    files
}

async fn exported(book: &Book, folder: &Folder, name: &str) -> MemoryFiles {
    export(book, &folder.at(name)).await.unwrap();
    files_of(&folder.at(name))
}

async fn demo_files() -> MemoryFiles {
    let (studio, folder) = (TestStudio::demo().await, Folder::new());
    exported(&studio.book, &folder, "out").await
}

fn picture() -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::RgbImage::new(3, 2).write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// Puts into the book what is hard to write down: formulas, apostrophes, line ends, no text at all, pictures.
async fn make_difficult(book: &Book) {
    let mut all = book.write().await.unwrap();
    let texts = [
        "=1+1",
        "+44 1632",
        "-",
        "@x",
        "'quoted'",
        "\tTab",
        "a \"b\", c",
        "one\r\ntwo\nthree\r",
        "ü 花 \u{0}",
        " =2",
        "''",
    ];
    for text in texts {
        sqlx::query("INSERT INTO client (name, note) VALUES ('N', ?)")
            .bind(text)
            .execute(&mut *all)
            .await
            .unwrap();
        sqlx::query("INSERT INTO tax_rate (name, rate, position, removed_at) VALUES ('T', 1, 1, NULL)")
            .execute(&mut *all)
            .await
            .unwrap();
    }
    sqlx::query("INSERT INTO picture (width, height, full, small) VALUES (3, 2, ?, ?)")
        .bind(picture())
        .bind(picture())
        .execute(&mut *all)
        .await
        .unwrap();
    all.commit().await.unwrap();
}

#[tokio::test]
async fn what_was_exported_is_imported_without_loss() {
    let (studio, folder) = (TestStudio::demo().await, Folder::new());
    make_difficult(&studio.book).await;
    let once = exported(&studio.book, &folder, "once").await;
    assert!(once.contains_key("README.txt") && once.contains_key("pictures/picture-1-full.png"));
    import(Source::Folder(&folder.at("once")), &folder.at("new.trug"), 0).await.unwrap();
    let new = Book::open(&folder.at("new.trug")).await.unwrap();
    assert!(!is_empty(&new).await.unwrap());
    let twice = exported(&new, &folder, "twice").await;
    assert_eq!(once.keys().collect::<Vec<_>>(), twice.keys().collect::<Vec<_>>());
    for (name, bytes) in &once {
        assert!(*bytes == twice[name], "{name} differs");
    }
}

#[tokio::test]
async fn no_cell_of_text_is_a_formula() {
    let (studio, folder) = (TestStudio::demo().await, Folder::new());
    make_difficult(&studio.book).await;
    let files = exported(&studio.book, &folder, "out").await;
    let mut reader = csv::Reader::from_reader(files["client.csv"].as_slice());
    for row in reader.records() {
        for cell in &row.unwrap() {
            assert!(!cell.trim_start().starts_with(['=', '+', '-', '@']), "{cell}");
        }
    }
}

#[tokio::test]
async fn every_table_is_in_the_readme_with_its_words() {
    let (studio, folder) = (TestStudio::new().await, Folder::new());
    let files = exported(&studio.book, &folder, "out").await;
    let readme = String::from_utf8(files["README.txt"].clone()).unwrap();
    let tables = schema::tables(&mut studio.book.read().await.unwrap()).await.unwrap();
    assert!(tables.len() >= 23);
    for table in tables {
        if ["passphrase", "session"].contains(&table.name.as_str()) {
            assert!(!files.contains_key(&table.file()), "what lets somebody in stays in the book");
            continue;
        }
        assert!(files.contains_key(&table.file()), "{}", table.name);
        assert!(readme.contains(&format!("\n{}\n  {}", table.file(), dictionary::table_words(&table.name))));
        assert_ne!(
            dictionary::table_words(&table.name),
            "",
            "say in the dictionary what {} holds",
            table.name
        );
    }
    assert!(
        readme.contains(
            "- usable_length: whole number, micrometres (25400 is 1 in, 10000 is 1 cm); may be empty"
        )
    );
    assert!(readme.contains("- recipe_id: whole number, id in recipe.csv"));
}

#[tokio::test]
async fn a_folder_that_holds_something_is_not_written_to() {
    let (studio, folder) = (TestStudio::new().await, Folder::new());
    fs::write(folder.at("mine.txt"), "mine").unwrap();
    let refused = export(&studio.book, &folder.0).await.unwrap_err();
    assert!(refused.to_string().contains("not empty"), "{refused}");
    assert_eq!(files_of(&folder.0).len(), 1);
}

/// Imports changed files; the message of the refusal, which must leave no book behind.
async fn refused(files: &MemoryFiles) -> String {
    let folder = Folder::new();
    let refusal = import(Source::Memory(files), &folder.at("new.trug"), 0).await.unwrap_err();
    assert_eq!(files_of(&folder.0).len(), 0, "nothing is left");
    refusal.to_string()
}

async fn with(name: &str, change: impl FnOnce(String) -> String) -> String {
    let mut files = demo_files().await;
    let text = String::from_utf8(files[name].clone()).unwrap();
    files.insert(name.into(), change(text).into_bytes());
    refused(&files).await
}

#[tokio::test]
async fn wrong_values_are_named_by_file_row_and_column() {
    let said = with("event.csv", |text| text.replace("2026-05-09,09:30", "9 May,09.30")).await;
    assert!(
        said.contains("event.csv, row 4, column day: “9 May” is not a day such as 2026-05-14."),
        "{said}"
    );
    assert!(
        said.contains("event.csv, row 4, column set_up_time: “09.30” is not a time such as 09:30."),
        "{said}"
    );
    let said = with("tax_rate.csv", |text| text.replace("200000", "20 %")).await;
    assert!(said.contains("tax_rate.csv, row 2, column rate: “20 %” is not a whole number"), "{said}");
    let said = with("tax_rate.csv", |text| text.replace("200000", "2000000")).await;
    assert!(said.contains("tax_rate.csv, row 2, column rate: the book's rule is not kept"), "{said}");
    let said = with("client.csv", |text| text.replace("\r\n2,1,Sallowby", "\r\n1,1,Sallowby")).await;
    assert!(said.contains("client.csv, row 3, column id: another row has the same value"), "{said}");
    let said = with("offer.csv", |text| text.replacen("\r\n1,1,1,1,", "\r\n1,1,77,1,", 1)).await;
    assert!(
        said.contains(
            "offer.csv, row 2, column supplier_id: there is no row with the id “77” in supplier.csv."
        ),
        "{said}"
    );
    let said =
        with("studio.csv", |text| text.replace("Europe/London", "Sallowby").replace("GBP", "Pounds")).await;
    assert!(said.contains("time zone") && said.contains("currency code"), "{said}");
}

#[tokio::test]
async fn wrong_columns_and_files_are_named() {
    let said = with("client.csv", |text| text.replacen(",email,", ",mail,", 1)).await;
    assert!(said.contains("client.csv, row 1: these columns are missing: email; unknown: “mail”."), "{said}");
    let said = with("client.csv", |text| text.replacen("name,email", "email,name", 1)).await;
    assert!(said.contains("must stand in this order"), "{said}");
    let said = with("client.csv", |text| text.replacen("\r\n1,1,", "\r\n1,1,more,", 1)).await;
    assert!(
        said.contains("client.csv, row 2: this row has 9 cells; the first row names 8 columns."),
        "{said}"
    );
    let said = with("client.csv", |_| String::new()).await;
    assert!(said.contains("client.csv: this file is empty"), "{said}");
    let mut files = demo_files().await;
    files.remove("piece.csv");
    assert!(refused(&files).await.contains("piece.csv: this file is missing."));
    let said = with("trug.csv", |text| text.replace(&format!(",{}", trug::db::newest_step()), ",9999")).await;
    assert!(said.contains("newer version of Trug"), "{said}");
    assert!(with("trug.csv", |_| "name\r\nme".into()).await.contains("does not say that it is one"));
}

#[tokio::test]
async fn a_folder_of_something_else_is_no_export() {
    let folder = Folder::new();
    for path in [folder.at("nowhere"), folder.0.clone()] {
        let refusal = import(Source::Folder(&path), &folder.at("new.trug"), 0).await.unwrap_err();
        assert!(matches!(refusal, BookFilesError::NotAnExport(..)), "{refusal}");
    }
}

#[tokio::test]
async fn a_picture_outside_the_folder_is_not_read() {
    let picture_row = |name: &str| format!("id,width,height,full,small\r\n1,3,2,{name},{name}\r\n");
    for name in ["../../secret.png", "/etc/passwd", "..\\x.png", ".png"] {
        let said = with("picture.csv", |_| picture_row(name)).await;
        assert!(
            said.contains("picture.csv, row 2, column full: this is not the name of a file in pictures/."),
            "{said}"
        );
    }
    assert!(with("picture.csv", |_| picture_row("none.png")).await.contains("no such file"));
    let mut files = demo_files().await;
    files.insert("picture.csv".into(), picture_row("a.png").into_bytes());
    files.insert("pictures/a.png".into(), b"#!/bin/sh".to_vec());
    assert!(refused(&files).await.contains("“a.png” is not a picture"));
}

#[cfg(unix)]
#[tokio::test]
async fn a_link_in_the_folder_leads_nowhere() {
    let (studio, folder) = (TestStudio::new().await, Folder::new());
    let out = folder.at("out");
    exported(&studio.book, &folder, "out").await;
    fs::write(folder.at("secret"), picture()).unwrap();
    std::os::unix::fs::symlink(folder.at("secret"), out.join("pictures/x.png")).unwrap();
    fs::write(out.join("picture.csv"), "id,width,height,full,small\r\n1,3,2,x.png,x.png\r\n").unwrap();
    let refusal = import(Source::Folder(&out), &folder.at("new.trug"), 0).await.unwrap_err();
    assert!(refusal.to_string().contains("not an ordinary file"), "{refusal}");
}

#[tokio::test]
async fn rubbish_gets_a_sentence() {
    let mut files = demo_files().await;
    for rubbish in [vec![0xff; 3000], vec![0; 3000], b"\"".repeat(1000), b"id,\"name\r\n".to_vec(), picture()]
    {
        files.insert("client.csv".into(), rubbish);
        let said = refused(&files).await;
        assert!(said.contains("client.csv") && said.len() < 4000, "{said}");
    }
}

#[tokio::test]
async fn a_byte_order_mark_of_a_spreadsheet_is_no_harm() {
    let folder = Folder::new();
    let mut files = demo_files().await;
    for (_, bytes) in files.iter_mut().filter(|(name, _)| !name.ends_with("png")) {
        bytes.splice(0..0, [0xef, 0xbb, 0xbf]);
    }
    import(Source::Memory(&files), &folder.at("new.trug"), 0).await.unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Whatever a file holds, the answer is a book or a sentence, never a panic, and never half a book.
    #[test]
    fn any_bytes_are_read_or_refused(
        rubbish in prop_oneof![
            proptest::collection::vec(any::<u8>(), 0..200),
            "(id,name,rate,position,removed_at\r\n)?([0-9a-z\"',\r\n=-]{0,80})".prop_map(String::into_bytes),
        ],
        which in 0_usize..3,
    ) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let folder = Folder::new();
            let book = Book::open(&folder.at("empty.trug")).await.unwrap();
            let mut files = exported(&book, &folder, "out").await;
            book.close().await;
            files.insert(["tax_rate.csv", "trug.csv", "studio.csv"][which].into(), rubbish);
            let new = folder.at("new.trug");
            let done = import(Source::Memory(&files), &new, 0).await;
            prop_assert_eq!(done.is_ok(), new.exists());
            Ok(())
        })?;
    }
}
