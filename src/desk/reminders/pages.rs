//! The page of reminders: the list, what was put off, and when the desk reminds.

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::{get, post};

use super::forms::{MarkForm, RulesForm};
use super::{Mark, Pressing, Reminder, Reminders, gathered, store};
use crate::desk::outlook::{Desk, local_now, outlooks};
use crate::desk::pages::week::{FARTHEST, LOOK_BACK};
use crate::events;
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/reminders", get(show))
        .route("/reminders/marks", post(put_off))
        .route("/reminders/marks/{key}/return", post(take_back))
        .route("/reminders/days", post(keep_days))
}

/// A reminder as a row.
pub(in crate::desk) struct Row {
    pub mark: (&'static str, &'static str),
    pub reminder: Reminder,
    /// Who saw to it and when, if somebody did.
    pub seen_to: Option<String>,
    /// The day that is offered to show it again.
    pub again_on: String,
}

/// Reminders as rows, for this page and those of the desk.
pub(in crate::desk) fn rows(reminders: &Reminders, shell: &Shell) -> Vec<Row> {
    let row = |(reminder, mark): &(Reminder, Option<Mark>)| Row {
        mark: reminder.pressing.mark(),
        seen_to: mark.as_ref().map(|mark| seen_to(mark, shell)),
        again_on: offered(reminder.pressing, shell.today).to_string(),
        reminder: reminder.clone(),
    };
    reminders.open.iter().map(row).collect()
}

fn seen_to(mark: &Mark, shell: &Shell) -> String {
    let on = shell.weekday(mark.on);
    if mark.by.is_empty() { format!("Seen to on {on}") } else { format!("Seen to by {} on {on}", mark.by) }
}

/// What cannot wait comes back tomorrow, the rest after a few days.
fn offered(pressing: Pressing, today: Day) -> Day {
    today.plus(if pressing == Pressing::Now { 1 } else { 3 })
}

#[derive(Template)]
#[template(path = "desk/reminders.html")]
struct RemindersPage {
    shell: Shell,
    rows: Vec<Row>,
    put_off: Vec<(Reminder, Mark)>,
    form: RulesForm,
    /// What was typed to put one off, where that was refused.
    marking: MarkForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl RemindersPage {
    async fn new(visit: &mut Visit) -> Result<RemindersPage, Trouble> {
        let today = visit.today;
        let (from, to) = (today.plus(-LOOK_BACK), today.plus(FARTHEST));
        let open = events::store::open_between(&mut visit.connection, from, to).await?;
        let desk = Desk { studio: &visit.studio, now: local_now(visit), moment: visit.now };
        let near = outlooks(&mut visit.connection, &desk, open).await?;
        let reminders = gathered::read(&mut visit.connection, &desk, &near).await?;
        let form = RulesForm::of(&store::rules(&mut visit.connection).await?);
        let shell = visit.shell(Section::Week, "Reminders");
        Ok(RemindersPage {
            rows: rows(&reminders, &shell),
            put_off: reminders.put_off,
            shell,
            form,
            marking: MarkForm::default(),
            errors: FieldErrors::default(),
            differences: Vec::new(),
        })
    }

    /// The row that was refused keeps what was typed.
    fn typed(&self, row: &Row) -> (String, String) {
        if self.marking.key == row.reminder.key {
            return (self.marking.by.clone(), self.marking.again_on.clone());
        }
        (self.shell.caller.name.clone(), row.again_on.clone())
    }

    fn is_refused(&self, row: &Row) -> bool {
        self.marking.key == row.reminder.key && !self.errors.is_empty()
    }

    fn put_off_words(&self, mark: &Mark) -> String {
        format!("{}; shown again on {}", seen_to(mark, &self.shell), self.shell.weekday(mark.again_on))
    }

    /// Whether the days were refused, or saved by someone else.
    fn days_are_open(&self) -> bool {
        !self.differences.is_empty() || (!self.errors.is_empty() && self.marking.key.is_empty())
    }
}

async fn show(mut visit: Visit) -> Answer {
    page(&RemindersPage::new(&mut visit).await?)
}

async fn put_off(State(app): State<App>, mut visit: Visit, Form(form): Form<MarkForm>) -> Answer {
    let mark = match form.parse(visit.today, &visit.studio.formats) {
        Ok(mark) => mark,
        Err(errors) => {
            let marking = form;
            return refused(&RemindersPage { marking, errors, ..RemindersPage::new(&mut visit).await? });
        }
    };
    let mut tx = app.book.write().await?;
    store::mark(&mut tx, &mark, visit.now).await?;
    tx.commit().await?;
    let back = form.event.parse::<EventId>().map_or("/reminders".to_owned(), |id| format!("/events/{id}"));
    let until = visit.studio.formats.weekday(mark.again_on);
    let undo = format!("/reminders/marks/{}/return", mark.key);
    onward_undo(&app, back, format!("Put off until {until}."), undo)
}

/// Shows one again today.
async fn take_back(State(app): State<App>, visit: Visit, Path(key): Path<String>) -> Answer {
    let mut tx = app.book.write().await?;
    let marks = store::marks(&mut tx, &[&key]).await?;
    let Some(mark) = marks.get(&key) else { return Err(Trouble::NotFound("reminder that was put off")) };
    let back = Mark { again_on: visit.today, ..mark.clone() };
    if *mark != back {
        store::mark(&mut tx, &back, visit.now).await?;
        tx.commit().await?;
    }
    onward_saying(&app, "/reminders", "It is shown again.")
}

async fn keep_days(State(app): State<App>, mut visit: Visit, Form(form): Form<RulesForm>) -> Answer {
    let rules = match form.parse(&visit.studio.formats) {
        Ok(rules) => rules,
        Err(errors) => {
            return refused(&RemindersPage { form, errors, ..RemindersPage::new(&mut visit).await? });
        }
    };
    let mut tx = app.book.write().await?;
    let known = store::rules(&mut tx).await?;
    if known.version.to_string() != form.version {
        drop(tx);
        let differences = form.differences(&RulesForm::of(&known));
        if differences.is_empty() {
            return onward_saying(&app, "/reminders", "The days are saved already, just so.");
        }
        let form = RulesForm { version: known.version.to_string(), ..form };
        return stale(&RemindersPage { form, differences, ..RemindersPage::new(&mut visit).await? });
    }
    store::keep_rules(&mut tx, &rules).await?;
    tx.commit().await?;
    onward_saying(&app, "/reminders", "The days are saved.")
}
