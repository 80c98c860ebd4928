//! Who works when, and how long dressing a vessel takes.

use askama::Template;
use axum::extract::State;

use super::super::forms::{DayRow, ShiftForm, WEEKDAYS, WeekdayRow};
use super::super::shifts::Otherwise;
use super::super::{DRESS_MINUTES, store};
use crate::ground::choice::Choice;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

#[derive(Template)]
#[template(path = "prep/shifts.html")]
struct ShiftsPage {
    shell: Shell,
    form: ShiftForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl ShiftsPage {
    fn new(visit: &Visit, form: ShiftForm) -> ShiftsPage {
        let shell = visit.shell(Section::Prep, "Shifts");
        ShiftsPage { shell, form, errors: FieldErrors::default(), differences: Vec::new() }
    }

    fn week(&self) -> Vec<(&'static str, WeekdayRow)> {
        WEEKDAYS.into_iter().zip(self.form.weekdays()).collect()
    }

    fn kinds(&self) -> Vec<(&'static str, &'static str)> {
        Otherwise::ALL.iter().map(|kind| (kind.code(), kind.label())).collect()
    }

    fn blank(&self) -> DayRow {
        DayRow::default()
    }

    fn dress_hint(&self) -> String {
        format!("Wash, check, dress. Empty: {DRESS_MINUTES} minutes are taken (assumed, no published source)")
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let shifts = store::shifts(&mut visit.connection).await?;
    let dress = store::dress_minutes(&mut visit.connection).await?;
    page(&ShiftsPage::new(&visit, ShiftForm::of(&shifts, dress)))
}

pub(super) async fn save(State(app): State<App>, visit: Visit, Form(form): Form<ShiftForm>) -> Answer {
    let (shifts, dress) = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&ShiftsPage { errors, ..ShiftsPage::new(&visit, form) }),
    };
    let mut tx = app.book.write().await?;
    let kept = store::shifts(&mut tx).await?;
    let theirs = ShiftForm::of(&kept, store::dress_minutes(&mut tx).await?);
    if theirs.seen != form.seen {
        let differences = form.differences(&theirs);
        if differences.is_empty() {
            return onward("/shifts");
        }
        let form = ShiftForm { seen: theirs.seen, ..form };
        return stale(&ShiftsPage { differences, ..ShiftsPage::new(&visit, form) });
    }
    store::keep_shifts(&mut tx, &shifts, dress).await?;
    tx.commit().await?;
    onward_saying(&app, "/shifts", "The shifts are kept.")
}
