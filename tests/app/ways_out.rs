//! Names that climb out of where they belong: static files, papers, pictures, the folder of a whole book.

use std::fs;
use std::path::{Path, PathBuf};

use axum::http::StatusCode;
use trug::book_files::export::export;
use trug::book_files::import::import;
use trug::book_files::source::{MemoryFiles, Source};

use crate::machine::Machine;
use crate::support::TestStudio;

const CLIMBING: [&str; 24] = [
    "../Cargo.toml",
    "../../../../../../etc/passwd",
    "..%2f..%2fetc%2fpasswd",
    "%2e%2e/%2e%2e/etc/passwd",
    "%2e%2e%2f%2e%2e%2fetc%2fpasswd",
    "%252e%252e%252fetc%252fpasswd",
    "..%5c..%5cwindows%5cwin.ini",
    "..\\..\\windows\\win.ini",
    "....//....//etc/passwd",
    "/etc/passwd",
    "%2fetc%2fpasswd",
    "//etc/passwd",
    "style.css/../../Cargo.toml",
    "style.css%00.png",
    "%00",
    "%ff",
    "%c0%ae%c0%ae%c0%afetc%c0%afpasswd",
    "%e2%80%ae",
    "C:%5cwindows%5cwin.ini",
    "file:%2f%2f%2fetc%2fpasswd",
    "~root/.profile",
    ".",
    "..",
    "style.css%20",
];

#[tokio::test]
async fn no_name_leads_out_of_the_static_files() {
    let studio = TestStudio::new().await;
    studio.get("/static/style.css").await.is(StatusCode::OK);
    for name in CLIMBING {
        // What is no address at all is refused by whoever would send it.
        if format!("/static/{name}").parse::<axum::http::Uri>().is_err() {
            continue;
        }
        let answer = studio.get(&format!("/static/{name}")).await;
        assert!(answer.status.is_client_error(), "{name}: {} {}", answer.status, answer.text());
        answer.says_not("[package]").says_not("root:");
    }
}

/// Every other address that takes a name: a number, a day, a size, a sheet, an ending.
#[tokio::test]
async fn no_name_in_an_address_leads_anywhere_else() {
    let studio = TestStudio::demo().await;
    for before in [
        "/pictures/1/",
        "/pictures/",
        "/logos/",
        "/orders/",
        "/orders/1/",
        "/stem-order/suppliers/",
        "/calendar/feed/",
        "/prep/",
        "/load/",
        "/run/",
        "/stock/",
        "/price-list/import/",
        "/invoices/1/",
        "/quote-versions/1/",
        "/events/1/quote/",
    ] {
        for name in CLIMBING {
            let path = format!("{before}{name}");
            if path.parse::<axum::http::Uri>().is_err() {
                continue;
            }
            let answer = studio.get(&path).await;
            assert!(!answer.status.is_server_error(), "{path}: {}", answer.text());
            answer.says_not("[package]").says_not("root:x:");
        }
    }
    // A tick names its sheet in the address.
    for name in CLIMBING.iter().filter(|name| format!("/ticks/{name}").parse::<axum::http::Uri>().is_ok()) {
        let answer = studio.post(&format!("/ticks/{name}"), &[("line", "../x"), ("set", "1")]).await;
        assert!(!answer.status.is_server_error(), "{name}: {}", answer.text());
    }
}

#[tokio::test]
async fn a_books_files_name_only_files_beside_them() {
    let (studio, machine) = (TestStudio::new().await, Machine::new());
    let (folder, path) = (PathBuf::from(machine.at("files")), PathBuf::from(machine.at("book.trug")));
    export(&studio.book, &folder).await.unwrap();
    fs::write(machine.at("secret.png"), b"\x89PNG\r\n\x1a\nsecret").unwrap();
    let mut files = MemoryFiles::new();
    for entry in fs::read_dir(&folder).unwrap().map(Result::unwrap).filter(|entry| entry.path().is_file()) {
        files.insert(entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap());
    }
    files.insert("pictures/../secret.png".into(), b"\x89PNG\r\n\x1a\nsecret".to_vec());
    for name in [
        "../secret.png",
        "../../secret.png",
        "/etc/passwd",
        "..",
        "pictures/x",
        "a\\..\\secret.png",
        ".secret",
        "x\0.png",
    ] {
        let pictures = format!("id,width,height,full,small\r\n1,1,1,{name},{name}\r\n");
        files.insert("picture.csv".into(), pictures.clone().into_bytes());
        fs::write(folder.join("picture.csv"), pictures).unwrap();
        for source in [Source::Memory(&files), Source::Folder(&folder)] {
            let refused = import(source, &path, 0).await.unwrap_err().to_string();
            assert!(refused.contains("this is not the name of a file in pictures/"), "{name}: {refused}");
            assert!(!path.exists());
        }
    }
    #[cfg(unix)]
    a_link_leads_nowhere(&machine, &path).await;
}

/// A table that is a link to a file elsewhere is not read.
#[cfg(unix)]
async fn a_link_leads_nowhere(machine: &Machine, path: &Path) {
    fs::remove_file(machine.at("files/picture.csv")).unwrap();
    std::os::unix::fs::symlink(machine.at("secret.png"), machine.at("files/picture.csv")).unwrap();
    let folder = machine.at("files");
    let refused = import(Source::Folder(Path::new(&folder)), path, 0).await.unwrap_err().to_string();
    assert!(refused.contains("picture.csv: this is not an ordinary file"), "{refused}");
}

/// A backup's name is made of the moment alone; a second place must be a whole path, and is only ever written to.
#[tokio::test]
async fn backups_take_no_names_from_pages() {
    let studio = TestStudio::demo().await;
    let page = studio.get("/settings/backups").await;
    let version = page.hidden("version");
    for folder in [
        "../../elsewhere",
        "backups",
        "./x",
        "~/x",
        "/proc/x\0y",
        "/proc/nowhere",
        "/dev/null",
        "/etc/passwd",
    ] {
        let fields = [("version", version.as_str()), ("folder", folder), ("name", "../../x.trug")];
        let answer = studio.post("/settings/backups", &fields).await;
        assert!(answer.status.is_client_error(), "{folder}: {} {}", answer.status, answer.text());
        let made =
            studio.post("/settings/backups/now", &[("name", "../../x.trug"), ("file", "/tmp/x")]).await;
        assert!(made.status == StatusCode::SEE_OTHER || made.status == StatusCode::CONFLICT);
    }
    let beside = studio.book.path().parent().unwrap();
    let mut names: Vec<String> = fs::read_dir(beside)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.retain(|name| !name.starts_with("studio.trug") && name != "backups");
    assert!(names.is_empty(), "{names:?}");
}
