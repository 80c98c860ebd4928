//! The kit: what goes along to every event.

use askama::Template;
use axum::extract::State;

use super::super::forms::{KitForm, KitRow};
use super::super::usual_kit::usual_kit;
use super::super::{KitKind, store};
use crate::ground::choice::Choice;
use crate::ground::dates::Moment;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "pull_list/kit.html")]
struct KitPage {
    shell: Shell,
    form: KitForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl KitPage {
    fn new(visit: &Visit, form: KitForm, errors: FieldErrors) -> KitPage {
        KitPage { shell: visit.shell(Section::PullLists, "Kit"), form, errors, differences: Vec::new() }
    }

    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        KitKind::options()
    }

    fn empty(&self) -> bool {
        self.form.name.iter().all(|name| name.trim().is_empty())
    }

    /// A row to copy for a new line.
    fn blank(&self) -> KitRow {
        KitRow::default()
    }

    fn usual(&self) -> String {
        let names: Vec<String> = usual_kit().into_iter().map(|item| item.name.to_lowercase()).collect();
        names.join("; ")
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let version = store::kit_version(&mut visit.connection).await?;
    let items = store::kit(&mut visit.connection).await?;
    page(&KitPage::new(&visit, KitForm::of(version, &items, &visit.studio.formats), FieldErrors::default()))
}

pub(super) async fn save(State(app): State<App>, visit: Visit, Form(form): Form<KitForm>) -> Answer {
    let items = match form.parse(&visit.studio.formats) {
        Ok(items) => items,
        Err(errors) => return refused(&KitPage::new(&visit, form, errors)),
    };
    let mut tx = app.book.write().await?;
    let version = store::kit_version(&mut tx).await?;
    if version.to_string() != form.version {
        let theirs = KitForm::of(version, &store::kit(&mut tx).await?, &visit.studio.formats);
        let differences = form.differences(&theirs);
        let form = KitForm { version: theirs.version, ..form };
        return stale(&KitPage { differences, ..KitPage::new(&visit, form, FieldErrors::default()) });
    }
    let removed = store::keep_kit(&mut tx, &items, visit.now).await?;
    tx.commit().await?;
    if removed == 0 {
        return onward_saying(&app, "/kit", "Kit saved.");
    }
    let what = if removed == 1 { "1 item".to_owned() } else { format!("{removed} items") };
    let undo = format!("/kit/removals/{}/restoration", visit.now);
    onward_undo(&app, "/kit", format!("Kit saved, {what} removed."), undo)
}

pub(super) async fn begin(State(app): State<App>) -> Answer {
    let mut tx = app.book.write().await?;
    let added = store::add_to_kit(&mut tx, &usual_kit()).await?;
    tx.commit().await?;
    onward_saying(&app, "/kit", format!("{added} items added. Change them to what you take along."))
}

pub(super) async fn restore(State(app): State<App>, Path(moment): Path<String>) -> Answer {
    let removed_at: Moment = moment.parse().map_err(|_| Trouble::NotFound("removal"))?;
    let mut tx = app.book.write().await?;
    if store::restore_kit(&mut tx, removed_at).await? == 0 {
        return Err(Trouble::NotFound("removal"));
    }
    tx.commit().await?;
    onward_saying(&app, "/kit", "Brought back.")
}
