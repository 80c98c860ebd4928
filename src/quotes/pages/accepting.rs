//! Recording that a version was accepted. It leaves the house, so it is asked about first.

use askama::Template;
use axum::extract::State;

use super::answered::{To, named, refuse_answered};
use super::ink::Ink;
use super::versions::{Found, find, in_currency_of, overtaken};
use crate::events::Event;
use crate::ground::ids::QuoteVersionId;
use crate::quotes::forms::AcceptanceForm;
use crate::quotes::{Version, standing_acceptance, store};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "quotes/acceptance.html")]
struct AcceptancePage {
    shell: Shell,
    event: Event,
    version: Version,
    /// The number of the version that this one would supersede.
    supersedes: Option<i64>,
    /// The number of a later version.
    later: Option<i64>,
    ink: Ink,
    form: AcceptanceForm,
    errors: FieldErrors,
}

impl AcceptancePage {
    fn new(visit: &Visit, found: Found, form: AcceptanceForm, errors: FieldErrors) -> Result<Self, Trouble> {
        let version = found.version()?.clone();
        let number = |place: usize| found.versions.get(place).map(|version| version.number);
        let supersedes = standing_acceptance(&found.versions).and_then(number);
        let later =
            found.versions.last().map(|latest| latest.number).filter(|latest| *latest != version.number);
        let title = format!("Acceptance of quote {}, {}", version.number, found.event.name);
        Ok(AcceptancePage {
            shell: visit.shell(Section::Events, title),
            ink: in_currency_of(&version.frozen.document, visit.studio.formats),
            event: found.event,
            version,
            supersedes,
            later,
            form,
            errors,
        })
    }

    fn heading(&self) -> String {
        format!("Was {} accepted?", named(&self.version).to_lowercase())
    }

    fn is_change(&self) -> bool {
        self.version.frozen.change.is_some()
    }

    /// Whether it held no longer than some day before today.
    fn expired(&self) -> bool {
        self.version.frozen.document.valid_until.is_some_and(|until| until < self.shell.today)
    }
}

pub(super) async fn ask(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    refuse_answered(found.version()?, To::Accept, visit.studio.formats)?;
    refuse_overtaken(&found)?;
    let form = AcceptanceForm {
        accepted_by: found.event.client_name.clone(),
        accepted_on: visit.today.to_string(),
        how: String::new(),
    };
    page(&AcceptancePage::new(&visit, found, form, FieldErrors::default())?)
}

pub(super) async fn record(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<QuoteVersionId>,
    Form(form): Form<AcceptanceForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let found = find(&mut tx, id).await?;
    let version = found.version()?;
    refuse_answered(version, To::Accept, visit.studio.formats)?;
    refuse_overtaken(&found)?;
    let acceptance = match form.parse(&visit.studio.formats, version, visit.today) {
        Ok(acceptance) => acceptance,
        Err(errors) => return refused(&AcceptancePage::new(&visit, found, form, errors)?),
    };
    let (what, event) = (named(version), found.event.id);
    if !store::accept(&mut tx, id, &acceptance, visit.now).await? {
        return Err(Trouble::Conflict(format!("{what} was accepted already.")));
    }
    tx.commit().await?;
    onward_saying(&app, format!("/events/{event}/quote"), format!("{what} is accepted by {}.", acceptance.by))
}

/// A change note says what changes of one version: where another one is agreed since, it would not add up.
fn refuse_overtaken(found: &Found) -> Result<(), Trouble> {
    let version = found.version()?;
    let Some((number, note)) = overtaken(&found.versions, version).zip(version.frozen.change.as_ref()) else {
        return Ok(());
    };
    Err(Trouble::Conflict(format!(
        "{} changes version {}, but version {number} is what is agreed now. Send the change anew from the quote.",
        named(version),
        note.agreed.number
    )))
}
