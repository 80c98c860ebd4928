//! Pins: work that the designer wants on a day, set and taken out.

use axum::extract::State;

use super::super::forms::{NewPin, PinForm};
use super::super::pins::stretch;
use super::super::{plan, store};
use super::week::{PlanQuery, of_week, week_path};
use crate::ground::ids::BenchPinId;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::onward_saying;
use crate::web::forms::{Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

pub(super) async fn pin(
    State(app): State<App>,
    mut visit: Visit,
    Query(query): Query<PlanQuery>,
    Form(form): Form<PinForm>,
) -> Answer {
    let monday = query.monday(&mut visit).await?;
    let NewPin { day, count } = form.parse(&visit.studio.formats).map_err(|errors| {
        let first = errors.list().first().map_or_else(String::new, |(_, message)| message.clone());
        Trouble::Conflict(format!("Nothing was pinned. {first}"))
    })?;
    let inputs = of_week(&mut visit, monday).await?;
    let formats = visit.studio.formats;
    let planned = plan(&inputs, &formats).map_err(|error| Trouble::Conflict(error.to_string()))?;
    let task = planned.work.tasks.iter().find(|task| task.key == form.task);
    let task = task.ok_or(Trouble::NotFound("work of this week's bench plan"))?;
    if stretch(task, day).is_none() {
        return Err(Trouble::Conflict(format!(
            "{} cannot be done on {}: {}, and it must be done by {}.",
            task.what,
            formats.weekday(day),
            task.earliest_why,
            crate::prep::plan::said(task.at_most)
        )));
    }
    let event = task.events.first().and_then(|at| inputs.weekend.events.get(*at));
    let event = event.ok_or(Trouble::NotFound("event"))?.event.id;
    let count = count.min(task.count);
    let mut tx = app.book.write().await?;
    store::pin(&mut tx, event, (&task.key, day, count), visit.now).await?;
    tx.commit().await?;
    let words = format!("{count} × {} stand on {}.", task.what, formats.weekday(day));
    onward_saying(&app, week_path(monday), words)
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
    let words = format!("{} pieces are no longer pinned to {}.", pin.count, visit.studio.weekday(pin.day));
    onward_saying(&app, week_path(monday), words)
}
