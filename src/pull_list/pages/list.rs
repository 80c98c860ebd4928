//! One event's pull list, on the screen and in print, and its extras.

use askama::Template;
use axum::extract::State;

use super::super::forms::ExtraForm;
use super::super::loans::bookings::days;
use super::super::loans::pages::shared_shortfalls_of;
use super::super::loans::{self, Period};
use super::super::pull::{PullGroup, PullLine, PullList, list};
use super::super::{PullExtra, store};
use crate::events::{self, Event};
use crate::ground::ids::{EventId, PullExtraId};
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks::pages::Hand;
use crate::ticks::sheet::{Sheet, SheetLine, tally};
use crate::ticks::{self, Ticks};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "pull_list/list.html")]
struct ListPage {
    shell: Shell,
    id: EventId,
    event: Event,
    list: PullList,
    ticks: Sheet,
    extras: Vec<PullExtra>,
    /// What others hold on the same days.
    shared: Vec<String>,
    /// From when to when it keeps what is lent.
    period: Period,
    places: Vec<String>,
    kit: usize,
    form: ExtraForm,
    errors: FieldErrors,
}

impl ListPage {
    async fn new(visit: &mut Visit, hand: &Hand, id: EventId, form: ExtraForm) -> Result<ListPage, Trouble> {
        let inputs = store::load(&mut visit.connection, id).await?.ok_or(Trouble::NotFound("event"))?;
        let list =
            list(&inputs, &visit.studio.formats).map_err(|error| Trouble::Conflict(error.to_string()))?;
        let formats = visit.studio.formats;
        let shared = shared_shortfalls_of(&mut visit.connection, &inputs.event, &formats).await?;
        let period = loans::store::period(&mut visit.connection, id).await?;
        let ticks = hand.sheet(visit, (sheet_key(id), path(id)), lines(&list)).await?;
        let mut places: Vec<String> = Vec::new();
        for piece in inputs.pieces {
            if !places.contains(&piece.place) {
                places.push(piece.place);
            }
        }
        Ok(ListPage {
            shell: visit.shell(Section::PullLists, format!("Pull list, {}", inputs.event.name)),
            id,
            event: inputs.event,
            list,
            ticks,
            extras: inputs.extras,
            shared,
            period,
            places,
            kit: inputs.kit.len(),
            form,
            errors: FieldErrors::default(),
        })
    }

    fn back_key(&self, line: &PullLine) -> String {
        back_key(line)
    }

    /// What a line's tick says aloud.
    fn spoken(&self, word: &str, line: &PullLine, group: &PullGroup) -> String {
        format!("{word}: {}, {}", line.name, group.heading)
    }

    fn extra_id(&self, extra: &PullExtra) -> i64 {
        extra.id.map_or(0, |id| id.0)
    }

    /// `Fri 15 May 2026 to Sun 17 May 2026`: when what is lent is off the shelf; none where nothing is.
    fn lent_days(&self) -> Option<String> {
        let mut lines = self.list.groups.iter().flat_map(|group| &group.lines);
        let lent = lines.any(|line| line.comes_back && line.key.starts_with('m'));
        let (from, to) = (self.period.leaves(self.event.day), self.period.returns(self.event.day));
        lent.then(|| days(from, to, &self.shell.formats))
    }

    /// The day, and from when the studio may set up.
    fn when(&self) -> String {
        let day = self.shell.weekday(self.list.day);
        match self.list.set_up_time {
            Some(time) => format!("{day}, set up from {time}"),
            None => day,
        }
    }
}

/// The key of an event's pull list for its ticks.
pub(super) fn sheet_key(id: EventId) -> String {
    format!("pull-{id}")
}

/// How far an event's pull list is ticked; nothing before the first tick.
pub async fn pulled(visit: &mut Visit, id: EventId) -> Result<Option<String>, Trouble> {
    let ticks = ticks::store::ticks(&mut visit.connection, &sheet_key(id)).await?;
    if ticks.version == 0 { Ok(None) } else { tally_of(visit, id, &ticks).await }
}

pub(super) async fn tally_of(
    visit: &mut Visit,
    id: EventId,
    ticks: &Ticks,
) -> Result<Option<String>, Trouble> {
    let Some(inputs) = store::load(&mut visit.connection, id).await? else { return Ok(None) };
    // Where recipes make no sense the list's own page says so.
    let list = list(&inputs, &visit.studio.formats).ok();
    Ok(list.map(|list| tally(&lines(&list), ticks)))
}

/// What is ticked: out, and back again where it comes back.
fn lines(list: &PullList) -> Vec<SheetLine> {
    let lines = || list.groups.iter().flat_map(|group| &group.lines);
    let out = lines().map(|line| SheetLine::counted(&*line.key, line.count, "out"));
    let back = lines().filter(|line| line.comes_back);
    out.chain(back.map(|line| SheetLine::counted(back_key(line), line.count, "back"))).collect()
}

fn back_key(line: &PullLine) -> String {
    format!("{}-back", line.key)
}

pub(super) async fn show(mut visit: Visit, hand: Hand, Path(id): Path<EventId>) -> Answer {
    let form = ExtraForm { quantity: "1".into(), ..ExtraForm::default() };
    page(&ListPage::new(&mut visit, &hand, id, form).await?)
}

pub(super) async fn add_extra(
    State(app): State<App>,
    mut visit: Visit,
    hand: Hand,
    Path(id): Path<EventId>,
    Form(form): Form<ExtraForm>,
) -> Answer {
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => {
            return refused(&ListPage { errors, ..ListPage::new(&mut visit, &hand, id, form).await? });
        }
    };
    let mut tx = app.book.write().await?;
    events::store::event(&mut tx, id).await?.ok_or(Trouble::NotFound("event"))?;
    store::add_extra(&mut tx, id, &new).await?;
    tx.commit().await?;
    onward_saying(&app, path(id), format!("{} is on the list.", new.name))
}

pub(super) async fn remove_extra(
    State(app): State<App>,
    visit: Visit,
    Path((id, extra)): Path<(EventId, PullExtraId)>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let name = store::set_extra_removed(&mut tx, id, extra, Some(visit.now)).await?;
    let name = name.ok_or(Trouble::NotFound("extra"))?;
    tx.commit().await?;
    let undo = format!("{}/extras/{extra}/restoration", path(id));
    onward_undo(&app, path(id), format!("{name} is off the list."), undo)
}

pub(super) async fn restore_extra(
    State(app): State<App>,
    Path((id, extra)): Path<(EventId, PullExtraId)>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let name = store::set_extra_removed(&mut tx, id, extra, None).await?;
    let name = name.ok_or(Trouble::NotFound("extra"))?;
    tx.commit().await?;
    onward_saying(&app, path(id), format!("{name} is on the list again."))
}

fn path(id: EventId) -> String {
    format!("/events/{id}/pull-list")
}
