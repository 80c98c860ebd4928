//! An offer: its form, its prices and their history.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::super::entries::{ListedOffer, NewOffer};
use super::super::forms::offer::{Known, OfferForm, PriceForm};
use super::super::store::{self, OffersOf};
use super::materials::{HistoryRow, Working, history_rows};
use super::taken_meanwhile;
use crate::ground::dates::MONTHS_SHORT;
use crate::ground::formats::clipped;
use crate::ground::ids::{MaterialId, OfferId, SupplierId};
use crate::ground::quantity::Share;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "price_list/offer_new.html")]
struct NewPage {
    shell: Shell,
    form: OfferForm,
    errors: FieldErrors,
    suppliers: Vec<(String, String)>,
}

impl NewPage {
    async fn new(visit: &mut Visit, form: OfferForm, errors: FieldErrors) -> Result<NewPage, Trouble> {
        let list = store::suppliers(&mut visit.connection).await?;
        let mut suppliers = vec![(String::new(), "Choose a supplier".into())];
        suppliers.extend(list.into_iter().map(|supplier| (supplier.id.to_string(), supplier.name)));
        Ok(NewPage { shell: visit.shell(Section::PriceList, "New offer"), form, errors, suppliers })
    }

    fn months(&self) -> Vec<(usize, &'static str, bool)> {
        months(&self.form)
    }

    fn currency(&self) -> &'static str {
        self.shell.formats.currency.code()
    }
}

/// Every month with whether it is ticked.
fn months(form: &OfferForm) -> Vec<(usize, &'static str, bool)> {
    let ticked = |index: usize| form.month.iter().any(|month| *month == index.to_string());
    MONTHS_SHORT.iter().enumerate().map(|(i, name)| (i, *name, ticked(i))).collect()
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct NewQuery {
    material: Option<MaterialId>,
    supplier: Option<SupplierId>,
}

pub(super) async fn blank(mut visit: Visit, Query(query): Query<NewQuery>) -> Answer {
    let mut form = OfferForm::blank(&visit.today.to_string());
    if let Some(id) = query.material {
        let known = store::materials(&mut visit.connection, &[id]).await?.remove(&id);
        form.material = known.map(|material| material.name).unwrap_or_default();
    }
    form.supplier = query.supplier.map(|id| id.to_string()).unwrap_or_default();
    page(&NewPage::new(&mut visit, form, FieldErrors::default()).await?)
}

pub(super) async fn add(State(app): State<App>, mut visit: Visit, Form(form): Form<OfferForm>) -> Answer {
    let mut tx = app.book.write().await?;
    let known = Known {
        material: material_for(&mut tx, &form.material).await?,
        supplier: supplier_for(&mut tx, &form.supplier).await?,
    };
    let read = form.parse_with_price(&visit.studio.formats, &known);
    let read = match read {
        Ok((offer, price)) => not_twice(&mut tx, None, &offer).await?.map(|()| (offer, price)),
        Err(errors) => Err(errors),
    };
    let (offer, price) = match read {
        Ok(read) => read,
        Err(errors) => return refused(&NewPage::new(&mut visit, form, errors).await?),
    };
    let id = store::add_offer(&mut tx, &offer).await?;
    store::add_price(&mut tx, id, &price, visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/materials/{}", offer.material_id), "The offer is in the price list.")
}

/// The material of a name, or a sentence that suggests near ones.
async fn material_for(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<Result<MaterialId, String>, Trouble> {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if name.is_empty() {
        return Ok(Err("Write which material it is.".into()));
    }
    if let Some(id) = store::material_named(connection, &name).await? {
        return Ok(Ok(id));
    }
    let near = store::near_materials(connection, &name).await?;
    let near: Vec<String> = near.into_iter().map(|name| format!("\u{201c}{name}\u{201d}")).collect();
    let hint = if near.is_empty() {
        "Write it into the price list first.".into()
    } else {
        format!("Near it: {}.", near.join(", "))
    };
    Ok(Err(format!("No material is called \u{201c}{}\u{201d}. {hint}", clipped(&name))))
}

async fn supplier_for(
    connection: &mut SqliteConnection,
    id: &str,
) -> Result<Result<SupplierId, String>, Trouble> {
    let Ok(id) = id.parse::<SupplierId>() else {
        return Ok(Err("Choose a supplier.".into()));
    };
    let there = store::supplier(connection, id).await?.is_some();
    let gone = store::supplier_removed(connection, id).await?.is_some();
    Ok(if there && !gone { Ok(id) } else { Err("That supplier is no longer in the list.".into()) })
}

/// Refuses a second offer of the same pack.
async fn not_twice(
    connection: &mut SqliteConnection,
    id: Option<OfferId>,
    offer: &NewOffer,
) -> Result<Result<(), FieldErrors>, Trouble> {
    let other = store::same_offer(connection, offer).await?.filter(|other| Some(*other) != id);
    Ok(match other {
        Some(_) => Err(FieldErrors::one(
            "pack_name",
            format!(
                "This supplier offers a \u{201c}{}\u{201d} of {} of this material already; give that offer the new price, or name this pack differently.",
                offer.pack_name, offer.pack_size
            ),
        )),
        None => Ok(()),
    })
}

#[derive(Template)]
#[template(path = "price_list/offer.html")]
struct OfferPage {
    shell: Shell,
    offer: ListedOffer,
    form: OfferForm,
    price: PriceForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
    history: Vec<HistoryRow>,
    loss: Share,
}

impl OfferPage {
    async fn new(
        visit: &mut Visit,
        offer: ListedOffer,
        form: OfferForm,
        errors: FieldErrors,
    ) -> Result<OfferPage, Trouble> {
        let prices = store::price_history(&mut visit.connection, &[offer.id]).await?;
        let material =
            store::materials(&mut visit.connection, &[offer.material_id]).await?.remove(&offer.material_id);
        let loss = material.map(|m| m.expected_loss(visit.studio.loss)).unwrap_or_default();
        let title = format!("{}, {} of {}", offer.material, offer.pack_name.to_lowercase(), offer.pack_size);
        let shell = visit.shell(Section::PriceList, title);
        let history = history_rows(&shell, &prices, offer.id);
        let price = PriceForm { from_day: visit.today.to_string(), ..PriceForm::default() };
        Ok(OfferPage { shell, offer, form, price, errors, differences: Vec::new(), history, loss })
    }

    fn months(&self) -> Vec<(usize, &'static str, bool)> {
        months(&self.form)
    }

    fn pack_price(&self) -> Option<String> {
        self.offer.price.map(|price| self.shell.formats.money(price))
    }

    fn currency(&self) -> &'static str {
        self.shell.formats.currency.code()
    }

    fn working(&self) -> Option<Working> {
        Some(Working::of(&self.shell, self.offer.price?, self.offer.pack_size, self.loss))
    }

    fn in_season(&self) -> bool {
        self.offer.season.has(self.shell.today)
    }
}

async fn offer(
    connection: &mut SqliteConnection,
    visit_day: crate::ground::dates::Day,
    id: OfferId,
) -> Result<ListedOffer, Trouble> {
    let found = store::listed_offers(connection, OffersOf::Offer(id), visit_day).await?;
    found.into_iter().next().ok_or(Trouble::NotFound("offer"))
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<OfferId>) -> Answer {
    let today = visit.today;
    let offer = offer(&mut visit.connection, today, id).await?;
    let form = OfferForm::of(&offer);
    page(&OfferPage::new(&mut visit, offer, form, FieldErrors::default()).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<OfferId>,
    Form(form): Form<OfferForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = offer(&mut tx, visit.today, id).await?;
    let known = Known { material: Ok(current.material_id), supplier: Ok(current.supplier_id) };
    let read = match form.parse(&visit.studio.formats, &known) {
        Ok(new) => not_twice(&mut tx, Some(id), &new).await?.map(|()| new),
        Err(errors) => Err(errors),
    };
    let new = match read {
        Ok(new) => new,
        Err(errors) => return refused(&OfferPage::new(&mut visit, current, form, errors).await?),
    };
    if current.version.to_string() != form.version {
        let theirs = OfferForm::of(&current);
        let differences = form.differences(&theirs);
        let form = OfferForm { version: theirs.version, ..form };
        let page = OfferPage::new(&mut visit, current, form, FieldErrors::default()).await?;
        return stale(&OfferPage { differences, ..page });
    }
    store::change_offer(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/offers/{id}"), "Offer saved.")
}

pub(super) async fn add_price(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<OfferId>,
    Form(form): Form<PriceForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = offer(&mut tx, visit.today, id).await?;
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => {
            let facts = OfferForm::of(&current);
            let page = OfferPage::new(&mut visit, current, facts, errors).await?;
            return refused(&OfferPage { price: form, ..page });
        }
    };
    store::add_price(&mut tx, id, &new, visit.now).await?;
    tx.commit().await?;
    let (price, from) = (visit.studio.formats.money(new.price), visit.studio.formats.day(new.from_day));
    onward_saying(&app, format!("/offers/{id}"), format!("{price} holds from {from}."))
}

pub(super) async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<OfferId>) -> Answer {
    let mut tx = app.book.write().await?;
    let offer = offer(&mut tx, visit.today, id).await?;
    store::set_offer_removed(&mut tx, id, Some(visit.now)).await?;
    tx.commit().await?;
    let message = format!(
        "The {} of {} from {} removed.",
        offer.pack_name.to_lowercase(),
        offer.pack_size,
        offer.supplier
    );
    onward_undo(
        &app,
        format!("/materials/{}", offer.material_id),
        message,
        format!("/offers/{id}/restoration"),
    )
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<OfferId>) -> Answer {
    let mut tx = app.book.write().await?;
    let name = store::offer_name(&mut tx, id).await?.ok_or(Trouble::NotFound("offer"))?;
    let found = store::set_offer_removed(&mut tx, id, None).await;
    found.map_err(|error| taken_meanwhile(error, "offer"))?;
    tx.commit().await?;
    onward_saying(&app, format!("/materials/{}", name.material_id), "Brought back.")
}
