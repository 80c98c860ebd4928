//! The suppliers: their list, their pages, their form.

use std::collections::HashMap;

use askama::Template;
use axum::extract::State;
use sqlx::SqliteConnection;

use super::super::calendar_words::{months, weekdays};
use super::super::entries::{ListedOffer, NewSupplier};
use super::super::forms::supplier::SupplierForm;
use super::super::store::{self, OffersOf};
use super::super::{Material, Supplier};
use super::materials::{Working, limit_words};
use super::taken_meanwhile;
use crate::ground::dates::{Moment, WEEKDAYS_SHORT};
use crate::ground::ids::{MaterialId, SupplierId};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "price_list/suppliers.html")]
struct ListPage {
    shell: Shell,
    suppliers: Vec<Supplier>,
    offers: HashMap<SupplierId, i64>,
}

impl ListPage {
    fn least_order(&self, supplier: &Supplier) -> String {
        self.shell.formats.money(supplier.least_order)
    }

    fn offers(&self, supplier: &Supplier) -> i64 {
        self.offers.get(&supplier.id).copied().unwrap_or(0)
    }

    fn days(&self, supplier: &Supplier) -> String {
        delivery_words(supplier)
    }

    fn cutoff(&self, supplier: &Supplier) -> String {
        cutoff_words(supplier)
    }

    fn fee(&self, supplier: &Supplier) -> String {
        fee_words(&self.shell, supplier)
    }
}

fn delivery_words(supplier: &Supplier) -> String {
    if supplier.delivery_weekdays.0 == 0 { "on no day".into() } else { weekdays(supplier.delivery_weekdays) }
}

fn cutoff_words(supplier: &Supplier) -> String {
    match supplier.cutoff_days {
        0 => format!("{} the same day", supplier.cutoff_time),
        1 => format!("{} the day before", supplier.cutoff_time),
        days => format!("{} {days} days before", supplier.cutoff_time),
    }
}

fn fee_words(shell: &Shell, supplier: &Supplier) -> String {
    if supplier.delivery_fee.is_zero() {
        return "none".into();
    }
    let fee = shell.formats.money(supplier.delivery_fee);
    match supplier.fee_waived_over {
        Some(over) => format!("{fee}, none from {}", shell.formats.money(over)),
        None => fee,
    }
}

pub(super) async fn list(mut visit: Visit) -> Answer {
    let suppliers = store::suppliers(&mut visit.connection).await?;
    let offers = store::offer_counts(&mut visit.connection).await?;
    page(&ListPage { shell: visit.shell(Section::PriceList, "Suppliers"), suppliers, offers })
}

#[derive(Template)]
#[template(path = "price_list/supplier.html")]
struct SupplierPage {
    shell: Shell,
    supplier: Supplier,
    removed: Option<Moment>,
    offers: Vec<ListedOffer>,
    materials: HashMap<MaterialId, Material>,
}

impl SupplierPage {
    fn least_order(&self) -> String {
        self.shell.formats.money(self.supplier.least_order)
    }

    fn delivers(&self) -> bool {
        self.supplier.delivery_weekdays.0 != 0
    }

    fn days(&self) -> String {
        delivery_words(&self.supplier)
    }

    fn cutoff(&self) -> String {
        cutoff_words(&self.supplier)
    }

    fn fee(&self) -> String {
        fee_words(&self.shell, &self.supplier)
    }

    fn working(&self, offer: &ListedOffer) -> Option<Working> {
        let loss = self.materials.get(&offer.material_id)?.expected_loss(self.shell.loss);
        Some(Working::of(&self.shell, offer.price?, offer.pack_size, loss))
    }

    fn in_season(&self, offer: &ListedOffer) -> bool {
        offer.season.has(self.shell.today)
    }

    fn season(&self, offer: &ListedOffer) -> String {
        months(offer.season)
    }

    fn limits(&self, offer: &ListedOffer) -> String {
        limit_words(offer)
    }

    fn pack_price(&self, offer: &ListedOffer) -> String {
        offer.price.map(|price| self.shell.formats.money(price)).unwrap_or_default()
    }

    fn removed_on(&self, at: &Moment) -> String {
        self.shell.formats.moment(*at, &self.shell.zone)
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<SupplierId>) -> Answer {
    let connection = &mut visit.connection;
    let supplier = store::supplier(connection, id).await?.ok_or(Trouble::NotFound("supplier"))?;
    let removed = store::supplier_removed(connection, id).await?;
    let offers = store::listed_offers(connection, OffersOf::Supplier(id), visit.today).await?;
    let ids: Vec<MaterialId> = offers.iter().map(|offer| offer.material_id).collect();
    let materials = store::materials(connection, &ids).await?;
    let shell = visit.shell(Section::PriceList, supplier.name.clone());
    page(&SupplierPage { shell, supplier, removed, offers, materials })
}

#[derive(Template)]
#[template(path = "price_list/supplier_form.html")]
struct FormPage {
    shell: Shell,
    id: Option<SupplierId>,
    form: SupplierForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl FormPage {
    fn new(visit: &Visit, id: Option<SupplierId>, form: SupplierForm, errors: FieldErrors) -> FormPage {
        let title = if id.is_some() { format!("Change {}", form.name) } else { "New supplier".into() };
        FormPage { shell: visit.shell(Section::PriceList, title), id, form, errors, differences: Vec::new() }
    }

    fn currency(&self) -> &'static str {
        self.shell.formats.currency.code()
    }

    /// Every weekday with whether it is ticked.
    fn weekdays(&self) -> Vec<(usize, &'static str, bool)> {
        let ticked = |index: usize| self.form.weekday.iter().any(|day| *day == index.to_string());
        WEEKDAYS_SHORT.iter().enumerate().map(|(i, name)| (i, *name, ticked(i))).collect()
    }
}

pub(super) async fn blank(visit: Visit) -> Answer {
    page(&FormPage::new(&visit, None, SupplierForm::blank(), FieldErrors::default()))
}

async fn supplier(connection: &mut SqliteConnection, id: SupplierId) -> Result<Supplier, Trouble> {
    let gone = store::supplier_removed(connection, id).await?.is_some();
    store::supplier(connection, id).await?.filter(|_| !gone).ok_or(Trouble::NotFound("supplier"))
}

pub(super) async fn edit(mut visit: Visit, Path(id): Path<SupplierId>) -> Answer {
    let supplier = supplier(&mut visit.connection, id).await?;
    let form = SupplierForm::of(&supplier, &visit.studio.formats);
    page(&FormPage::new(&visit, Some(id), form, FieldErrors::default()))
}

pub(super) async fn add(State(app): State<App>, visit: Visit, Form(form): Form<SupplierForm>) -> Answer {
    let mut tx = app.book.write().await?;
    let new = match read(&mut tx, &visit, None, &form).await? {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&visit, None, form, errors)),
    };
    let id = store::add_supplier(&mut tx, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/suppliers/{id}"), format!("{} is in the price list.", new.name))
}

pub(super) async fn save(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<SupplierId>,
    Form(form): Form<SupplierForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = supplier(&mut tx, id).await?;
    let new = match read(&mut tx, &visit, Some(id), &form).await? {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&visit, Some(id), form, errors)),
    };
    if current.version.to_string() != form.version {
        let theirs = SupplierForm::of(&current, &visit.studio.formats);
        let differences = form.differences(&theirs);
        let form = SupplierForm { version: theirs.version, ..form };
        let page = FormPage::new(&visit, Some(id), form, FieldErrors::default());
        return stale(&FormPage { differences, ..page });
    }
    store::change_supplier(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/suppliers/{id}"), format!("{} saved.", new.name))
}

/// Reads the form and holds it against the book: a name stands for one supplier.
async fn read(
    connection: &mut SqliteConnection,
    visit: &Visit,
    id: Option<SupplierId>,
    form: &SupplierForm,
) -> Result<Result<NewSupplier, FieldErrors>, Trouble> {
    let read = form.parse(&visit.studio.formats);
    let name = form.name.split_whitespace().collect::<Vec<_>>().join(" ");
    let Some(other) = store::supplier_named(connection, &name).await?.filter(|other| Some(*other) != id)
    else {
        return Ok(read);
    };
    let there = store::supplier(connection, other).await?.map(|s| s.name).unwrap_or_default();
    let mut errors = read.err().unwrap_or_default();
    errors
        .add("name", format!("\u{201c}{there}\u{201d} is in the list already; give this one another name."));
    Ok(Err(errors))
}

pub(super) async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<SupplierId>) -> Answer {
    let mut tx = app.book.write().await?;
    let supplier = supplier(&mut tx, id).await?;
    store::set_supplier_removed(&mut tx, id, Some(visit.now)).await?;
    tx.commit().await?;
    let message = format!("{} removed, and its offers with it.", supplier.name);
    onward_undo(&app, "/suppliers", message, format!("/suppliers/{id}/restoration"))
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<SupplierId>) -> Answer {
    let mut tx = app.book.write().await?;
    let found = store::set_supplier_removed(&mut tx, id, None).await;
    if !found.map_err(|error| taken_meanwhile(error, "supplier"))? {
        return Err(Trouble::NotFound("supplier"));
    }
    tx.commit().await?;
    onward_saying(&app, format!("/suppliers/{id}"), "Brought back, with its offers.")
}
