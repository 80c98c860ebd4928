//! Pins: work that the designer wants on a day, set and taken out.

use axum::extract::State;
use serde::Deserialize;

use super::super::forms::{NewPin, PinForm};
use super::super::pins::{Pin, stretch, tried};
use super::super::tasks::Task;
use super::super::{BenchPlan, store};
use super::week::{PlanPage, PlanQuery, RefusedPin, of_week, week_path};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::BenchPinId;
use crate::prep::plan::{PrepInputs, said};
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble, refused};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

/// A pin that was taken out, in the address that sets it again.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct AgainQuery {
    task: String,
    day: String,
    count: String,
}

pub(super) async fn pin(
    State(app): State<App>,
    mut visit: Visit,
    Query(query): Query<PlanQuery>,
    Form(form): Form<PinForm>,
) -> Answer {
    let monday = query.monday(&mut visit).await?;
    set(&app, &mut visit, monday, form).await
}

/// Sets a pin that was taken out.
pub(super) async fn pin_again(
    State(app): State<App>,
    mut visit: Visit,
    Query(query): Query<PlanQuery>,
    Query(again): Query<AgainQuery>,
) -> Answer {
    let monday = query.monday(&mut visit).await?;
    let AgainQuery { task, day, count } = again;
    set(&app, &mut visit, monday, PinForm { task, day, count, ..PinForm::default() }).await
}

async fn set(app: &App, visit: &mut Visit, monday: Day, form: PinForm) -> Answer {
    let inputs = of_week(visit, monday).await?;
    let formats = visit.studio.formats;
    let planned =
        store::planned(&inputs, formats).await.map_err(|error| Trouble::Conflict(error.to_string()))?;
    let task = planned.work.tasks.iter().find(|task| task.key == form.task);
    let task = task.ok_or(Trouble::NotFound("work of this week's bench plan"))?;
    let event = task.events.first().and_then(|at| inputs.weekend.events.get(*at));
    let event = event.ok_or(Trouble::NotFound("event"))?.event.id;
    let held = form.parse(&formats).and_then(|new| held((&inputs, &planned), (task, new), formats));
    let NewPin { day, count } = match held {
        Ok(held) => held,
        Err(errors) => {
            let pin = RefusedPin::new(&planned, form, &errors);
            return refused(&PlanPage::new(visit, monday, &inputs, planned).await?.refusing(pin));
        }
    };
    let what = task.what.clone();
    let mut tx = app.book.write().await?;
    store::pin(&mut tx, event, (&form.task, day, count), visit.now).await?;
    tx.commit().await?;
    let fewer = if form.count.trim() == count.to_string() { "" } else { ": no more of them are free" };
    onward_saying(
        app,
        week_path(monday),
        format!("{count} × {what} stand on {}{fewer}.", formats.weekday(day)),
    )
}

/// What the plan would hold of a pin, or at which field why not.
fn held(
    (inputs, planned): (&PrepInputs, &BenchPlan),
    (task, new): (&Task, NewPin),
    formats: Formats,
) -> Result<NewPin, FieldErrors> {
    let NewPin { day, count } = new;
    let why = if stretch(task, day).is_none() {
        format!("{}, and it must be done by {}", task.earliest_why, said(task.at_most))
    } else {
        let pin = Pin { id: BenchPinId(0), task: task.key.clone(), day, count };
        match tried(&planned.work.tasks, &inputs.bench.pins, &pin, &formats) {
            Ok(count) => return Ok(NewPin { day, count }),
            Err(why) => why,
        }
    };
    let message = format!("{} cannot be done on {}: {why}.", task.what, formats.weekday(day));
    Err(FieldErrors::one("day", message))
}

pub(super) async fn unpin(
    State(app): State<App>,
    mut visit: Visit,
    Query(query): Query<PlanQuery>,
    Path(id): Path<BenchPinId>,
) -> Answer {
    let monday = query.monday(&mut visit).await?;
    let mut tx = app.book.write().await?;
    let pin = store::unpin(&mut tx, id).await?.ok_or(Trouble::NotFound("pin"))?;
    tx.commit().await?;
    let Pin { task, day, count, .. } = pin;
    let words = format!("{count} pieces are no longer pinned to {}.", visit.studio.weekday(day));
    let undo = format!("/prep/plan/pins/again?week={monday}&task={task}&day={day}&count={count}");
    onward_undo(&app, week_path(monday), words, undo)
}
