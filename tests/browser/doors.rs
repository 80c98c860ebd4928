//! Who comes in over a network: by keyboard, with and without a script, on a phone; the door's pages against WCAG and the
//! HTML standard.

use std::fs;

use crate::every_page::{validate, violations};
use crate::support::{Browser, Served, page_check};

const OWNER: &str = "wet moss and twine";
const BENCH: &str = "copper pail, cold room";
/// Pages that only somebody who logged in sees so.
const PAGES: [&str; 4] =
    ["/my-account", "/settings/people", "/settings/people/2", "/settings/people/new?shown=1"];

async fn served() -> Served {
    let people = [("Mia", "owner", OWNER), ("Bench tablet", "bench", BENCH)];
    Served::demo_on_the_network(&people).await
}

#[tokio::test(flavor = "multi_thread")]
async fn the_bench_logs_in_by_keyboard_sees_its_pages_and_logs_out() {
    let Some(browser) = Browser::start(390).await else { return };
    let served = served().await;
    browser.open(&served.url("/events/1/pull-list")).await;
    browser.says("Not encrypted").await;
    browser.write("name", "bench tablet").await;
    browser.write_and_send("passphrase", "guess guess guess").await;
    browser.says("do not belong together").await;
    browser.write_and_send("passphrase", BENCH).await;
    // Where one wanted to go, with one's name as who ticks.
    browser.says("Pull list").await;
    let hand = "return document.querySelector('input[name=hand]').value";
    assert_eq!(browser.client.execute(hand, Vec::new()).await.unwrap(), "Bench tablet");
    let menu = "return [...document.querySelectorAll('.stages a')].map((a) => a.textContent).join(', ')";
    assert_eq!(browser.client.execute(menu, Vec::new()).await.unwrap(), "Receiving, Prep, Pull lists");
    browser.open(&served.url("/accounts")).await;
    browser.says("This belongs to the desk").await;
    browser.open(&served.url("/")).await;
    browser.says("Prep").await;
    let out = "document.querySelector('form[action=\"/log-out\"] button').click()";
    browser.client.execute(out, Vec::new()).await.unwrap();
    browser.says("Log in").await;
    // Nothing is left behind the browser's own button.
    browser.client.back().await.unwrap();
    browser.says("Passphrase").await;
    browser.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_passphrase_is_shown_on_wish_with_a_script_or_without() {
    let Some(browser) = Browser::start(1280).await else { return };
    let served = served().await;
    browser.open(&served.url("/log-in")).await;
    let kind = "return document.getElementById('passphrase').type";
    for expected in ["password", "text", "password"] {
        assert_eq!(browser.client.execute(kind, Vec::new()).await.unwrap(), expected);
        let press = "document.querySelector('[data-shows]').click()";
        browser.client.execute(press, Vec::new()).await.unwrap();
    }
    browser.stop().await;
    let Some(browser) = Browser::start_without_script(1280).await else { return };
    browser.open(&served.url("/log-in?to=%2Fprep")).await;
    let link = browser.client.find(fantoccini::Locator::LinkText("Show what I type")).await.unwrap();
    link.click().await.unwrap();
    let field = browser.client.find(fantoccini::Locator::Css("#passphrase[type=text]")).await.unwrap();
    browser
        .client
        .find(fantoccini::Locator::Id("name"))
        .await
        .unwrap()
        .send_keys("Bench tablet")
        .await
        .unwrap();
    field.send_keys(&format!("{BENCH}\n")).await.unwrap();
    browser.says("Prep").await;
    browser.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_doors_pages_are_valid_and_accessible() {
    let (Some(axe), Some(program)) =
        (page_check("axe-core/axe.min.js"), page_check("html-validate/bin/html-validate.mjs"))
    else {
        return;
    };
    let axe = fs::read_to_string(axe).unwrap();
    let served = served().await;
    let (mut wrong, mut shown) = (Vec::new(), Vec::new());
    for width in [1280, 390] {
        let Some(browser) = Browser::start(width).await else { return };
        browser.open(&served.url("/log-in")).await;
        wrong.extend(violations(&browser, &axe).await);
        shown.push((format!("log in {width}"), written(&browser).await));
        browser.write("name", "mia").await;
        browser.write_and_send("passphrase", "guess guess guess").await;
        wrong.extend(violations(&browser, &axe).await);
        browser.write_and_send("passphrase", OWNER).await;
        for path in PAGES {
            browser.open(&served.url(path)).await;
            wrong.extend(violations(&browser, &axe).await);
            shown.push((format!("{path} {width}"), written(&browser).await));
        }
        browser.open(&served.url("/my-account")).await;
        browser.write_and_send("passphrase", "short").await;
        wrong.extend(violations(&browser, &axe).await);
        browser.stop().await;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    validate(&program, "doors", shown.into_iter());
}

/// The page that is open, as the server wrote it.
async fn written(browser: &Browser) -> String {
    let fetched = "const done = arguments[0]; fetch(location).then((answer) => answer.text()).then(done);";
    browser.client.execute_async(fetched, Vec::new()).await.unwrap().as_str().unwrap().to_owned()
}
