//! A real browser over a real server. Where no browser is installed the tests say so and pass, except in CI.

use std::env;
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};

use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};
use tokio::net::TcpListener;
use trug::app::router;
use trug::clock::Clock;
use trug::db::Book;
use trug::ground::choice::Choice;
use trug::studio::people::{NewPerson, Role, hashing, store};
use trug::web::door::{Door, Way};
use trug::web::serving;
use trug::web::state::App;

/// The moment of every story: Monday 4 May 2026, nine in the morning in UTC.
pub(crate) const NOW: &str = "2026-05-04T09:00:00Z";

/// A studio served on a port of its own.
pub(crate) struct Served {
    pub(crate) book: Book,
    pub(crate) address: SocketAddr,
    folder: PathBuf,
}

impl Served {
    /// An empty book.
    pub(crate) async fn empty() -> Served {
        let folder = new_folder();
        let book = Book::open(&folder.join("studio.trug")).await.unwrap();
        Served::serve(book, folder).await
    }

    /// The demo studio.
    pub(crate) async fn demo() -> Served {
        let folder = new_folder();
        let clock = Clock::Fixed(NOW.parse().unwrap());
        let book = trug::demo::make(&folder.join("studio.trug"), clock).await.unwrap();
        Served::serve(book, folder).await
    }

    /// The demo studio as it is reached over a network, with people by name, role and passphrase.
    pub(crate) async fn demo_on_the_network(people: &[(&str, &str, &str)]) -> Served {
        let folder = new_folder();
        let clock = Clock::Fixed(NOW.parse().unwrap());
        let book = trug::demo::make(&folder.join("studio.trug"), clock).await.unwrap();
        for (name, role, passphrase) in people {
            let new = NewPerson { name: (*name).to_owned(), role: Role::from_code(role).unwrap() };
            let hash = hashing::hash((*passphrase).to_owned()).await.unwrap();
            let mut tx = book.write().await.unwrap();
            let id = store::add(&mut tx, &new).await.unwrap();
            store::keep_hash(&mut tx, id, &hash).await.unwrap();
            tx.commit().await.unwrap();
        }
        let address = serve_at(&book, Door { way: Way::Network, names: Vec::new() }, NOW).await;
        Served { book, address, folder }
    }

    async fn serve(book: Book, folder: PathBuf) -> Served {
        let address = serve_at(&book, Door::default(), NOW).await;
        Served { book, address, folder }
    }

    /// Puts the clock on: from now on the same book is served at another moment.
    pub(crate) async fn later(&mut self, now: &str) {
        self.address = serve_at(&self.book, Door::default(), now).await;
    }

    pub(crate) fn url(&self, path: &str) -> String {
        format!("http://{}{path}", self.address)
    }
}

async fn serve_at(book: &Book, door: Door, now: &str) -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let app = App::behind(door, book.clone(), Clock::Fixed(now.parse().unwrap()));
    tokio::spawn(async move { serving::serve(listener, None, router(app), std::future::pending()).await });
    address
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

fn new_folder() -> PathBuf {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let folder = env::temp_dir().join(format!("trug-browser-{}-{number}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// A headless Chromium, driven by its driver.
pub(crate) struct Browser {
    pub(crate) client: Client,
    driver: Child,
    profile: PathBuf,
}

impl Browser {
    /// Starts one of a width in pixels, or says why there is none.
    pub(crate) async fn start(width: u32) -> Option<Browser> {
        Browser::start_with(width, true).await
    }

    /// Starts one that runs no script.
    pub(crate) async fn start_without_script(width: u32) -> Option<Browser> {
        Browser::start_with(width, false).await
    }

    async fn start_with(width: u32, script: bool) -> Option<Browser> {
        let found = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .process_group(0)
            .spawn();
        let Ok(mut driver) = found else {
            return missing("chromedriver is not installed (Debian: chromium chromium-driver)");
        };
        let port = BufReader::new(driver.stdout.take().unwrap())
            .lines()
            .map_while(Result::ok)
            .find_map(|line| {
                line.rsplit_once("started successfully on port ").map(|(_, port)| port.to_owned())
            })
            .expect("chromedriver says its port");
        let profile = env::temp_dir().join(format!("trug-profile-{}-{port}", std::process::id()));
        let mut connector = HttpConnector::new();
        connector.enforce_http(false);
        let client = ClientBuilder::new(connector)
            .capabilities(capabilities(width, script, &profile))
            .connect(&format!("http://localhost:{}", port.trim_end_matches('.')))
            .await
            .expect("Chromium starts");
        Some(Browser { client, driver, profile })
    }

    /// Ends the session; the rest goes with the value.
    pub(crate) async fn stop(self) {
        let _ = self.client.clone().close().await;
    }
}

impl Drop for Browser {
    /// Also after a failed assertion: no driver and no browser may stay behind.
    fn drop(&mut self) {
        let group = format!("-{}", self.driver.id());
        let _ = Command::new("kill").args(["-KILL", "--", &group]).status();
        let _ = self.driver.wait();
        let _ = std::fs::remove_dir_all(&self.profile);
    }
}

fn capabilities(width: u32, script: bool, profile: &std::path::Path) -> serde_json::Map<String, Value> {
    let arguments = [
        "--headless".to_owned(),
        "--no-sandbox".into(),
        "--disable-gpu".into(),
        "--disable-quic".into(),
        "--disable-dev-shm-usage".into(),
        "--no-first-run".into(),
        "--disable-background-networking".into(),
        "--disable-component-update".into(),
        "--disable-sync".into(),
        "--hide-scrollbars".into(),
        "--lang=en-US".into(),
        format!("--window-size={width},1000"),
        format!("--user-data-dir={}", profile.display()),
    ];
    // Chromium's window is never narrower than 500 px; a phone's width is asked for as a device.
    let phone =
        json!({ "deviceMetrics": { "width": width, "height": 844, "pixelRatio": 1.0, "touch": true } });
    let mut options = json!({ "args": arguments });
    if width < 500 {
        options["mobileEmulation"] = phone;
    }
    if !script {
        options["prefs"] = json!({ "profile.managed_default_content_settings.javascript": 2 });
    }
    json!({ "goog:chromeOptions": options }).as_object().unwrap().clone()
}

/// A tool that the checks need and this machine lacks: a failure in CI, a word elsewhere.
pub(crate) fn missing<T>(what: &str) -> Option<T> {
    assert!(env::var_os("CI").is_none(), "{what}");
    eprintln!("not checked: {what}");
    None
}

/// A file of the page checks from the npm registry (`npm ci` in tests/browser).
pub(crate) fn page_check(path: &str) -> Option<PathBuf> {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/browser/node_modules").join(path);
    if file.exists() { Some(file) } else { missing("run `npm ci` in tests/browser for the page checks") }
}
