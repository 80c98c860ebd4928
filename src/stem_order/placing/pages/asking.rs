//! Before an order leaves the house: what will be ordered from whom, what to know first; and placing it, once.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use sqlx::SqliteConnection;

use crate::ground::fingerprint::fingerprint;
use crate::ground::ids::{EventId, SupplierId};
use crate::ground::money::Money;
use crate::stem_order::forms::{OrderQuery, address};
use crate::stem_order::order::{OrderDelivery, StemOrder};
use crate::stem_order::pages::{asked, planned};
use crate::stem_order::placing::forms::PlaceForm;
use crate::stem_order::placing::freeze::{Placing, placement};
use crate::stem_order::placing::shown::{Change, changes, rows};
use crate::stem_order::placing::standing::Standing;
use crate::stem_order::placing::{NewPlacement, PlacedOrder, store};
use crate::stem_order::stock::{self, store::Reserving};
use crate::stem_order::store::planning::Asked;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::state::App;

#[derive(Template)]
#[template(path = "stem_order/placing_ask.html")]
struct AskPage {
    shell: Shell,
    asked: Asked,
    order: StemOrder,
    /// Orders that name one of these events.
    placed: Vec<PlacedOrder>,
    /// The lines as they travel through the page.
    rows: Vec<String>,
    once_key: String,
    form: Option<PlaceForm>,
    errors: FieldErrors,
    changes: Vec<Change>,
}

/// One supplier's part of the plan, to tick.
struct Part<'a> {
    id: SupplierId,
    name: &'a str,
    deliveries: Vec<&'a OrderDelivery>,
    ticked: bool,
    /// What was placed with them for these events before, by number.
    before: Vec<&'a PlacedOrder>,
}

impl Part<'_> {
    fn total(&self) -> Money {
        self.deliveries.iter().map(|delivery| delivery.total).sum()
    }

    fn lines(&self) -> usize {
        self.deliveries.iter().map(|delivery| delivery.lines.len()).sum()
    }

    fn packs(&self) -> i64 {
        self.deliveries.iter().map(|delivery| delivery.packs()).sum()
    }
}

impl AskPage {
    async fn new(
        visit: &mut Visit,
        asked: Asked,
        order: StemOrder,
        form: Option<PlaceForm>,
    ) -> Result<AskPage, Trouble> {
        let placed = store::orders_of_events(&mut visit.connection, &events_of(&asked, &order)).await?;
        let rows = rows(&order, visit.studio.formats);
        let once_key = once_key(&asked, &rows, &placed);
        let shell = visit.shell(Section::StemOrder, "Place the order");
        let (errors, changes) = (FieldErrors::default(), Vec::new());
        Ok(AskPage { shell, asked, order, placed, rows, once_key, form, errors, changes })
    }

    fn parts(&self) -> Vec<Part<'_>> {
        let ticked = self.form.as_ref().map(PlaceForm::ticked);
        let part = |(id, name)| {
            let before: Vec<&PlacedOrder> = self.standing().filter(|order| order.supplier_id == id).collect();
            let ticked = ticked.as_ref().is_none_or(|ticked| ticked.contains(&id));
            let deliveries =
                self.order.deliveries.iter().filter(|delivery| delivery.supplier == id).collect();
            Part { id, name, deliveries, ticked, before }
        };
        self.order.suppliers().into_iter().map(part).collect()
    }

    /// The orders of these events that were not taken back whole.
    fn standing(&self) -> impl Iterator<Item = &PlacedOrder> {
        self.placed.iter().filter(|order| Standing::of_order(order) != Standing::TakenBack)
    }

    fn any_before(&self) -> bool {
        self.standing().next().is_some()
    }

    fn note(&self) -> &str {
        self.form.as_ref().map_or("", |form| form.note.as_str())
    }

    fn plan_path(&self) -> String {
        address("/stem-order", &self.asked)
    }

    fn own_path(&self) -> String {
        address("/stem-order/placing", &self.asked)
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn order_by(&self, delivery: &OrderDelivery) -> String {
        format!("{} {}", self.shell.weekday(delivery.order_by_day), delivery.order_by_time)
    }

    fn event_lines(&self) -> String {
        let events = self.order.events.iter();
        let lines = events.map(|event| format!("{}, {}", event.name, self.shell.weekday(event.day)));
        lines.collect::<Vec<_>>().join("; ")
    }

    fn event(&self, at: usize) -> &str {
        self.order.events.get(at).map_or("", |event| event.name.as_str())
    }

    /// `5 Market jar for Supper`: what is taken from stock and kept for the events.
    fn stock_words(&self) -> String {
        let lines = self.order.from_stock.lines.iter();
        let words = lines.map(|line| format!("{} {} for {}", line.count, line.name, self.event(line.event)));
        words.collect::<Vec<_>>().join(", ")
    }

    fn below_least(&self, delivery: &OrderDelivery) -> bool {
        delivery.goods < delivery.least_order
    }
}

pub(super) async fn show(visit: Visit, Query(query): Query<OrderQuery>) -> Answer {
    let asked = asked_for(&visit, &query)?;
    let (mut visit, ordered) = planned(visit, &asked).await?;
    page(&AskPage::new(&mut visit, asked, ordered.order, None).await?)
}

/// What the address asks for; placing needs events and a day that can be read.
fn asked_for(visit: &Visit, query: &OrderQuery) -> Result<Asked, Trouble> {
    let (asked, errors) = asked(visit, query)?;
    if let Some((_, message)) = errors.list().first() {
        return Err(Trouble::Conflict(format!("The delivery day cannot be read. {message}")));
    }
    if asked.events.is_empty() {
        return Err(Trouble::Conflict("Choose events for the order first.".into()));
    }
    Ok(asked)
}

/// The events that are planned together: those asked for, and those that were ordered together with them.
fn events_of(asked: &Asked, order: &StemOrder) -> Vec<EventId> {
    let events: BTreeSet<EventId> = asked.events.iter().copied().chain(events_of_order(order)).collect();
    events.into_iter().collect()
}

fn events_of_order(order: &StemOrder) -> Vec<EventId> {
    order.events.iter().map(|event| event.id).collect()
}

/// Once what was asked for, exactly these lines, and these orders before it.
fn once_key(asked: &Asked, rows: &[String], placed: &[PlacedOrder]) -> String {
    let before: Vec<i64> = placed.iter().map(|order| order.number).collect();
    fingerprint(&(address("", asked), rows, before))
}

pub(super) async fn place(
    State(app): State<App>,
    mut visit: Visit,
    Query(query): Query<OrderQuery>,
    Form(form): Form<PlaceForm>,
) -> Answer {
    let asked = asked_for(&visit, &query)?;
    if let Some(answer) = placed_before(&app, &mut visit, &form).await? {
        return answer;
    }
    let (mut visit, ordered) = planned(visit, &asked).await?;
    let shown = AskPage::new(&mut visit, asked, ordered.order, Some(form.clone())).await?;
    let differ = changes(&form.shown, &shown.rows, visit.studio.formats);
    if !differ.is_empty() || form.once_key != shown.once_key {
        // The same press sent twice may have placed it while this one was planned.
        return match placed_before(&app, &mut visit, &form).await? {
            Some(answer) => answer,
            None => stale(&AskPage { changes: differ, ..shown }),
        };
    }
    let (suppliers, note) = match form.parse(&shown.order, &visit.studio.formats) {
        Ok(parsed) => parsed,
        Err(errors) => return refused(&AskPage { errors, ..shown }),
    };
    let placing =
        Placing { once_key: form.once_key.clone(), placed_on: visit.today, recorded_at: visit.now, note };
    let placement = placement(&shown.order, &suppliers, placing);
    let mut tx = app.book.write().await?;
    // Another order for these events may have been placed while this one was planned.
    let events = events_of(&shown.asked, &shown.order);
    let meanwhile = store::orders_of_events(&mut tx, &events).await?;
    if once_key(&shown.asked, &shown.rows, &meanwhile) != shown.once_key {
        drop(tx);
        return overtaken(&app, &mut visit, shown, &form).await;
    }
    let placed = store::place(&mut tx, &placement).await?;
    let orders = store::orders(&mut tx, &placed).await?;
    reserve_stock(&mut tx, &shown.order, &placement).await?;
    tx.commit().await?;
    onward_to(&app, &orders, "Now send it: as paper, file or message.")
}

/// What the plan takes from stock is kept for its events; where another order took it meanwhile, nothing is placed.
async fn reserve_stock(
    connection: &mut SqliteConnection,
    order: &StemOrder,
    placement: &NewPlacement,
) -> Result<(), Trouble> {
    let events = events_of_order(order);
    let (key, uses) = (format!("placed {}", placement.once_key), order.from_stock.uses());
    let when = (placement.placed_on, placement.recorded_at);
    match stock::store::reserve(connection, &key, (&events, &uses), when).await? {
        Reserving::Done | Reserving::Already => Ok(()),
        Reserving::Short(_) => Err(Trouble::Conflict(
            "Another order took some of this plan's stock meanwhile. Nothing was placed: look at the plan again."
                .into(),
        )),
    }
}

/// Someone placed an order for these events between the look at the page and the press of its button: either the same
/// press sent twice, or another order, and then the page is shown again.
async fn overtaken(app: &App, visit: &mut Visit, shown: AskPage, form: &PlaceForm) -> Answer {
    if let Some(answer) = placed_before(app, visit, form).await? {
        return answer;
    }
    let AskPage { asked, order, form, .. } = shown;
    stale(&AskPage::new(visit, asked, order, form).await?)
}

/// The answer to the same key sent again: if all that is ticked was placed with it, that is shown.
async fn placed_before(app: &App, visit: &mut Visit, form: &PlaceForm) -> Result<Option<Answer>, Trouble> {
    let before = store::orders_of_key(&mut visit.connection, &form.once_key).await?;
    let before = store::orders(&mut visit.connection, &before).await?;
    let done = |id: &SupplierId| before.iter().any(|order| order.supplier_id == *id);
    let all = !before.is_empty() && form.ticked().iter().all(done);
    Ok(all.then(|| onward_to(app, &before, "It was placed before, and is placed once.")))
}

fn onward_to(app: &App, orders: &[PlacedOrder], then: &str) -> Answer {
    let names: Vec<String> =
        orders.iter().map(|order| format!("{} with {}", order.name(), order.supplier)).collect();
    let path = match orders {
        [order] => format!("/orders/{}", order.id),
        _ => "/orders".to_owned(),
    };
    onward_saying(app, path, format!("Placed: {}. {then}", names.join(", ")))
}
