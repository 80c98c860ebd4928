//! The main paths, as a person walks them.

use fantoccini::Locator;
use fantoccini::key::Key;
use fantoccini::wd::TimeoutConfiguration;

use crate::support::{Browser, Served};

/// From an empty book to the four papers, by keyboard alone.
#[tokio::test(flavor = "multi_thread")]
async fn an_empty_book_becomes_four_papers_by_keyboard() {
    let Some(browser) = Browser::start(1280).await else { return };
    let studio = Served::empty().await;
    let b = &browser;

    b.open(&studio.url("/settings")).await;
    b.write("name", "Probe Flowers").await;
    b.write("tax_name-0", "Standard").await;
    b.write_and_send("tax_rate-0", "20").await;
    b.says("Settings saved.").await;

    b.open(&studio.url("/suppliers/new")).await;
    b.write("name", "Low Field Growers").await;
    b.write("delivery_fee", "15").await;
    weekdays(b).await;
    b.tab_to("delivery_fee").await;
    b.send().await;
    b.says("Low Field Growers").await;

    material(b, &studio, "Stock, lilac", "flower", None).await;
    material(b, &studio, "Ruscus", "foliage", Some("60")).await;
    offer(b, &studio, "Stock, lilac", "11.90").await;
    offer(b, &studio, "Ruscus", "8").await;

    recipe(b, &studio).await;
    event(b, &studio).await;

    b.open(&studio.url("/events/1/quote")).await;
    b.write("pieces-0-place", "Long room").await;
    b.write("pieces-0-recipe", "Low bowl").await;
    b.write("pieces-0-count", "14").await;
    // Figures while one types: 14 × 40.00, and 20 % tax.
    b.says("€560.00").await;
    b.says("€672.00").await;
    b.send().await;
    b.says("€672.00").await;

    b.open(&studio.url("/events/1/quote/document")).await;
    b.write_and_send("sent_to", "ada@example.org").await;
    b.says("€672.00").await;

    b.open(&studio.url("/stem-order?event=1")).await;
    // 98 of stock; 56 pieces of 15 cm from stems of 60 cm: 14 stems.
    b.says("98").await;
    b.says("Low Field Growers").await;

    b.open(&studio.url("/prep/2026-05-15?from=2026-05-11&to=2026-05-16")).await;
    b.says("Low bowl").await;
    b.open(&studio.url("/events/1/pull-list")).await;
    b.says("Long room").await;
    b.says("14").await;
    browser.stop().await;
}

async fn recipe(b: &Browser, studio: &Served) {
    b.open(&studio.url("/recipes/new")).await;
    b.write("name", "Low bowl").await;
    b.write("minutes", "12").await;
    b.write("holding_hours", "24").await;
    b.write("lines-0-what", "Stock, lilac").await;
    b.write("lines-0-amount", "7").await;
    b.press(&char::from(Key::Enter).to_string()).await;
    b.write("lines-1-what", "Ruscus").await;
    b.write("lines-1-amount", "4 × 15 cm").await;
    // 7 × 1.19 ÷ 0.95 + 4 × 0.80 ÷ 0.95 ÷ 4 = 9.61; × 3.5 + 12 min at 30.00 = 39.64; up to 40.00.
    b.says("€40.00").await;
    b.send().await;
    b.says("Low bowl").await;
}

async fn event(b: &Browser, studio: &Served) {
    b.open(&studio.url("/events/new")).await;
    b.write("client", "Ada North").await;
    b.tab_to("new_client").await;
    b.press(" ").await;
    b.write("name", "Midsummer supper").await;
    b.tab_to("day").await;
    b.press("05162026").await;
    b.tab_to("start_time").await;
    b.press("0600PM").await;
    b.write_and_send("guests", "90").await;
    b.says("Midsummer supper").await;
}

async fn weekdays(b: &Browser) {
    // The first weekday, then on to the others: every day is a delivery day.
    b.client.find(Locator::Css("input[name=weekday]")).await.unwrap().send_keys(" ").await.unwrap();
    for _ in 0..6 {
        b.press(&char::from(Key::Tab).to_string()).await;
        b.press(" ").await;
    }
}

async fn material(b: &Browser, studio: &Served, name: &str, kind: &str, length: Option<&str>) {
    b.open(&studio.url("/materials/new")).await;
    b.write("name", name).await;
    b.tab_to("kind").await;
    b.press(kind).await;
    if let Some(length) = length {
        b.write("usable_length", length).await;
    }
    b.write_and_send("holding_days", "5").await;
    b.says(name).await;
}

async fn offer(b: &Browser, studio: &Served, material: &str, price: &str) {
    b.open(&studio.url("/offers/new")).await;
    b.write("material", material).await;
    b.tab_to("supplier").await;
    b.press("Low").await;
    b.write("pack_name", "bunch").await;
    b.write("pack_size", "10").await;
    b.write_and_send("price", price).await;
    b.says(material).await;
}

/// A figure that could not be refreshed, a field that was refused: what was typed stays.
#[tokio::test(flavor = "multi_thread")]
async fn a_refused_form_keeps_what_was_typed_and_leads_to_the_field() {
    let Some(browser) = Browser::start(1280).await else { return };
    let studio = Served::empty().await;
    browser.open(&studio.url("/clients/new")).await;
    browser.write("phone", "555 0100").await;
    browser.write_and_send("email", "nowhere").await;
    browser.says("2 things to put right").await;
    let phone = browser.client.find(Locator::Id("phone")).await.unwrap().prop("value").await.unwrap();
    assert_eq!(phone.as_deref(), Some("555 0100"));
    browser.client.find(Locator::LinkText("Write the client's name.")).await.unwrap().click().await.unwrap();
    browser.press("Ada").await;
    browser.write_and_send("email", "ada@example.org").await;
    browser.says("Ada is in the book.").await;
    browser.stop().await;
}

/// The box at a place on a sheet.
const BOX: &str = "document.querySelectorAll('.tick-cell input[data-tick]')";

impl Browser {
    pub(crate) async fn tick(&self, at: usize) {
        let boxes = self.client.find_all(Locator::Css(".tick-cell input[data-tick]")).await.unwrap();
        boxes[at].click().await.unwrap();
    }

    /// Waits until the boxes are so.
    pub(crate) async fn ticked(&self, boxes: &[(usize, bool)]) {
        for (at, ticked) in boxes {
            let script = format!("return {BOX}[{at}].checked");
            let is_so = async || self.client.execute(&script, Vec::new()).await.unwrap() == *ticked;
            self.until(&format!("box {at} ticked: {ticked}"), is_so).await;
        }
    }
}

/// Two people at two devices tick the same list at the same time.
#[tokio::test(flavor = "multi_thread")]
async fn two_devices_tick_the_same_list_and_lose_nothing() {
    let (Some(phone), Some(tablet)) = (Browser::start(390).await, Browser::start(1280).await) else { return };
    let studio = Served::demo().await;
    let list = studio.url(&format!("/events/{}/pull-list", first_event(&studio).await));
    phone.open(&list).await;
    tablet.open(&list).await;
    tablet.client.find(Locator::Css("input[name=hand]")).await.unwrap().send_keys("Bo").await.unwrap();
    phone.tick(0).await;
    tablet.tick(1).await;
    for device in [&phone, &tablet] {
        device.ticked(&[(0, true), (1, true), (2, false)]).await;
        device.says("ticked by Bo, ").await;
        device.says("2 of ").await;
    }
    phone.client.refresh().await.unwrap();
    phone.ticked(&[(0, true), (1, true), (2, false)]).await;
    // What one takes back is taken back on the other.
    phone.tick(1).await;
    tablet.ticked(&[(0, true), (1, false)]).await;
    phone.stop().await;
    tablet.stop().await;
}

/// At a dock without network a tick is shown at once, outlives a reload and is sent when there is one again.
#[tokio::test(flavor = "multi_thread")]
async fn a_tick_without_network_waits_on_the_phone() {
    let Some(browser) = Browser::start(390).await else { return };
    let studio = Served::demo().await;
    let event = first_event(&studio).await;
    browser.open(&studio.url(&format!("/events/{event}/pull-list"))).await;
    let cut = "window.fetch = () => Promise.reject(new TypeError('no network'))";
    browser.client.execute(cut, Vec::new()).await.unwrap();
    browser.tick(0).await;
    browser.ticked(&[(0, true)]).await;
    browser.says("1 tick is not yet saved").await;
    assert_eq!(ticks_kept(&studio).await, 0);
    // The page comes anew, and with it the network.
    browser.client.refresh().await.unwrap();
    browser.ticked(&[(0, true)]).await;
    browser.says("1 of ").await;
    browser.until("the tick in the book", async || ticks_kept(&studio).await == 1).await;
    browser.stop().await;
}

async fn ticks_kept(studio: &Served) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar("SELECT count(*) FROM tick WHERE sheet LIKE 'pull-%' AND ticked_at >= '2026-05-04'")
        .fetch_one(&mut *connection)
        .await
        .unwrap()
}

/// Without JavaScript a sheet is saved by its button. On a desk: the driver's touches wait for a script that never runs.
#[tokio::test(flavor = "multi_thread")]
async fn a_list_is_ticked_without_javascript() {
    let Some(browser) = Browser::start_without_script(1280).await else { return };
    let studio = Served::demo().await;
    browser.open(&studio.url(&format!("/events/{}/pull-list", first_event(&studio).await))).await;
    browser.tick(0).await;
    browser.client.find(Locator::Css("[data-ticks-save]")).await.unwrap().click().await.unwrap();
    browser.client.wait().for_element(Locator::Css(".flash")).await.unwrap();
    browser.client.find(Locator::Css(".tick-cell input:checked")).await.unwrap();
    assert_eq!(ticks_kept(&studio).await, 1);
    browser.stop().await;
}

/// With JavaScript off the grid still takes lines, and the sums come with saving.
#[tokio::test(flavor = "multi_thread")]
async fn a_piece_is_added_to_a_quote_without_javascript() {
    let Some(browser) = Browser::start_without_script(1280).await else { return };
    let studio = Served::demo().await;
    let event = first_event(&studio).await;
    browser.client.update_timeouts(TimeoutConfiguration::default()).await.unwrap();
    browser.open(&studio.url(&format!("/events/{event}/quote"))).await;
    let total = |text: &str| text.lines().find(|line| line.starts_with("Total")).map(str::to_owned);
    let main = Locator::Css("main");
    let before = total(&browser.client.find(main).await.unwrap().text().await.unwrap());
    let count = browser.client.find(Locator::Id("pieces-0-count")).await.unwrap();
    count.clear().await.unwrap();
    count.send_keys("7").await.unwrap();
    browser
        .client
        .find(Locator::Css("main form[method=post] button.main"))
        .await
        .unwrap()
        .click()
        .await
        .unwrap();
    browser.client.wait().for_element(Locator::Css(".flash")).await.unwrap();
    let after = total(&browser.client.find(main).await.unwrap().text().await.unwrap());
    assert!(before.is_some() && after.is_some(), "{before:?} {after:?}");
    assert_ne!(before, after);
    browser.stop().await;
}

async fn first_event(studio: &Served) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar("SELECT event.id FROM event JOIN piece ON event_id = event.id WHERE ending IS NULL ORDER BY day LIMIT 1")
        .fetch_one(&mut *connection)
        .await
        .unwrap()
}
