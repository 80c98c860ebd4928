//! The buyer's week on the demo's weekend: need, placed orders, a supplier's short, a change, a short delivery, a count.

use fantoccini::Locator;

use crate::support::{Browser, Served};

#[tokio::test(flavor = "multi_thread")]
async fn the_weekend_is_bought_changed_received_and_counted() {
    let Some(browser) = Browser::start(1280).await else { return };
    let studio = Served::demo().await;
    let b = &browser;

    b.open(&studio.url("/stem-order")).await;
    b.press_button("Plan the order").await;
    b.says("Proven cheapest").await;
    b.opens_to_its_working().await;
    let plan = b.client.current_url().await.unwrap();

    b.follow("Place the order").await;
    b.says("Trug sends nothing").await;
    b.press_button("Place it").await;
    b.says("Placed: ").await;
    let placed = rows(&studio, "placed_order WHERE once_key NOT LIKE 'demo%'").await;
    assert!(placed > 1, "one order a supplier: {placed}");

    b.open(&studio.url("/receiving")).await;
    assert!(!b.text().await.contains("whom it touches"), "what was just placed covers every piece");

    let (order, delivery, line) = first_line(&studio).await;
    answered_short(b, &studio, order).await;
    changed(b, &studio, plan.as_str()).await;
    received_short(b, &studio, delivery, line).await;
    counted(b, &studio).await;
    browser.stop().await;
}

/// The supplier has one pack less of the first line.
async fn answered_short(b: &Browser, studio: &Served, order: i64) {
    b.open(&studio.url(&format!("/orders/{order}"))).await;
    b.opens_to_its_working().await;
    b.execute("document.querySelectorAll('main details.more').forEach((part) => part.open = true)").await;
    let packs = b.client.find(Locator::Css("input[name=packs]")).await.unwrap();
    let before: i64 = packs.prop("value").await.unwrap().unwrap().parse().unwrap();
    packs.clear().await.unwrap();
    packs.send_keys(&(before - 1).to_string()).await.unwrap();
    b.press_button("Keep what they confirm").await;
    b.says("Whom it touches").await;
}

/// More of a piece: what was placed stands, and the top-up is offered beside it.
async fn changed(b: &Browser, studio: &Served, plan: &str) {
    let event = last_event(studio).await;
    b.open(&studio.url(&format!("/events/{event}/pieces"))).await;
    let script = "return [...document.querySelectorAll('select[name=rule]')]
        .findIndex((rule) => rule.value === 'number' && rule.closest('tr').querySelector('[name=recipe]').value)";
    let row = b.client.execute(script, Vec::new()).await.unwrap();
    b.write_and_send(&format!("pieces-{row}-count"), "25").await;
    b.open(plan).await;
    b.says("Need now against ordered").await;
    b.says("Ordered stems do not cover the need").await;
    b.opens_to_its_working().await;
    let before = rows(studio, "placed_order").await;
    b.follow("Place the order").await;
    b.press_button("Place it").await;
    b.says("Placed: ").await;
    assert!(rows(studio, "placed_order").await > before, "the top-up has a number of its own");
    b.open(plan).await;
    b.says("Ordered stems cover the need").await;
}

/// All good but the first line, of which most is dead: the events it touches are named.
async fn received_short(b: &Browser, studio: &Served, delivery: i64, line: i64) {
    b.open(&studio.url(&format!("/receiving/{delivery}"))).await;
    let row = format!("#line-{line} ");
    let lost = b.client.find(Locator::Css(&format!("{row}input[name=lost]"))).await.unwrap();
    lost.send_keys("18").await.unwrap();
    let good = b.client.find(Locator::Css(&format!("{row}input[name=good]"))).await.unwrap();
    good.send_keys("1").await.unwrap();
    b.press_button("All the rest is good").await;
    b.says("Whom it touches").await;
    b.open(&studio.url("/losses?show=counted")).await;
    b.opens_to_its_working().await;
}

/// A count of what lies in the cooler.
async fn counted(b: &Browser, studio: &Served) {
    b.open(&studio.url("/stock/count")).await;
    let count = b.client.find(Locator::Css("input[name=count]")).await.unwrap();
    count.clear().await.unwrap();
    count.send_keys("7").await.unwrap();
    b.press_button("Keep the count").await;
    b.says("counted").await;
}

impl Browser {
    /// Presses the button with these words.
    pub(crate) async fn press_button(&self, words: &str) {
        let path = format!("//main//button[normalize-space()='{words}']");
        self.execute("document.documentElement.dataset.before = 'yes'").await;
        self.client.find(Locator::XPath(&path)).await.unwrap().click().await.unwrap();
        self.client.wait().for_element(Locator::Css("html:not([data-before]) main")).await.unwrap();
    }

    /// Follows the link with these words.
    pub(crate) async fn follow(&self, words: &str) {
        self.client.find(Locator::LinkText(words)).await.unwrap().click().await.unwrap();
    }

    async fn execute(&self, script: &str) {
        self.client.execute(script, Vec::new()).await.unwrap();
    }

    /// The figures of the page open to the sums behind them.
    async fn opens_to_its_working(&self) {
        let script = "const all = [...document.querySelectorAll('main details.working')];
            return all.length > 0 && all.every((one) => one.querySelector('p, ul, dl')?.textContent.trim());";
        let opens = self.client.execute(script, Vec::new()).await.unwrap();
        assert_eq!(
            opens,
            true,
            "figures without their working at {}",
            self.client.current_url().await.unwrap()
        );
    }
}

pub(crate) async fn rows(studio: &Served, of: &'static str) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar(sqlx::AssertSqlSafe(format!("SELECT count(*) FROM {of}")))
        .fetch_one(&mut *connection)
        .await
        .unwrap()
}

/// An event of the order that was placed last.
pub(crate) async fn last_event(studio: &Served) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar("SELECT event_id FROM placed_order_event ORDER BY order_id DESC, event_id LIMIT 1")
        .fetch_one(&mut *connection)
        .await
        .unwrap()
}

/// The last placed order's first line of which an event takes most, with its delivery.
pub(crate) async fn first_line(studio: &Served) -> (i64, i64, i64) {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_as(
        "SELECT order_id, delivery_id, placed_line.id FROM placed_line
        JOIN placed_delivery ON placed_delivery.id = delivery_id JOIN material ON material.id = material_id
        WHERE kind = 'flower' AND packs > 1 ORDER BY order_id DESC, delivery_id, position LIMIT 1",
    )
    .fetch_one(&mut *connection)
    .await
    .unwrap()
}
