//! The buyer's week by keys alone: from the week's page to placed orders, a supplier's answer, a change and its top-up, a short
//! delivery, a loss at the bench, a left-over, a count. Tab, Enter and letters only, and the focus is seen at every stop.

use fantoccini::key::Key;

use crate::buying::{first_line, last_event, rows};
use crate::support::{Browser, Served};

/// No way to anything on a page is longer, from the top of the page on.
const MOST_TABS: usize = 160;

#[tokio::test(flavor = "multi_thread")]
async fn the_weekend_is_bought_by_keys_alone() {
    let Some(browser) = Browser::start(1280).await else { return };
    let studio = Served::demo().await;
    let b = &browser;
    b.open(&studio.url("/")).await;
    placed(b).await;
    assert!(rows(&studio, "placed_order WHERE once_key NOT LIKE 'demo%'").await > 1, "one order a supplier");
    let (order, delivery, line) = first_line(&studio).await;
    answered(b, order).await;
    changed(b, last_event(&studio).await).await;
    received(b, delivery, line).await;
    lost_at_the_bench(b).await;
    left_over(b).await;
    counted(b).await;
    browser.stop().await;
}

async fn placed(b: &Browser) {
    b.enter(".stages a[href='/stem-order']").await;
    b.skip_to_the_page().await;
    b.enter("button.main").await;
    b.says("Proven cheapest").await;
    b.skip_to_the_page().await;
    b.enter("main a[href^='/stem-order/placing']").await;
    b.says("Trug sends nothing").await;
    b.skip_to_the_page().await;
    b.enter("button.main").await;
    b.says("Placed: ").await;
}

/// The supplier has one pack less of a line.
async fn answered(b: &Browser, order: i64) {
    b.skip_to_the_page().await;
    b.enter(&format!("main a[href='/orders/{order}']")).await;
    b.skip_to_the_page().await;
    b.stop_at("details:has(input[name=packs]) > summary").await;
    b.press(&char::from(Key::Enter).to_string()).await;
    b.stop_at("input[name=packs]").await;
    let script = "return Number(document.activeElement.value) - 1";
    let fewer = b.client.execute(script, Vec::new()).await.unwrap();
    b.over(&fewer.to_string()).await;
    b.send().await;
    b.says("Whom it touches").await;
}

/// More of a piece: what was placed stands, and the top-up is placed beside it.
async fn changed(b: &Browser, event: i64) {
    b.enter(".stages a[href='/events']").await;
    b.skip_to_the_page().await;
    b.enter(&format!("main a[href='/events/{event}']")).await;
    b.skip_to_the_page().await;
    b.enter(&format!(".subnav a[href='/events/{event}/pieces']")).await;
    b.skip_to_the_page().await;
    b.stop_at("tr:has(option[value=number]:checked) input[name=count]").await;
    b.over("25").await;
    b.send().await;
    b.enter(".stages a[href='/stem-order']").await;
    b.skip_to_the_page().await;
    b.enter("button.main").await;
    b.says("Ordered stems do not cover the need").await;
    b.skip_to_the_page().await;
    b.enter("main a[href^='/stem-order/placing']").await;
    b.skip_to_the_page().await;
    b.enter("button.main").await;
    b.says("Placed: ").await;
}

/// Most of a line is dead, the rest of the delivery is good.
async fn received(b: &Browser, delivery: i64, line: i64) {
    b.enter(".stages a[href='/receiving']").await;
    b.skip_to_the_page().await;
    b.enter(&format!("main a[href='/receiving/{delivery}']")).await;
    b.skip_to_the_page().await;
    b.stop_at(&format!("#line-{line} input[name=good]")).await;
    b.over("1").await;
    b.stop_at(&format!("#line-{line} input[name=lost]")).await;
    b.over("18").await;
    b.send().await;
    b.says("Whom it touches").await;
    b.skip_to_the_page().await;
    b.enter("button[name=all_good][value=rest]").await;
    b.says("All in").await;
}

async fn lost_at_the_bench(b: &Browser) {
    b.skip_to_the_page().await;
    b.enter("main a[href='/bench-losses']").await;
    let first = "return document.querySelector('#on-the-bench option').value";
    let material = b.client.execute(first, Vec::new()).await.unwrap();
    let material = material.as_str().unwrap();
    b.skip_to_the_page().await;
    b.stop_at("#material").await;
    b.over(material).await;
    b.stop_at("#lost").await;
    b.over("2").await;
    b.send().await;
    b.says(&format!("2 of {material}")).await;
}

async fn left_over(b: &Browser) {
    b.enter(".stages a[href='/stem-order']").await;
    b.skip_to_the_page().await;
    b.enter(".subnav a[href='/left-overs']").await;
    b.skip_to_the_page().await;
    b.stop_at("input[name=taken_in]").await;
    b.over("1").await;
    b.send().await;
    b.says("into stock").await;
}

async fn counted(b: &Browser) {
    b.skip_to_the_page().await;
    b.enter(".subnav a[href='/stock']").await;
    b.skip_to_the_page().await;
    b.enter("main a[href='/stock/count']").await;
    b.skip_to_the_page().await;
    b.stop_at("input[name=count]").await;
    b.over("7").await;
    b.send().await;
    b.says("counted").await;
}

impl Browser {
    /// Past the head and the menu, as the skip link does it.
    async fn skip_to_the_page(&self) {
        self.stop_at(".skip").await;
        self.press(&char::from(Key::Enter).to_string()).await;
    }

    /// Presses Tab until what has the focus is this, and sees that the focus is shown.
    async fn stop_at(&self, selector: &str) {
        let is_there = "return document.activeElement.matches(arguments[0])";
        for _ in 0..MOST_TABS {
            if self.client.execute(is_there, vec![selector.into()]).await.unwrap() == true {
                return self.focus_is_seen(selector).await;
            }
            self.press(&char::from(Key::Tab).to_string()).await;
        }
        panic!("no way by {MOST_TABS} Tabs to {selector}: {}", self.text().await);
    }

    /// Goes to a link or button and presses Enter; waits for the page behind it.
    async fn enter(&self, selector: &str) {
        self.stop_at(selector).await;
        let before = self.page_number().await;
        self.press(&char::from(Key::Enter).to_string()).await;
        self.until("the next page", async || self.page_number().await != before).await;
    }

    /// Writes over what stands in the field that has the focus.
    async fn over(&self, text: &str) {
        self.press(&format!("{}a{}{text}", char::from(Key::Control), char::from(Key::Null))).await;
    }

    /// What has the focus looks otherwise than without it, and lies within the window.
    async fn focus_is_seen(&self, selector: &str) {
        let script = "const one = document.activeElement;
            const look = () => [one, one.closest('td') ?? one].map((part) => {
                const style = getComputedStyle(part);
                return [style.outlineStyle, style.outlineWidth, style.boxShadow, style.borderBottomColor,
                    style.backgroundColor, style.clipPath, style.width].join();
            }).join();
            const box = one.getBoundingClientRect();
            const with_it = look();
            one.blur();
            const without = look();
            one.focus();
            return with_it !== without && box.bottom > 0 && box.top < innerHeight && box.width > 1;";
        let seen = self.client.execute(script, Vec::new()).await.unwrap();
        assert_eq!(seen, true, "the focus is not seen at {selector}");
    }
}
