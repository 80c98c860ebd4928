//! Losses at the bench: a short form, and those of the last two weeks.

use std::sync::atomic::{AtomicU64, Ordering};

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::super::forms::bench::{BenchForm, NamedLoss};
use super::super::{BenchLoss, NewBenchLoss, store};
use crate::events::{self, Event};
use crate::ground::ids::{BenchLossId, MaterialId};
use crate::price_list::{self, Supplier};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// How long losses are shown, how far around today events are offered, and for how long a delivery may be where
/// a lost stem came from.
const DAYS: i64 = 14;

#[derive(Template)]
#[template(path = "stem_order/receiving_bench.html")]
struct BenchPage {
    shell: Shell,
    form: BenchForm,
    errors: FieldErrors,
    losses: Vec<BenchLoss>,
    /// What is likely to be on the bench.
    names: Vec<String>,
    events: Vec<Event>,
    suppliers: Vec<Supplier>,
}

impl BenchPage {
    async fn new(visit: &mut Visit, form: BenchForm, errors: FieldErrors) -> Result<BenchPage, Trouble> {
        let (from, to) = (visit.today.plus(-DAYS), visit.today.plus(DAYS));
        Ok(BenchPage {
            losses: store::bench_losses(&mut visit.connection, from).await?,
            names: store::names_on_the_bench(&mut visit.connection, from, to).await?,
            events: events::store::open_between(&mut visit.connection, from, to).await?,
            suppliers: price_list::store::suppliers(&mut visit.connection).await?,
            shell: visit.shell(Section::Receiving, "Losses at the bench"),
            form,
            errors,
        })
    }

    fn event_options(&self) -> Vec<(String, String)> {
        let none = (String::new(), "Not said".to_owned());
        let named = self.events.iter().map(|event| {
            (event.id.to_string(), format!("{}, {}", self.shell.weekday(event.day), event.name))
        });
        std::iter::once(none).chain(named).collect()
    }

    fn supplier_options(&self) -> Vec<(String, String)> {
        let none = (String::new(), "From whom it came, if that was one".to_owned());
        let named = self.suppliers.iter().map(|supplier| (supplier.id.to_string(), supplier.name.clone()));
        std::iter::once(none).chain(named).collect()
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct BenchQuery {
    material: String,
    event: String,
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<BenchQuery>) -> Answer {
    let form = BenchForm {
        once_key: once_key(&visit),
        material: query.material,
        event: query.event,
        lost_on: visit.today.to_string(),
        ..BenchForm::default()
    };
    page(&BenchPage::new(&mut visit, form, FieldErrors::default()).await?)
}

/// A key of one form: its moment, and a number for forms of the same moment.
fn once_key(visit: &Visit) -> String {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    format!("{}/{}/{}", visit.now, std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed))
}

pub(super) async fn book(
    State(app): State<App>,
    mut visit: Visit,
    Form(mut form): Form<BenchForm>,
) -> Answer {
    let loss = match form.parse(visit.today, &visit.studio.formats) {
        Ok(loss) => loss,
        Err(errors) => return refused(&BenchPage::new(&mut visit, form, errors).await?),
    };
    let mut tx = app.book.write().await?;
    if form.once_key.is_empty() {
        form.once_key = once_key(&visit);
    }
    if let Some(id) = store::loss_of_key(&mut tx, &form.once_key).await? {
        return booked(&app, &loss, id);
    }
    let new = match known(&mut tx, &visit, &form, &loss).await? {
        Ok(new) => new,
        Err(errors) => {
            drop(tx);
            return refused(&BenchPage::new(&mut visit, form, errors).await?);
        }
    };
    let id = store::add_loss(&mut tx, &new, visit.now).await?;
    tx.commit().await?;
    booked(&app, &loss, id)
}

fn booked(app: &App, loss: &NamedLoss, id: BenchLossId) -> Answer {
    let message = format!("{} of {} booked as lost.", loss.lost, loss.material);
    onward_undo(app, "/bench-losses", message, format!("/bench-losses/{id}/removal"))
}

/// The loss with its material, event and supplier looked up, or what is not in the book.
async fn known(
    connection: &mut SqliteConnection,
    visit: &Visit,
    form: &BenchForm,
    loss: &NamedLoss,
) -> Result<Result<NewBenchLoss, FieldErrors>, sqlx::Error> {
    let mut errors = FieldErrors::default();
    let material = price_list::store::material_named(connection, &loss.material).await?;
    if material.is_none() {
        let near = price_list::store::near_materials(connection, &loss.material).await?;
        errors.add("material", unknown(&loss.material, &near));
    }
    if let Some(id) = loss.event
        && events::store::event(connection, id).await?.is_none()
    {
        errors.add("event", "Choose one of the list.");
    }
    if let Some(id) = loss.supplier
        && price_list::store::supplier(connection, id).await?.is_none()
    {
        errors.add("supplier", "Choose one of the list.");
    }
    let (Some(material), true) = (material, errors.is_empty()) else { return Ok(Err(errors)) };
    let since = visit.today.plus(-DAYS);
    let supplier = match loss.supplier {
        Some(supplier) => Some(supplier),
        None => store::known_from(connection, material, loss.event, since).await?,
    };
    Ok(Ok(named(form, loss, material, supplier)))
}

fn named(
    form: &BenchForm,
    loss: &NamedLoss,
    material: MaterialId,
    supplier: Option<crate::ground::ids::SupplierId>,
) -> NewBenchLoss {
    NewBenchLoss {
        once_key: form.once_key.clone(),
        material,
        supplier,
        event: loss.event,
        lost: loss.lost,
        lost_on: loss.lost_on,
        note: loss.note.clone(),
    }
}

fn unknown(name: &str, near: &[String]) -> String {
    if near.is_empty() {
        return format!("The price list has no \u{201c}{name}\u{201d}.");
    }
    format!("The price list has no \u{201c}{name}\u{201d}. Near to it: {}.", near.join("; "))
}

pub(super) async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<BenchLossId>) -> Answer {
    let mut tx = app.book.write().await?;
    if !store::set_loss_removed(&mut tx, id, Some(visit.now)).await? {
        return Err(Trouble::NotFound("loss"));
    }
    tx.commit().await?;
    onward_undo(&app, "/bench-losses", "Taken off again.", format!("/bench-losses/{id}/restoration"))
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<BenchLossId>) -> Answer {
    let mut tx = app.book.write().await?;
    if !store::set_loss_removed(&mut tx, id, None).await? {
        return Err(Trouble::NotFound("loss"));
    }
    tx.commit().await?;
    onward_saying(&app, "/bench-losses", "Booked again.")
}
