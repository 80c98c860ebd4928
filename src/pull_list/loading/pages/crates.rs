//! The studio's crates and vans.

use askama::Template;
use axum::extract::State;
use sqlx::SqliteConnection;

use super::super::forms::{LoadingForm, Row};
use super::super::store;
use super::super::usual::{usual_crates, usual_van};
use crate::ground::dates::Moment;
use crate::ground::formats::Formats;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "pull_list/loading/crates.html")]
struct CratesPage {
    shell: Shell,
    form: LoadingForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl CratesPage {
    fn new(visit: &Visit, form: LoadingForm, errors: FieldErrors) -> CratesPage {
        let shell = visit.shell(Section::PullLists, "Crates and vans");
        CratesPage { shell, form, errors, differences: Vec::new() }
    }

    fn is_empty(&self) -> bool {
        let named = |names: &[String]| names.iter().any(|name| !name.trim().is_empty());
        !named(&self.form.crate_name) && !named(&self.form.van_name)
    }

    fn message(&self, row: &Row, cell: &str) -> Option<&str> {
        self.errors.of(&row.field(cell))
    }

    /// Rows to copy for a new line.
    fn blank(&self, table: &'static str) -> Row {
        Row { table, ..Row::default() }
    }

    fn usual(&self) -> String {
        let formats = self.shell.formats;
        let crates = usual_crates().into_iter().map(|kind| {
            let sides = [kind.length, kind.width, kind.clear_height].map(|side| formats.length_input(side));
            format!("{}, {} {}", kind.name.to_lowercase(), sides.join(" × "), formats.length_unit.symbol())
        });
        let van = usual_van();
        let van = format!("{}, {}", van.name.to_lowercase(), formats.weight(van.payload));
        crates.chain([van]).collect::<Vec<_>>().join("; ")
    }
}

async fn kept(connection: &mut SqliteConnection, formats: &Formats) -> Result<LoadingForm, sqlx::Error> {
    let version = store::version(connection).await?;
    let (crates, vans) = (store::crate_kinds(connection).await?, store::vans(connection).await?);
    Ok(LoadingForm::of(version, &crates, &vans, formats))
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let form = kept(&mut visit.connection, &visit.studio.formats).await?;
    page(&CratesPage::new(&visit, form, FieldErrors::default()))
}

pub(super) async fn save(State(app): State<App>, visit: Visit, Form(form): Form<LoadingForm>) -> Answer {
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&CratesPage::new(&visit, form, errors)),
    };
    let mut tx = app.book.write().await?;
    let version = store::version(&mut tx).await?;
    if version.to_string() != form.version {
        let theirs = kept(&mut tx, &visit.studio.formats).await?;
        let differences = form.differences(&theirs);
        let form = LoadingForm { version: theirs.version, ..form };
        return stale(&CratesPage { differences, ..CratesPage::new(&visit, form, FieldErrors::default()) });
    }
    let removed = store::keep_crates(&mut tx, &new.crates, visit.now).await?
        + store::keep_vans(&mut tx, &new.vans, visit.now).await?;
    tx.commit().await?;
    match removed {
        0 => onward_saying(&app, "/crates", "Crates and vans saved."),
        removed => {
            let undo = format!("/crates/removals/{}/restoration", visit.now);
            onward_undo(&app, "/crates", format!("Crates and vans saved, {removed} removed."), undo)
        }
    }
}

pub(super) async fn begin(State(app): State<App>, visit: Visit) -> Answer {
    let mut tx = app.book.write().await?;
    let begun = store::crate_kinds(&mut tx).await?.len() + store::vans(&mut tx).await?.len();
    if begun > 0 {
        return onward_saying(&app, "/crates", "There are crates or vans already: nothing was added.");
    }
    store::keep_crates(&mut tx, &usual_crates(), visit.now).await?;
    store::keep_vans(&mut tx, &[usual_van()], visit.now).await?;
    tx.commit().await?;
    onward_saying(&app, "/crates", "Begun. Measure yours and change them.")
}

pub(super) async fn restore(State(app): State<App>, Path(moment): Path<String>) -> Answer {
    let removed_at: Moment = moment.parse().map_err(|_| Trouble::NotFound("removal"))?;
    let mut tx = app.book.write().await?;
    if store::restore(&mut tx, removed_at).await? == 0 {
        return Err(Trouble::NotFound("removal"));
    }
    tx.commit().await?;
    onward_saying(&app, "/crates", "Brought back.")
}
