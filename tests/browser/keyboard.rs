//! What a person at the desk does without a mouse: Tab to a field, type, Enter.

use std::time::Duration;

use fantoccini::Locator;
use fantoccini::key::Key;
use serde_json::Value;

use crate::support::Browser;

impl Browser {
    pub(crate) async fn open(&self, url: &str) {
        self.client.goto(url).await.unwrap();
    }

    /// Presses Tab until the field with this id (or, where it has none, this name) has the focus.
    pub(crate) async fn tab_to(&self, id: &str) {
        for _ in 0..250 {
            if self.focused().await == id {
                return;
            }
            self.press(&char::from(Key::Tab).to_string()).await;
        }
        panic!("no way by Tab to {id}: {}", self.text().await);
    }

    async fn focused(&self) -> String {
        let script = "return document.activeElement?.id || document.activeElement?.name || ''";
        let id = self.client.execute(script, Vec::new()).await.unwrap();
        id.as_str().unwrap_or_default().to_owned()
    }

    /// Sends keys to whatever has the focus.
    pub(crate) async fn press(&self, keys: &str) {
        let element = match self.client.active_element().await {
            Ok(element) => element,
            Err(_) => self.client.find(Locator::Css("body")).await.unwrap(),
        };
        element.send_keys(keys).await.unwrap();
    }

    /// Goes to a field and writes into it, over what stands there.
    pub(crate) async fn write(&self, id: &str, text: &str) {
        self.tab_to(id).await;
        self.press(&format!("{}a{}{text}", char::from(Key::Control), char::from(Key::Null))).await;
    }

    /// Goes to a field, writes into it, and sends its form with Enter.
    pub(crate) async fn write_and_send(&self, id: &str, text: &str) {
        self.write(id, text).await;
        self.send().await;
    }

    /// Sends the form of the field that has the focus: Ctrl and Enter, which grids leave alone.
    pub(crate) async fn send(&self) {
        let before = self.page_number().await;
        self.press(&format!("{}{}", char::from(Key::Control), char::from(Key::Enter))).await;
        self.until("the page after the form", async || self.page_number().await != before).await;
    }

    /// Another number for each page loaded.
    pub(crate) async fn page_number(&self) -> Value {
        let script = "return document.readyState === 'complete' ? performance.timeOrigin : 0";
        match self.client.execute(script, Vec::new()).await {
            Ok(number) if number != 0 => number,
            // Between two pages: the same as before, so that the wait goes on.
            _ => Value::Null,
        }
    }

    pub(crate) async fn text(&self) -> String {
        let text =
            self.client.execute("return document.querySelector('main')?.innerText ?? ''", Vec::new()).await;
        text.unwrap().as_str().unwrap_or_default().to_owned()
    }

    /// Waits until the page says so.
    pub(crate) async fn says(&self, words: &str) {
        self.until(words, async || self.text().await.contains(words)).await;
    }

    pub(crate) async fn until(&self, what: &str, mut is_so: impl AsyncFnMut() -> bool) {
        for _ in 0..200 {
            if is_so().await {
                return;
            }
            tokio::time::sleep(Duration::from_millis(25)).await;
        }
        panic!("waited in vain for {what}; the page says: {}", self.text().await);
    }
}
