//! The list of closed and feast days and the form of one.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::{get, post};
use serde::Deserialize;

use super::feasts::{Proposed, proposed};
use super::forms::{ClosedDayForm, TickForm, tick_code};
use super::{ClosedDay, ClosedDays, DayKind, store};
use crate::ground::choice::Choice;
use crate::ground::ids::{ClosedDayId, SupplierId};
use crate::price_list::{self, Supplier};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/closed-days", get(list).post(add))
        .route("/closed-days/new", get(blank))
        .route("/closed-days/ticked", post(add_ticked))
        .route("/closed-days/{id}", get(show).post(save))
        .route("/closed-days/{id}/removal", post(remove))
        .route("/closed-days/{id}/restoration", post(restore))
}

#[derive(Template)]
#[template(path = "stem_order/closed_days_list.html")]
struct ListPage {
    shell: Shell,
    coming: Vec<ClosedDay>,
    past: Vec<ClosedDay>,
    suppliers: Vec<Supplier>,
    proposed: Vec<Proposed>,
}

impl ListPage {
    fn days(&self, day: &ClosedDay) -> String {
        day.days(&self.shell.formats)
    }

    fn whose(&self, day: &ClosedDay) -> &str {
        let Some(id) = day.supplier_id else { return "Every supplier" };
        let own = self.suppliers.iter().find(|supplier| supplier.id == id);
        own.map_or("A supplier that was removed", |supplier| &supplier.name)
    }

    fn code(&self, proposed: &Proposed) -> String {
        tick_code(proposed)
    }

    fn label(&self, kind: DayKind) -> &'static str {
        kind.label()
    }
}

async fn list(mut visit: Visit) -> Answer {
    let ClosedDays(days) = store::closed_days(&mut visit.connection).await?;
    let proposed = not_yet(proposed(visit.today), &days);
    let suppliers = price_list::store::suppliers(&mut visit.connection).await?;
    let (coming, mut past): (Vec<_>, Vec<_>) = days.into_iter().partition(|day| day.last_day >= visit.today);
    past.reverse();
    let shell = visit.shell(Section::Settings, "Closed and feast days");
    page(&ListPage { shell, coming, past, suppliers, proposed })
}

/// The reckoned days that are not in the book under their name yet.
fn not_yet(proposed: Vec<Proposed>, days: &[ClosedDay]) -> Vec<Proposed> {
    let known = |one: &Proposed| {
        let same = |day: &&ClosedDay| day.first_day <= one.day && one.day <= day.last_day;
        days.iter()
            .filter(same)
            .any(|day| day.supplier_id.is_none() && day.name.eq_ignore_ascii_case(one.name))
    };
    proposed.into_iter().filter(|one| !known(one)).collect()
}

#[derive(Template)]
#[template(path = "stem_order/closed_days_form.html")]
struct FormPage {
    shell: Shell,
    id: Option<ClosedDayId>,
    form: ClosedDayForm,
    suppliers: Vec<Supplier>,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl FormPage {
    async fn new(
        visit: &mut Visit,
        id: Option<ClosedDayId>,
        form: ClosedDayForm,
        errors: FieldErrors,
    ) -> Result<FormPage, Trouble> {
        let suppliers = price_list::store::suppliers(&mut visit.connection).await?;
        let title = if id.is_some() { form.name.clone() } else { "New closed or feast day".into() };
        let shell = visit.shell(Section::Settings, title);
        Ok(FormPage { shell, id, form, suppliers, errors, differences: Vec::new() })
    }

    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        DayKind::options()
    }

    fn whose(&self) -> Vec<(String, String)> {
        let every = (String::new(), "Every supplier".to_owned());
        let each = self.suppliers.iter().map(|supplier| (supplier.id.to_string(), supplier.name.clone()));
        [every].into_iter().chain(each).collect()
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct NewQuery {
    supplier: String,
}

async fn blank(mut visit: Visit, Query(query): Query<NewQuery>) -> Answer {
    let supplier = query.supplier.parse::<SupplierId>().map(|id| id.to_string()).unwrap_or_default();
    let form = ClosedDayForm { supplier, kind: DayKind::Closed.code().into(), ..ClosedDayForm::default() };
    page(&FormPage::new(&mut visit, None, form, FieldErrors::default()).await?)
}

async fn add(State(app): State<App>, mut visit: Visit, Form(form): Form<ClosedDayForm>) -> Answer {
    let suppliers = price_list::store::suppliers(&mut visit.connection).await?;
    let new = match form.parse(&suppliers, &visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&mut visit, None, form, errors).await?),
    };
    let mut tx = app.book.write().await?;
    store::add(&mut tx, &new).await?;
    tx.commit().await?;
    onward_saying(&app, "/closed-days", format!("{} is in the calendar.", new.name))
}

/// What is in the book already is left as it is, so that pressing twice adds once.
async fn add_ticked(State(app): State<App>, visit: Visit, Form(form): Form<TickForm>) -> Answer {
    let mut tx = app.book.write().await?;
    let ClosedDays(days) = store::closed_days(&mut tx).await?;
    let ticked = form.ticked(not_yet(proposed(visit.today), &days));
    for new in &ticked {
        store::add(&mut tx, new).await?;
    }
    tx.commit().await?;
    let said = match ticked.as_slice() {
        [] => "Nothing was ticked that is not in the calendar already.".to_owned(),
        [one] => format!("{} is in the calendar.", one.name),
        more => format!("{} days are in the calendar.", more.len()),
    };
    onward_saying(&app, "/closed-days", said)
}

async fn show(mut visit: Visit, Path(id): Path<ClosedDayId>) -> Answer {
    let day = store::closed_day(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("closed day"))?;
    page(&FormPage::new(&mut visit, Some(id), ClosedDayForm::of(&day), FieldErrors::default()).await?)
}

async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<ClosedDayId>,
    Form(form): Form<ClosedDayForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = store::closed_day(&mut tx, id).await?.ok_or(Trouble::NotFound("closed day"))?;
    let suppliers = price_list::store::suppliers(&mut tx).await?;
    let new = match form.parse(&suppliers, &visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&mut visit, Some(id), form, errors).await?),
    };
    if current.version.to_string() != form.version {
        let theirs = ClosedDayForm::of(&current);
        let differences = form.differences(&theirs, &suppliers);
        let form = ClosedDayForm { version: theirs.version, ..form };
        let page = FormPage::new(&mut visit, Some(id), form, FieldErrors::default()).await?;
        return stale(&FormPage { differences, ..page });
    }
    store::change(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, "/closed-days", format!("{} saved.", new.name))
}

async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<ClosedDayId>) -> Answer {
    let mut tx = app.book.write().await?;
    let day = store::closed_day(&mut tx, id).await?.ok_or(Trouble::NotFound("closed day"))?;
    store::set_removed(&mut tx, id, Some(visit.now)).await?;
    tx.commit().await?;
    let undo = format!("/closed-days/{id}/restoration");
    onward_undo(&app, "/closed-days", format!("{} removed from the calendar.", day.name), undo)
}

async fn restore(State(app): State<App>, Path(id): Path<ClosedDayId>) -> Answer {
    let mut tx = app.book.write().await?;
    if !store::set_removed(&mut tx, id, None).await? {
        return Err(Trouble::NotFound("closed day"));
    }
    tx.commit().await?;
    onward_saying(&app, "/closed-days", "Brought back.")
}
