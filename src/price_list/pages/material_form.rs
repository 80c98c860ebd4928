//! A material's form: adding, changing, removing.

use askama::Template;
use axum::extract::State;
use sqlx::SqliteConnection;

use super::super::care_table::{self, CareRow};
use super::super::entries::NewMaterial;
use super::super::forms::material::MaterialForm;
use super::super::{CareSource, HeadClass, Material, MaterialKind, Unit, store};
use super::taken_meanwhile;
use crate::ground::caution::Caution;
use crate::ground::choice::Choice;
use crate::ground::ids::MaterialId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "price_list/material_form.html")]
struct FormPage {
    shell: Shell,
    id: Option<MaterialId>,
    form: MaterialForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
    suppliers: Vec<(String, String)>,
    /// What was filled in from the care table just now.
    filled: Option<&'static CareRow>,
}

/// A care table to choose from.
struct CareTable {
    name: &'static str,
    /// Code, words, whether it is the row meant.
    rows: Vec<(String, String, bool)>,
}

impl FormPage {
    async fn new(
        visit: &mut Visit,
        id: Option<MaterialId>,
        form: MaterialForm,
        errors: FieldErrors,
    ) -> Result<FormPage, Trouble> {
        let title = if id.is_some() { format!("Change {}", form.name) } else { "New material".into() };
        let list = store::suppliers(&mut visit.connection).await?;
        let mut suppliers = vec![(String::new(), "None; the one that costs least".into())];
        suppliers.extend(list.into_iter().map(|supplier| (supplier.id.to_string(), supplier.name)));
        let shell = visit.shell(Section::PriceList, title);
        Ok(FormPage { shell, id, form, errors, differences: Vec::new(), suppliers, filled: None })
    }

    /// Whether the form holds what is not saved yet.
    fn typed(&self) -> bool {
        !self.errors.is_empty() || !self.differences.is_empty() || self.filled.is_some()
    }

    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        MaterialKind::options()
    }

    fn units(&self) -> Vec<(&'static str, &'static str)> {
        Unit::options()
    }

    fn head_classes(&self) -> Vec<(&'static str, &'static str)> {
        [("", "Not said")].into_iter().chain(HeadClass::options()).collect()
    }

    /// The published care table and the recalled one.
    fn care_tables(&self) -> [CareTable; 2] {
        let meant = care_table::row(&self.form.care_row).or_else(|| care_table::row_for(&self.form.name));
        let meant = meant.map(CareRow::code);
        let row = |row: &CareRow| {
            (row.code(), format!("{}: {}", row.item, row.words), meant.as_ref() == Some(&row.code()))
        };
        let of = |source| care_table::rows().iter().filter(|row| row.source == source).map(row).collect();
        [
            CareTable {
                name: "Published, adapted from Wills et al. (1998)",
                rows: of(CareSource::Published),
            },
            CareTable {
                name: "From memory, please check; after USDA Handbook 66",
                rows: of(CareSource::Memory),
            },
        ]
    }

    fn recalled(&self, row: &CareRow) -> bool {
        row.source == CareSource::Memory
    }

    fn care_sources(&self) -> Vec<(&'static str, &'static str)> {
        CareSource::options()
    }

    /// Every caution with whether it is ticked.
    fn cautions(&self) -> Vec<(&'static str, &'static str, bool)> {
        let ticked = |caution: Caution| self.form.cautions.iter().any(|name| name == caution.name());
        Caution::ALL.into_iter().map(|c| (c.name(), c.sentence(), ticked(c))).collect()
    }

    fn usual_loss(&self) -> String {
        format!("Empty: the studio's usual {}", self.shell.formats.share(self.shell.loss))
    }

    fn currency(&self) -> &'static str {
        self.shell.formats.currency.code()
    }

    fn length_unit(&self) -> &'static str {
        self.shell.formats.length_unit.symbol()
    }
}

async fn material(connection: &mut SqliteConnection, id: MaterialId) -> Result<Material, Trouble> {
    let gone = store::material_removed(connection, id).await?.is_some();
    let found = store::materials(connection, &[id]).await?.remove(&id);
    found.filter(|_| !gone).ok_or(Trouble::NotFound("material"))
}

pub(super) async fn blank(mut visit: Visit) -> Answer {
    page(&FormPage::new(&mut visit, None, MaterialForm::blank(), FieldErrors::default()).await?)
}

pub(super) async fn edit(mut visit: Visit, Path(id): Path<MaterialId>) -> Answer {
    let material = material(&mut visit.connection, id).await?;
    let form = MaterialForm::of(&material, &visit.studio.formats);
    page(&FormPage::new(&mut visit, Some(id), form, FieldErrors::default()).await?)
}

/// Fills the care of the form in from the table; nothing is saved.
pub(super) async fn fill_care(mut visit: Visit, Form(form): Form<MaterialForm>) -> Answer {
    let id = form.id.parse::<MaterialId>().ok();
    let Some(row) = care_table::row(&form.care_row) else {
        let errors = FieldErrors::one("care_row", "Choose a flower or green of the table first.");
        return refused(&FormPage::new(&mut visit, id, form, errors).await?);
    };
    let form = MaterialForm {
        storage_celsius: row.storage_celsius.to_string(),
        holding_days: row.holding_days.to_string(),
        care_source: row.source.code().into(),
        ..form
    };
    let page_filled = FormPage::new(&mut visit, id, form, FieldErrors::default()).await?;
    page(&FormPage { filled: Some(row), ..page_filled })
}

pub(super) async fn add(State(app): State<App>, mut visit: Visit, Form(form): Form<MaterialForm>) -> Answer {
    let mut tx = app.book.write().await?;
    let new = match read(&mut tx, &visit, None, &form).await? {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&mut visit, None, form, errors).await?),
    };
    let id = store::add_material(&mut tx, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/materials/{id}"), format!("{} is in the price list.", new.name))
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<MaterialId>,
    Form(form): Form<MaterialForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = material(&mut tx, id).await?;
    let new = match read(&mut tx, &visit, Some(id), &form).await? {
        Ok(new) => new,
        Err(errors) => return refused(&FormPage::new(&mut visit, Some(id), form, errors).await?),
    };
    if current.version.to_string() != form.version {
        let theirs = MaterialForm::of(&current, &visit.studio.formats);
        let differences = form.differences(&theirs);
        let form = MaterialForm { version: theirs.version, ..form };
        let page = FormPage::new(&mut visit, Some(id), form, FieldErrors::default()).await?;
        return stale(&FormPage { differences, ..page });
    }
    store::change_material(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/materials/{id}"), format!("{} saved.", new.name))
}

/// Reads the form and holds it against the book: a name stands for one material, a preferred supplier is in the list.
async fn read(
    connection: &mut SqliteConnection,
    visit: &Visit,
    id: Option<MaterialId>,
    form: &MaterialForm,
) -> Result<Result<NewMaterial, FieldErrors>, Trouble> {
    let (new, mut errors) = match form.parse(&visit.studio.formats) {
        Ok(new) => (Some(new), FieldErrors::default()),
        Err(errors) => (None, errors),
    };
    let name = form.name.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some(other) = store::material_named(connection, &name).await?.filter(|other| Some(*other) != id) {
        let there = store::materials(connection, &[other]).await?.remove(&other);
        let there = there.map(|material| material.name).unwrap_or_default();
        errors.add(
            "name",
            format!("\u{201c}{there}\u{201d} is in the price list already; give this one another name."),
        );
    }
    if let Some(supplier) = new.as_ref().and_then(|new| new.preferred_supplier_id) {
        let there = store::supplier(connection, supplier).await?.is_some();
        let gone = store::supplier_removed(connection, supplier).await?.is_some();
        if !there || gone {
            errors
                .add("preferred_supplier", "That supplier is no longer in the list; choose another or none.");
        }
    }
    Ok(new.filter(|_| errors.is_empty()).ok_or(errors))
}

pub(super) async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<MaterialId>) -> Answer {
    let mut tx = app.book.write().await?;
    let material = material(&mut tx, id).await?;
    store::set_material_removed(&mut tx, id, Some(visit.now)).await?;
    tx.commit().await?;
    let message = format!("{} removed from the list. Recipes that use it keep it.", material.name);
    onward_undo(&app, "/materials", message, format!("/materials/{id}/restoration"))
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<MaterialId>) -> Answer {
    let mut tx = app.book.write().await?;
    let found = store::set_material_removed(&mut tx, id, None).await;
    if !found.map_err(|error| taken_meanwhile(error, "material"))? {
        return Err(Trouble::NotFound("material"));
    }
    tx.commit().await?;
    onward_saying(&app, format!("/materials/{id}"), "Brought back.")
}
