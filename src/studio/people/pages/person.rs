//! The owner's pages of people: the list, one person with a role and a new passphrase.

use askama::Template;
use axum::extract::State;

use super::super::forms::{PassphraseForm, PersonForm, read_passphrase};
use super::super::{NewPerson, Person, Role, hashing, passphrase, session, store};
use super::account::ShownQuery;
use crate::ground::choice::Choice;
use crate::ground::ids::PersonId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, onward, page, refused, stale};
use crate::web::door::Way;
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

const LIST: &str = "/settings/people";

#[derive(Template)]
#[template(path = "studio/people/list.html")]
struct ListPage {
    shell: Shell,
    people: Vec<Person>,
    way: Way,
}

impl ListPage {
    fn is_you(&self, person: &Person) -> bool {
        self.shell.caller.signed.as_ref().is_some_and(|signed| signed.person == person.id)
    }
}

#[derive(Template)]
#[template(path = "studio/people/person.html")]
struct PersonPage {
    shell: Shell,
    person: Option<Person>,
    sessions: usize,
    form: PersonForm,
    shown: bool,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl PersonPage {
    fn new(visit: &Visit, form: PersonForm, errors: FieldErrors) -> PersonPage {
        PersonPage {
            shell: visit.shell(Section::Settings, "Let someone in"),
            person: None,
            sessions: 0,
            form,
            shown: false,
            errors,
            differences: Vec::new(),
        }
    }

    async fn of(visit: &mut Visit, person: Person, errors: FieldErrors) -> Result<PersonPage, Trouble> {
        let moments = (visit.now, session::idle_since(visit.now));
        let sessions = store::sessions(&mut visit.connection, person.id, moments).await?.len();
        let shell = visit.shell(Section::Settings, person.name.clone());
        let new = PersonPage::new(visit, PersonForm::of(&person), errors);
        Ok(PersonPage { shell, person: Some(person), sessions, ..new })
    }

    fn roles(&self) -> Vec<(&'static str, &'static str)> {
        Role::options()
    }

    fn role_words(&self) -> Vec<(&'static str, &'static str)> {
        Role::ALL.iter().map(|role| (role.label(), role.may())).collect()
    }
}

pub(super) async fn list(mut visit: Visit) -> Answer {
    let people = store::people(&mut visit.connection).await?;
    page(&ListPage {
        shell: visit.shell(Section::Settings, "People"),
        people,
        way: visit.app.door.way.clone(),
    })
}

pub(super) async fn blank(visit: Visit, Query(query): Query<ShownQuery>) -> Answer {
    let new = PersonPage::new(&visit, PersonForm::blank(), FieldErrors::default());
    page(&PersonPage { shown: !query.shown.is_empty(), ..new })
}

/// Lets someone in, with a first passphrase that they may change.
pub(super) async fn add(State(app): State<App>, visit: Visit, Form(form): Form<PersonForm>) -> Answer {
    let (new, passphrase) = match form.parse_new(&visit.studio.formats, &visit.studio.name) {
        Ok(read) => read,
        Err(errors) => return refused(&PersonPage::new(&visit, form, errors)),
    };
    let hash = hashing::hash(passphrase).await?;
    let mut tx = app.book.write().await?;
    if store::is_taken(&mut tx, &new.name, None).await? {
        return refused(&PersonPage::new(&visit, form, taken(&new.name)));
    }
    let id = store::add(&mut tx, &new).await?;
    store::keep_hash(&mut tx, id, &hash).await?;
    tx.commit().await?;
    onward_saying(&app, LIST, format!("{} may come in: {}.", new.name, new.role.may()))
}

fn taken(name: &str) -> FieldErrors {
    FieldErrors::one("name", format!("Somebody named {name} is let in already. Write another name."))
}

async fn found(visit: &mut Visit, id: PersonId) -> Result<Person, Trouble> {
    store::person(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("person"))
}

pub(super) async fn show(
    mut visit: Visit,
    Path(id): Path<PersonId>,
    Query(query): Query<ShownQuery>,
) -> Answer {
    let person = found(&mut visit, id).await?;
    let seen = PersonPage::of(&mut visit, person, FieldErrors::default()).await?;
    page(&PersonPage { shown: !query.shown.is_empty(), ..seen })
}

/// Changes name and role. Another role ends their sessions: what they may is looked at anew.
pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<PersonId>,
    Form(form): Form<PersonForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = store::person(&mut tx, id).await?.ok_or(Trouble::NotFound("person"))?;
    let read = form.parse(&visit.studio.formats);
    let errors = match &read {
        Ok(new) => against(&mut tx, &current, new).await?,
        Err(errors) => errors.clone(),
    };
    if current.version.to_string() != form.version {
        let theirs = PersonForm::of(&current);
        let differences = form.differences(&theirs);
        let seen = PersonPage::of(&mut visit, current, FieldErrors::default()).await?;
        return stale(&PersonPage {
            differences,
            form: PersonForm { version: theirs.version, ..form },
            ..seen
        });
    }
    let Some(new) = read.ok().filter(|_| errors.is_empty()) else {
        let seen = PersonPage::of(&mut visit, current, errors).await?;
        return refused(&PersonPage { form, ..seen });
    };
    store::change(&mut tx, id, &new).await?;
    if new.role != current.role {
        store::end_all(&mut tx, id, None).await?;
    }
    tx.commit().await?;
    onward_saying(&app, LIST, format!("{} saved: {}.", new.name, new.role.may()))
}

async fn against(
    connection: &mut sqlx::SqliteConnection,
    current: &Person,
    new: &NewPerson,
) -> Result<FieldErrors, sqlx::Error> {
    if store::is_taken(connection, &new.name, Some(current.id)).await? {
        return Ok(taken(&new.name));
    }
    if current.role == Role::Owner && new.role != Role::Owner && is_the_last(connection, current).await? {
        let message =
            format!("{} is the last owner with a passphrase. Make somebody else one first.", current.name);
        return Ok(FieldErrors::one("role", message));
    }
    Ok(FieldErrors::default())
}

async fn is_the_last(connection: &mut sqlx::SqliteConnection, person: &Person) -> Result<bool, sqlx::Error> {
    let counts = person.role == Role::Owner && person.has_passphrase;
    Ok(counts && store::owners_but(connection, Some(person.id)).await? == 0)
}

/// Gives somebody a new passphrase, who forgot theirs; their sessions end.
pub(super) async fn set_passphrase(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<PersonId>,
    Form(form): Form<PassphraseForm>,
) -> Answer {
    let person = found(&mut visit, id).await?;
    if visit.caller.signed.as_ref().is_some_and(|signed| signed.person == id) {
        return onward("/my-account");
    }
    let names = [person.name.as_str(), &visit.studio.name];
    let new = match read_passphrase("passphrase", &form.passphrase, &names) {
        Ok(new) => new,
        Err(errors) => return refused(&PersonPage::of(&mut visit, person, errors).await?),
    };
    let hash = hashing::hash(passphrase::kept(&new)).await?;
    let mut tx = app.book.write().await?;
    store::keep_hash(&mut tx, id, &hash).await?;
    store::end_all(&mut tx, id, None).await?;
    tx.commit().await?;
    onward_saying(&app, LIST, format!("{} has a new passphrase and is logged out everywhere.", person.name))
}

pub(super) async fn end_sessions(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<PersonId>,
) -> Answer {
    let person = found(&mut visit, id).await?;
    let mut tx = app.book.write().await?;
    store::end_all(&mut tx, id, None).await?;
    tx.commit().await?;
    onward_saying(&app, format!("{LIST}/{id}"), format!("{} is logged out everywhere.", person.name))
}

pub(super) async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<PersonId>) -> Answer {
    let mut tx = app.book.write().await?;
    let person = store::person(&mut tx, id).await?.ok_or(Trouble::NotFound("person"))?;
    if is_the_last(&mut tx, &person).await? {
        let sentence = "{} is the last owner with a passphrase and stays. Make somebody else an owner first.";
        return Err(Trouble::Conflict(sentence.replace("{}", &person.name)));
    }
    store::set_removed(&mut tx, id, Some(visit.now)).await?;
    store::end_all(&mut tx, id, None).await?;
    tx.commit().await?;
    onward_undo(&app, LIST, format!("{} is shut out.", person.name), format!("{LIST}/{id}/restoration"))
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<PersonId>) -> Answer {
    let mut tx = app.book.write().await?;
    let name = store::removed_name(&mut tx, id).await?.ok_or(Trouble::NotFound("person"))?;
    if store::is_taken(&mut tx, &name, None).await? {
        let sentence = format!("Somebody else named {name} was let in since. Give them another name first.");
        return Err(Trouble::Conflict(sentence));
    }
    store::set_removed(&mut tx, id, None).await?;
    tx.commit().await?;
    onward_saying(&app, LIST, format!("{name} may come in again."))
}
