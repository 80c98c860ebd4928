//! How warm flowers stand on their way: the setting.

use askama::Template;
use axum::extract::State;

use crate::prep::freshness::forms::TemperaturesForm;
use crate::prep::freshness::store;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

const HERE: &str = "/prep/temperatures";

#[derive(Template)]
#[template(path = "prep/temperatures.html")]
struct TemperaturesPage {
    shell: Shell,
    form: TemperaturesForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl TemperaturesPage {
    fn new(visit: &Visit, form: TemperaturesForm, errors: FieldErrors) -> TemperaturesPage {
        let shell = visit.shell(Section::Prep, "Temperatures on the way");
        TemperaturesPage { shell, form, errors, differences: Vec::new() }
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let kept = store::temperatures(&mut visit.connection).await?;
    let form = TemperaturesForm::of(&kept, &visit.studio.formats);
    page(&TemperaturesPage::new(&visit, form, FieldErrors::default()))
}

pub(super) async fn save(State(app): State<App>, visit: Visit, Form(form): Form<TemperaturesForm>) -> Answer {
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&TemperaturesPage::new(&visit, form, errors)),
    };
    let mut tx = app.book.write().await?;
    let current = store::temperatures(&mut tx).await?;
    if current.version.to_string() != form.version {
        let theirs = TemperaturesForm::of(&current, &visit.studio.formats);
        let differences = form.differences(&theirs);
        if differences.is_empty() {
            return onward(HERE);
        }
        let form = TemperaturesForm { version: theirs.version, ..form };
        return stale(&TemperaturesPage {
            differences,
            ..TemperaturesPage::new(&visit, form, FieldErrors::default())
        });
    }
    store::keep_temperatures(&mut tx, &new).await?;
    tx.commit().await?;
    onward_saying(&app, HERE, "The temperatures on the way are kept.")
}
