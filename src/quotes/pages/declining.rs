//! Recording that a version or a change note was declined. Nothing is taken back by it: what was agreed before stays so.

use askama::Template;
use axum::extract::State;

use super::answered::{To, named, refuse_answered};
use super::ink::Ink;
use super::versions::{Found, find, in_currency_of};
use crate::events::Event;
use crate::ground::ids::QuoteVersionId;
use crate::quotes::forms::DeclineForm;
use crate::quotes::{Version, agreed, store};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "quotes/decline.html")]
struct DeclinePage {
    shell: Shell,
    event: Event,
    version: Version,
    /// The number of what stays agreed.
    stays: Option<i64>,
    ink: Ink,
    form: DeclineForm,
    errors: FieldErrors,
}

impl DeclinePage {
    fn new(visit: &Visit, found: Found, form: DeclineForm, errors: FieldErrors) -> Result<Self, Trouble> {
        let version = found.version()?.clone();
        let what = named(&version);
        let title = format!("{what} declined, {}", found.event.name);
        Ok(DeclinePage {
            shell: visit.shell(Section::Events, title),
            ink: in_currency_of(&version.frozen.document, visit.studio.formats),
            stays: agreed(&found.versions).map(|(agreed, _)| agreed.number),
            event: found.event,
            version,
            form,
            errors,
        })
    }

    fn heading(&self) -> String {
        format!("Was {} declined?", named(&self.version).to_lowercase())
    }
}

pub(super) async fn ask(mut visit: Visit, Path(id): Path<QuoteVersionId>) -> Answer {
    let found = find(&mut visit.connection, id).await?;
    refuse_answered(found.version()?, To::Decline, visit.studio.formats)?;
    let form = DeclineForm {
        declined_by: found.event.client_name.clone(),
        declined_on: visit.today.to_string(),
        reason: String::new(),
    };
    page(&DeclinePage::new(&visit, found, form, FieldErrors::default())?)
}

pub(super) async fn record(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<QuoteVersionId>,
    Form(form): Form<DeclineForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let found = find(&mut tx, id).await?;
    let version = found.version()?;
    refuse_answered(version, To::Decline, visit.studio.formats)?;
    let decline = match form.parse(&visit.studio.formats, version, visit.today) {
        Ok(decline) => decline,
        Err(errors) => return refused(&DeclinePage::new(&visit, found, form, errors)?),
    };
    let (what, event) = (named(version), found.event.id);
    if !store::decline(&mut tx, id, &decline, visit.now).await? {
        return Err(Trouble::Conflict(format!("{what} was declined already.")));
    }
    tx.commit().await?;
    onward_saying(&app, format!("/events/{event}/quote"), format!("{what} is declined by {}.", decline.by))
}
