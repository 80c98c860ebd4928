//! One lot: its figures, what is reserved of it, writing off, its history.

use askama::Template;
use axum::extract::State;

use super::list::LotLine;
use super::materials_of;
use crate::ground::choice::Choice;
use crate::ground::ids::{EventId, MaterialId, StockLotId};
use crate::stem_order::stock::forms::{LotForm, WriteOffForm};
use crate::stem_order::stock::holding::Holding;
use crate::stem_order::stock::{Change, ChangeKind, Reservation, store};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "stem_order/stock_lot.html")]
struct LotPage {
    shell: Shell,
    line: LotLine,
    material: MaterialId,
    version: i64,
    reservations: Vec<Reservation>,
    changes: Vec<Change>,
    form: LotForm,
    off: WriteOffForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl LotPage {
    async fn new(visit: &mut Visit, id: StockLotId) -> Result<LotPage, Trouble> {
        let holding = holding(visit, id).await?;
        let held = [holding];
        let materials = materials_of(visit, &held).await?;
        let [holding] = held;
        let material = materials.get(&holding.lot.material).ok_or(Trouble::NotFound("lot"))?;
        let changes = store::changes(&mut visit.connection, id).await?;
        let shell = visit.shell(Section::StemOrder, material.name.clone());
        Ok(LotPage {
            line: LotLine::of(&shell, &holding, material),
            material: material.id,
            version: holding.lot.version,
            form: LotForm::of(&holding.lot),
            off: WriteOffForm { version: holding.lot.version.to_string(), ..WriteOffForm::default() },
            reservations: holding.reservations,
            shell,
            changes,
            errors: FieldErrors::default(),
            differences: Vec::new(),
        })
    }

    fn past_event(&self, reservation: &Reservation) -> bool {
        reservation.event_day < self.shell.today
    }

    fn kind(&self, change: &Change) -> &'static str {
        change.kind.label()
    }

    /// Whether a write-off can still be taken back: nothing was counted since.
    fn can_undo(&self, change: &Change) -> bool {
        let counted =
            self.changes.iter().any(|later| later.id > change.id && later.kind == ChangeKind::Counted);
        change.kind == ChangeKind::WrittenOff && change.undone_at.is_none() && !counted
    }

    fn event_path(&self, event: EventId) -> String {
        format!("/events/{event}")
    }
}

async fn holding(visit: &mut Visit, id: StockLotId) -> Result<Holding, Trouble> {
    store::holding(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("lot"))
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<StockLotId>) -> Answer {
    page(&LotPage::new(&mut visit, id).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<StockLotId>,
    Form(form): Form<LotForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = store::holding(&mut tx, id).await?.ok_or(Trouble::NotFound("lot"))?.lot;
    let (arrived_on, note) = match form.parse(current.counted_on, &visit.studio.formats) {
        Ok(read) => read,
        Err(errors) => {
            return refused(&LotPage { form, errors, ..LotPage::new(&mut visit, id).await? });
        }
    };
    if current.version.to_string() != form.version {
        let theirs = LotForm::of(&current);
        let differences = form.differences(&theirs);
        let form = LotForm { version: theirs.version, ..form };
        return stale(&LotPage { form, differences, ..LotPage::new(&mut visit, id).await? });
    }
    store::change(&mut tx, id, arrived_on, &note).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/stock/{id}"), "Saved.")
}

pub(super) async fn write_off(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<StockLotId>,
    Form(off): Form<WriteOffForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let current = store::holding(&mut tx, id).await?.ok_or(Trouble::NotFound("lot"))?;
    let there = current.there(visit.today);
    let (count, why) = match off.parse(there, &visit.studio.formats) {
        Ok(read) => read,
        Err(errors) => return refused(&LotPage { off, errors, ..LotPage::new(&mut visit, id).await? }),
    };
    if current.lot.version.to_string() != off.version {
        let shown = LotPage::new(&mut visit, id).await?;
        let theirs = format!("{} there now", shown.line.there);
        let yours = format!("{count} written off");
        let differences = vec![Difference { label: "Written off", yours, theirs }];
        let off = WriteOffForm { version: shown.version.to_string(), ..off };
        return stale(&LotPage { off, differences, ..shown });
    }
    let change = store::write_off(&mut tx, (id, count), &why, (visit.today, visit.now)).await?;
    tx.commit().await?;
    let undo = format!("/stock/write-offs/{change}/undo");
    onward_undo(&app, format!("/stock/{id}"), format!("{count} written off."), undo)
}

pub(super) async fn undo_write_off(State(app): State<App>, visit: Visit, Path(change): Path<i64>) -> Answer {
    let mut tx = app.book.write().await?;
    let lot = store::undo_write_off(&mut tx, change, visit.now).await?.ok_or_else(|| {
        Trouble::Conflict("This cannot be taken back any more: it was, or the lot was counted since.".into())
    })?;
    tx.commit().await?;
    onward_saying(&app, format!("/stock/{lot}"), "Taken back: it is in stock again.")
}

pub(super) async fn release(State(app): State<App>, visit: Visit, Path(id): Path<i64>) -> Answer {
    let mut tx = app.book.write().await?;
    let released = store::set_released(&mut tx, id, Some(visit.now)).await?;
    let lot = released.ok_or(Trouble::NotFound("reservation"))?;
    tx.commit().await?;
    let undo = format!("/stock/reservations/{id}/restoration");
    onward_undo(&app, format!("/stock/{lot}"), "Released: others may take it.", undo)
}

pub(super) async fn restore(State(app): State<App>, Path(id): Path<i64>) -> Answer {
    let mut tx = app.book.write().await?;
    let lot = store::set_released(&mut tx, id, None).await?.ok_or(Trouble::NotFound("reservation"))?;
    let holding = store::holding(&mut tx, lot).await?.ok_or(Trouble::NotFound("lot"))?;
    if holding.missing() > 0 {
        return Err(Trouble::Conflict("Others have reserved it meanwhile: there is not enough left.".into()));
    }
    tx.commit().await?;
    onward_saying(&app, format!("/stock/{lot}"), "Kept for the event again.")
}
