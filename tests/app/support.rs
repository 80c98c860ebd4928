//! A studio for one test: its own book in a temporary file, a fixed clock, the whole router.

use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use sqlx::{AssertSqlSafe, Connection};
use tower::ServiceExt;
use trug::app::router;
use trug::clock::Clock;
use trug::db::Book;
use trug::web::door::{Door, Line, Way};
use trug::web::state::App;

/// The moment of every test: Monday 4 May 2026, nine in the morning in UTC.
pub(crate) const NOW: &str = "2026-05-04T09:00:00Z";

pub(crate) struct TestStudio {
    router: Router,
    /// For what no page does: filling in rows, looking at them.
    pub(crate) book: Book,
    folder: PathBuf,
}

/// A folder of one test's own, not made yet.
pub(crate) fn own_folder() -> PathBuf {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    std::env::temp_dir().join(format!("trug-test-{}-{number}", std::process::id()))
}

/// A book filled by SQL, for what other rooms write.
pub(crate) async fn filled(statements: &[&str]) -> TestStudio {
    let studio = TestStudio::new().await;
    let mut tx = studio.book.write().await.unwrap();
    for statement in statements {
        sqlx::query(sqlx::AssertSqlSafe((*statement).to_owned())).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    studio
}

/// An answer, read whole.
pub(crate) struct Page {
    pub(crate) status: StatusCode,
    pub(crate) location: String,
    pub(crate) cookie: String,
    pub(crate) media_type: String,
    pub(crate) etag: String,
    pub(crate) disposition: String,
    pub(crate) headers: HeaderMap,
    pub(crate) body: Vec<u8>,
}

impl Page {
    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// Fails unless the page holds the words.
    #[track_caller]
    pub(crate) fn says(&self, words: &str) -> &Self {
        assert!(self.text().contains(words), "no “{words}” in the page ({}):\n{}", self.status, self.text());
        self
    }

    #[track_caller]
    pub(crate) fn says_not(&self, words: &str) -> &Self {
        assert!(!self.text().contains(words), "“{words}” in the page:\n{}", self.text());
        self
    }

    /// The cookies it sets, whole.
    pub(crate) fn set_cookies(&self) -> Vec<String> {
        let cookies = self.headers.get_all(header::SET_COOKIE).iter();
        cookies.map(|cookie| cookie.to_str().unwrap().to_owned()).collect()
    }

    /// The cookie of a session that it begins, as a browser sends it back.
    pub(crate) fn session(&self) -> Option<String> {
        let cookies = self.set_cookies();
        let set = cookies.iter().find(|cookie| cookie.contains("trug_session="))?;
        set.split(';').next().map(str::to_owned).filter(|pair| !pair.ends_with('='))
    }

    /// The value of a hidden field.
    #[track_caller]
    pub(crate) fn hidden(&self, name: &str) -> String {
        let text = self.text();
        let marker = format!("name=\"{name}\" value=\"");
        let rest = text.split(&marker).nth(1).unwrap_or_else(|| panic!("no hidden {name}"));
        rest.split('"').next().unwrap().replace("&#38;", "&")
    }

    #[track_caller]
    pub(crate) fn is(&self, status: StatusCode) -> &Self {
        assert_eq!(self.status, status, "{}", self.text());
        self
    }

    /// Fails unless the browser is sent on; gives where to.
    #[track_caller]
    pub(crate) fn onward(&self) -> &str {
        self.is(StatusCode::SEE_OTHER);
        &self.location
    }
}

impl TestStudio {
    /// An empty book.
    pub(crate) async fn new() -> TestStudio {
        let folder = own_folder();
        let book = Book::open(&folder.join("studio.trug")).await.unwrap();
        TestStudio::of(book, folder)
    }

    /// The demo's book, its busy weekend being the one after [`NOW`].
    pub(crate) async fn demo() -> TestStudio {
        let folder = own_folder();
        std::fs::create_dir_all(&folder).unwrap();
        let clock = Clock::Fixed(NOW.parse().unwrap());
        let book = trug::demo::make(&folder.join("studio.trug"), clock).await.unwrap();
        TestStudio::of(book, folder)
    }

    fn of(book: Book, folder: PathBuf) -> TestStudio {
        let router = router(App::new(book.clone(), Clock::Fixed(NOW.parse().unwrap())));
        TestStudio { router, book, folder }
    }

    /// The same studio in a book of its own that nobody has read yet.
    pub(crate) async fn copied(&self) -> TestStudio {
        let folder = own_folder();
        std::fs::create_dir_all(&folder).unwrap();
        let path = folder.join("studio.trug");
        self.book.copy_to(&path).await.unwrap();
        TestStudio::of(Book::open(&path).await.unwrap(), folder)
    }

    /// A connection past Trug: no history, no references kept, nothing that refuses.
    pub(crate) async fn by_hand(&self) -> SqliteConnection {
        let options = SqliteConnectOptions::new().filename(self.book.path()).foreign_keys(false);
        let mut connection = SqliteConnection::connect_with(&options).await.unwrap();
        let triggers: Vec<String> =
            sqlx::query_scalar("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
                .fetch_all(&mut connection)
                .await
                .unwrap();
        for trigger in triggers {
            let drop = format!("DROP TRIGGER {trigger}");
            sqlx::query(AssertSqlSafe(drop)).execute(&mut connection).await.unwrap();
        }
        connection
    }

    /// The same studio at another moment.
    pub(crate) fn wait_until(&mut self, now: &str) {
        self.router = router(App::new(self.book.clone(), Clock::Fixed(now.parse().unwrap())));
    }

    /// The same studio reached by another way.
    pub(crate) fn reached_by(&mut self, way: Way) {
        self.reached_through(Door { way, names: Vec::new() }, NOW);
    }

    /// The same studio behind a door, at a moment.
    pub(crate) fn reached_through(&mut self, door: Door, now: &str) {
        self.router = router(App::behind(door, self.book.clone(), Clock::Fixed(now.parse().unwrap())));
    }

    /// Logs in; gives the cookie of the session.
    #[track_caller]
    pub(crate) fn log_in(&self, name: &str, passphrase: &str) -> impl Future<Output = String> {
        let fields = [("name", name.to_owned()), ("passphrase", passphrase.to_owned())];
        async move {
            let fields: Vec<(&str, &str)> =
                fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
            let answer = self.post("/log-in", &fields).await;
            answer.onward();
            answer.session().unwrap_or_else(|| panic!("no session: {:?}", answer.headers))
        }
    }

    /// Posts a form with a cookie that an earlier answer set.
    pub(crate) async fn post_with(&self, path: &str, fields: &[(&str, &str)], cookie: &str) -> Page {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let request = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin")
            .header(header::COOKIE, cookie);
        self.send(request, Body::from(body)).await
    }

    /// Posts a form from another device of the network.
    pub(crate) async fn post_from(&self, peer: &str, path: &str, fields: &[(&str, &str)]) -> Page {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let line = Line { peer: peer.parse().unwrap(), reached: "10.0.0.1:4310".parse().unwrap() };
        let request = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin")
            .extension(line);
        self.send(request, Body::from(body)).await
    }

    pub(crate) async fn get(&self, path: &str) -> Page {
        self.send(Request::get(path), Body::empty()).await
    }

    /// A page fetched with a cookie that an earlier answer set.
    pub(crate) async fn get_with(&self, path: &str, cookie: &str) -> Page {
        self.send(Request::get(path).header(header::COOKIE, cookie), Body::empty()).await
    }

    /// Posts a form, as a browser on one of our pages does.
    pub(crate) async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let request = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin");
        self.send(request, Body::from(body)).await
    }

    pub(crate) async fn send(&self, request: axum::http::request::Builder, body: Body) -> Page {
        let named = request.headers_ref().is_some_and(|headers| headers.contains_key(header::HOST));
        let request = if named { request } else { request.header(header::HOST, "localhost") };
        let answer = self.router.clone().oneshot(request.body(body).unwrap()).await.unwrap();
        let text = |name| {
            answer.headers().get(name).and_then(|value| value.to_str().ok()).unwrap_or_default().to_owned()
        };
        let (location, cookie, media_type) =
            (text(header::LOCATION), text(header::SET_COOKIE), text(header::CONTENT_TYPE));
        let (etag, disposition) = (text(header::ETAG), text(header::CONTENT_DISPOSITION));
        let (status, headers) = (answer.status(), answer.headers().clone());
        let body = axum::body::to_bytes(answer.into_body(), usize::MAX).await.unwrap().to_vec();
        Page { status, location, cookie, media_type, etag, disposition, headers, body }
    }
}

impl Drop for TestStudio {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}
