//! The demo's weekend by two people, a laptop at the desk and a phone at the bench and the dock: from Monday's cut-off to
//! Monday's returned crates.

use fantoccini::Locator;

use crate::support::{Browser, Served};

#[tokio::test(flavor = "multi_thread")]
async fn two_people_run_the_weekend_from_its_order_to_its_returned_crates() {
    let (Some(desk), Some(phone)) = (Browser::start(1280).await, Browser::start(390).await) else { return };
    let mut studio = Served::demo().await;
    let event = wedding(&studio).await;
    ordered(&desk, &studio).await;

    studio.later("2026-05-07T08:00:00Z").await;
    came(&desk, &phone, &studio).await;
    studio.later("2026-05-08T07:00:00Z").await;
    made(&desk, &phone, &studio).await;
    studio.later("2026-05-09T07:00:00Z").await;
    loaded(&desk, &phone, &studio, event).await;
    handed_over(&desk, &phone, &studio, event).await;
    struck(&desk, &phone, &studio, event).await;
    studio.later("2026-05-11T08:00:00Z").await;
    returned(&desk, &studio, event).await;
    desk.stop().await;
    phone.stop().await;
}

/// On Monday before the cut-off: the three events' order in one.
async fn ordered(desk: &Browser, studio: &Served) {
    desk.open(&studio.url("/")).await;
    desk.says("Order by").await;
    desk.open(&studio.url("/stem-order")).await;
    desk.press_button("Plan the order").await;
    desk.follow("Place the order").await;
    desk.says("Trug sends nothing").await;
    desk.press_button("Place it").await;
    desk.says("Placed: ").await;
}

/// On Thursday: ticked from the crate with the phone, counted in at the desk.
async fn came(desk: &Browser, phone: &Browser, studio: &Served) {
    let delivery = delivery(studio, "2026-05-07").await;
    phone.open(&studio.url(&format!("/receiving/{delivery}/sheet"))).await;
    phone.sign("Bo").await;
    phone.tick(0).await;
    phone.ticked(&[(0, true)]).await;
    desk.open(&studio.url(&format!("/receiving/{delivery}/sheet"))).await;
    desk.says("ticked by Bo, ").await;
    desk.open(&studio.url(&format!("/receiving/{delivery}"))).await;
    desk.press_button("All the rest is good").await;
    desk.says("All in").await;
}

/// On Friday: the plan of the week says what is made, and both tick the same day's sheet at the same time.
async fn made(desk: &Browser, phone: &Browser, studio: &Served) {
    desk.open(&studio.url("/prep/plan?week=2026-05-04")).await;
    desk.says("Sorrell").await;
    let sheet = studio.url("/prep/2026-05-08?from=2026-05-04&to=2026-05-10");
    tokio::join!(phone.open(&sheet), desk.open(&sheet));
    desk.sign("Ada").await;
    tokio::join!(phone.tick(0), desk.tick(1));
    tokio::join!(phone.tick(2), desk.tick(3));
    let all = [(0, true), (1, true), (2, true), (3, true), (4, false)];
    for device in [phone, desk] {
        device.ticked(&all).await;
        device.says("ticked by Ada, ").await;
        device.says("ticked by Bo, ").await;
        device.says("4 of ").await;
    }
}

/// On Saturday at the dock: what goes into the van is ticked on the phone, and seen at the desk.
async fn loaded(desk: &Browser, phone: &Browser, studio: &Served, event: i64) {
    phone.open(&studio.url(&format!("/events/{event}/load"))).await;
    phone.fits().await;
    phone.tick(0).await;
    phone.tick(1).await;
    desk.open(&studio.url("/load/2026-05-09")).await;
    desk.says("2 of ").await;
    desk.says("ticked by Bo, ").await;
}

/// At the venue: the run sheet leads to the hand-over, which is told at the desk.
async fn handed_over(desk: &Browser, phone: &Browser, studio: &Served, event: i64) {
    phone.open(&studio.url(&format!("/events/{event}/run"))).await;
    phone.fits().await;
    phone.says("What stands where").await;
    phone.open(&studio.url(&format!("/events/{event}/hand-over"))).await;
    phone.fill("handed_to", "Philomel Crake").await;
    phone.press_button("Keep the hand-over").await;
    desk.open(&studio.url(&format!("/events/{event}"))).await;
    desk.says("to Philomel Crake").await;
}

/// At night the list of what comes down is ticked by the crew at the venue.
async fn struck(desk: &Browser, phone: &Browser, studio: &Served, event: i64) {
    let list = studio.url(&format!("/events/{event}/strike"));
    phone.open(&list).await;
    phone.fits().await;
    phone.tick(0).await;
    desk.open(&list).await;
    desk.ticked(&[(0, true), (1, false)]).await;
}

/// On Monday: one vase broke, a crate stayed; the event is closed, and its page says what is left of it.
async fn returned(desk: &Browser, studio: &Served, event: i64) {
    let path = format!("/events/{event}");
    desk.open(&studio.url(&path)).await;
    desk.says("crates, cans and tools are not counted back yet").await;
    desk.follow("Count them").await;
    desk.fill("count-0-broken", "1").await;
    desk.press_button("All back, good").await;
    desk.says("Counted back: 1 piece is lost").await;
    desk.open(&studio.url(&format!("{path}/strike"))).await;
    let went = desk.client.find(Locator::Id("back-0-went")).await.unwrap();
    let went: i64 = went.prop("value").await.unwrap().unwrap().parse().unwrap();
    desk.fill("back-0-back", &(went - 1).to_string()).await;
    desk.press_button("Keep the count").await;
    desk.says("Kept: 1 still out.").await;
    desk.open(&studio.url(&path)).await;
    desk.follow("To the close-out").await;
    desk.press_button("Close it with these figures").await;
    desk.says("Closed Mon 11 May 2026").await;
    desk.open(&studio.url(&path)).await;
    desk.says("It has ended").await;
    desk.says("Still out").await;
    desk.open(&studio.url("/")).await;
    desk.says("No event is left this week").await;
}

impl Browser {
    /// Says who ticks on this device.
    async fn sign(&self, name: &str) {
        self.client.find(Locator::Css("input[name=hand]")).await.unwrap().send_keys(name).await.unwrap();
    }

    /// Writes into a field, over what stands there.
    async fn fill(&self, id: &str, text: &str) {
        let field = self.client.find(Locator::Id(id)).await.unwrap();
        field.clear().await.unwrap();
        field.send_keys(text).await.unwrap();
    }

    /// Nothing of the page stands beside the screen, and the way between the event's pages is one row.
    async fn fits(&self) {
        let script = "return [document.documentElement.scrollWidth <= innerWidth,
            document.querySelector('nav.subnav').offsetHeight < 60]";
        let fits = self.client.execute(script, Vec::new()).await.unwrap();
        assert_eq!(fits, serde_json::json!([true, true]), "{}", self.client.current_url().await.unwrap());
    }
}

async fn wedding(studio: &Served) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar("SELECT id FROM event WHERE name LIKE 'Sorrell%' AND ending IS NULL")
        .fetch_one(&mut *connection)
        .await
        .unwrap()
}

/// The first delivery that comes on a day.
async fn delivery(studio: &Served, day: &str) -> i64 {
    let mut connection = studio.book.read().await.unwrap();
    sqlx::query_scalar("SELECT id FROM placed_delivery WHERE day = ? ORDER BY id LIMIT 1")
        .bind(day)
        .fetch_one(&mut *connection)
        .await
        .unwrap()
}
