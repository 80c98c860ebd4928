//! From an enquiry to a quote that can be sent, without a mouse.

use fantoccini::key::Key;

use crate::support::{Browser, Served};

#[tokio::test(flavor = "multi_thread")]
async fn an_enquiry_becomes_a_sendable_quote_by_keyboard() {
    let Some(browser) = Browser::start(1280).await else { return };
    let studio = Served::demo().await;
    let b = &browser;

    // What is asked for often is kept once as a set.
    b.open(&studio.url("/events/3/pieces")).await;
    b.write_and_send("set_name", "Barn tables").await;
    b.says("Barn tables is kept").await;

    b.open(&studio.url("/events/new")).await;
    b.write("client", "Nell Ash").await;
    b.tab_to("new_client").await;
    b.press(" ").await;
    b.write("name", "Ash supper").await;
    b.tab_to("day").await;
    b.press("09122026").await;
    b.write("guests", "60").await;
    b.write("seats", "8").await;
    b.write_and_send("begin_with", "Barn tables").await;
    b.says("Ash supper is in the book with").await;
    let hub = b.client.current_url().await.unwrap();

    b.open(&format!("{hub}/quote")).await;
    let before = total(b).await;
    b.write("pieces-0-count", "9").await;
    b.until("the total follows", async || total(b).await != before).await;
    // The figures were refreshed and the place is kept.
    let focus = b.client.execute("return document.activeElement.id", Vec::new()).await.unwrap();
    assert_eq!(focus, "pieces-0-count");
    b.tab_to("then").await;
    let page = b.page_number().await;
    b.press(&char::from(Key::Enter).to_string()).await;
    b.until("the document", async || b.page_number().await != page).await;
    b.write_and_send("sent_to", "nell@example.org").await;
    b.says("Version 1 is kept as it stands here").await;
    browser.stop().await;
}

async fn total(b: &Browser) -> String {
    let script = "return document.querySelector('#quote-sums .sum td').innerText";
    let total = b.client.execute(script, Vec::new()).await.unwrap();
    total.as_str().unwrap_or_default().to_owned()
}
