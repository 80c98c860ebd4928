//! What a form answers that was filled with rubbish: pages that no link leads to.

use std::collections::BTreeMap;

use axum::body::Body;
use axum::http::{Request, header};
use fantoccini::Locator;
use scraper::{ElementRef, Html, Selector};
use tower::ServiceExt;
use trug::app::router;
use trug::clock::Clock;
use trug::web::state::App;

use crate::support::{Browser, NOW, Served};

/// No name, no number, no day; and markup, so that a page that does not escape it fails the checks.
const RUBBISH: &str = "-1 <b>&";

/// A form that refuses rubbish.
pub(crate) struct Refusal {
    /// The page that it stands on.
    pub(crate) path: String,
    /// Its place among the page's forms that save something.
    pub(crate) form: usize,
    /// What it answers.
    pub(crate) html: String,
}

/// Fills every form of these pages of the demo with rubbish and sends it; those that refuse it, by the kind of page.
pub(crate) async fn refusals(pages: &BTreeMap<String, (String, String)>) -> BTreeMap<String, Refusal> {
    // A book of its own: some forms take what they are sent.
    let served = Served::demo().await;
    let app = router(App::new(served.book.clone(), Clock::Fixed(NOW.parse().unwrap())));
    let mut found = BTreeMap::new();
    for (kind, (path, html)) in pages {
        for (form, action, body) in filled(html) {
            let request = Request::post(&action)
                .header(header::HOST, "localhost")
                .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
                .body(Body::from(body))
                .unwrap();
            let answer = app.clone().oneshot(request).await.unwrap();
            assert!(!answer.status().is_server_error(), "{action} on {path}: {}", answer.status());
            if !answer.status().is_client_error() {
                continue;
            }
            let body = axum::body::to_bytes(answer.into_body(), usize::MAX).await.unwrap();
            let html = String::from_utf8(body.to_vec()).expect("pages are UTF-8");
            found.insert(format!("{kind} form {form} refused"), Refusal { path: path.clone(), form, html });
        }
    }
    assert!(found.len() > 10, "forms refuse rubbish: {:?}", found.keys());
    found
}

/// The forms of a page that save something and have something to write into: the place of each among all that save,
/// where it is sent, and what is sent.
fn filled(html: &str) -> Vec<(usize, String, String)> {
    let forms = Selector::parse("main form[method=post]").unwrap();
    let page = Html::parse_document(html);
    let forms = page.select(&forms).enumerate();
    forms
        .map(|(at, form)| (at, form.attr("action").unwrap_or_default().to_owned(), body(form)))
        .filter(|(_, _, body)| {
            body.contains(&form_urlencoded::byte_serialize(RUBBISH.as_bytes()).collect::<String>())
        })
        .collect()
}

fn body(form: ElementRef<'_>) -> String {
    let fields = Selector::parse("input[name], textarea[name], select[name]").unwrap();
    let mut body = form_urlencoded::Serializer::new(String::new());
    for field in form.select(&fields) {
        let name = field.attr("name").unwrap_or_default();
        let own = field.attr("value").unwrap_or_default();
        match field.attr("type").unwrap_or("text") {
            _ if field.value().name() == "select" => body.append_pair(name, &chosen(field)),
            "hidden" => body.append_pair(name, own),
            "checkbox" | "radio" if field.attr("checked").is_some() => body.append_pair(name, own),
            "checkbox" | "radio" | "file" | "submit" => &mut body,
            // A browser lets nothing but days, times and numbers into these.
            "date" | "time" | "number" | "month" => body.append_pair(name, ""),
            _ => body.append_pair(name, RUBBISH),
        };
    }
    body.finish()
}

fn chosen(select: ElementRef<'_>) -> String {
    let options = Selector::parse("option").unwrap();
    let picked = select.select(&options).find(|option| option.attr("selected").is_some());
    let option = picked.or_else(|| select.select(&options).next());
    option.map_or(String::new(), |option| {
        option.attr("value").map_or_else(|| option.text().collect(), str::to_owned)
    })
}

impl Browser {
    /// Opens the form's page, fills the form as above and sends it.
    pub(crate) async fn send_rubbish(&self, served: &Served, refusal: &Refusal) {
        self.open(&served.url(&refusal.path)).await;
        let script = "const [at, rubbish] = arguments;
            const form = document.querySelectorAll('main form[method=post]')[at];
            document.documentElement.dataset.before = 'yes';
            for (const field of form.elements) {
                if (['date', 'time', 'number', 'month'].includes(field.type)) field.value = '';
                else if (['text', 'search', 'email', 'tel', 'url', 'textarea'].includes(field.type)) field.value = rubbish;
            }
            HTMLFormElement.prototype.submit.call(form);";
        self.client.execute(script, vec![refusal.form.into(), RUBBISH.into()]).await.unwrap();
        self.client.wait().for_element(Locator::Css("html:not([data-before]) main")).await.unwrap();
    }
}
