//! One event's strike list, and what came back to the studio.

use askama::Template;
use axum::extract::State;

use super::super::forms::{ReturnForm, ReturnRow};
use super::super::strike::{Fate, StrikeLine, StrikePlace, strike_list, went_out};
use super::super::{VanReturn, store};
use super::once_key;
use crate::events::Event;
use crate::events::pages::event_or_trouble;
use crate::ground::caution::Caution;
use crate::ground::ids::EventId;
use crate::pull_list::loading;
use crate::pull_list::loading::sheet::{LoadInputs, sheet};
use crate::pull_list::loans::Count;
use crate::pull_list::loans::pages::of_event;
use crate::pull_list::pull::list;
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks::pages::Hand;
use crate::ticks::sheet::{Sheet, SheetLine};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "pull_list/run_sheet/strike.html")]
struct StrikePage {
    shell: Shell,
    event: Event,
    places: Vec<StrikePlace>,
    /// How many crates go back into the van.
    crates: usize,
    ticks: Sheet,
    /// How its loans were counted back, and how many things were lent.
    loans: (Option<Count>, usize),
    kept: Option<VanReturn>,
    form: ReturnForm,
    errors: FieldErrors,
}

impl StrikePage {
    async fn new(visit: &mut Visit, hand: &Hand, id: EventId) -> Result<StrikePage, Trouble> {
        let event = event_or_trouble(&mut visit.connection, id).await?;
        let formats = visit.studio.formats;
        let trouble = |error: crate::recipes::explosion::ExplosionError| Trouble::Conflict(error.to_string());
        let LoadInputs { drops, kinds, .. } = loading::store::load(&mut visit.connection, &[id]).await?;
        let mut places = Vec::new();
        for inputs in &drops {
            let pull = list(inputs, &formats).map_err(trouble)?;
            places.extend(strike_list(inputs, &pull).map_err(trouble)?);
        }
        let loaded = sheet(LoadInputs { drops, kinds, vans: Vec::new() }, &formats).map_err(trouble)?;
        let drop = loaded.drops.first();
        let crates = drop.map_or(0, |drop| drop.packed.crates.len() + drop.goods.crates.len());
        let went = drop.map_or_else(Vec::new, |drop| went_out(drop, &loaded.kinds));
        let bookings = of_event(&mut visit.connection, &event, &formats).await?;
        let loans = bookings.of(id).map_or((None, 0), |own| (own.borrower.count.clone(), own.taken.len()));
        let kept = store::returns(&mut visit.connection, &[id]).await?.remove(&id);
        let key = format!("run-{}", event.day);
        let ticks = hand.sheet(visit, (key, path(id)), lines(id, &places)).await?;
        let form =
            ReturnForm { once_key: once_key(visit), ..ReturnForm::of(kept.as_ref(), &went, visit.today) };
        let shell = visit.shell(Section::PullLists, format!("Strike and return, {}", event.name));
        let errors = FieldErrors::default();
        Ok(StrikePage { shell, event, places, crates, ticks, loans, kept, form, errors })
    }

    fn fate(&self, line: &StrikeLine) -> &'static str {
        match line.fate {
            Fate::Back => "Comes back",
            Fate::TakenApart => "Is taken apart",
            Fate::Stays => "Stays with the client",
        }
    }

    fn key(&self, line: &StrikeLine) -> String {
        key(self.event.id, line)
    }

    fn spoken(&self, line: &StrikeLine, place: &StrikePlace) -> String {
        format!("{}: {}, {}", self.fate(line), line.name, place.heading)
    }

    fn message(&self, row: &ReturnRow, cell: &str) -> Option<&str> {
        self.errors.of(&row.field(cell))
    }

    /// How far the loans are, in a shape and words.
    fn loans_standing(&self) -> (&'static str, String) {
        match &self.loans {
            (_, 0) => ("off", "Nothing is lent to it".into()),
            (None, _) => ("", "Not counted yet".into()),
            (Some(count), _) => {
                let out: i64 = count.lines.iter().map(crate::pull_list::loans::CountedLine::still_out).sum();
                let on = self.shell.weekday(count.on);
                match out {
                    0 => ("done", format!("Counted back {on}")),
                    out => ("part", format!("Counted {on}, {out} still out")),
                }
            }
        }
    }

    /// The same for crates, cans and tools.
    fn return_standing(&self) -> (&'static str, String) {
        let Some(kept) = &self.kept else { return ("", "Not counted yet".into()) };
        let by = if kept.by.is_empty() { String::new() } else { format!(" by {}", kept.by) };
        let on = self.shell.weekday(kept.on);
        match kept.still_out() {
            out if out.is_empty() => ("done", format!("All back, counted {on}{by}")),
            out => ("part", format!("Counted {on}{by}, still out: {out}")),
        }
    }

    fn caution(&self) -> String {
        format!(
            "Flames out and cold before anything is touched. Broken glass: gloves and a sharps box, never bare hands in a \
            crate. {} {} The venue and local codes decide.",
            Caution::Lifting.sentence(),
            Caution::Ladder.sentence()
        )
    }
}

fn key(event: EventId, line: &StrikeLine) -> String {
    format!("e{event}-{}", line.key)
}

fn lines(event: EventId, places: &[StrikePlace]) -> Vec<SheetLine> {
    let lines = places.iter().flat_map(|place| &place.lines);
    lines.map(|line| SheetLine::counted(key(event, line), line.count, "struck")).collect()
}

pub(super) async fn show(mut visit: Visit, hand: Hand, Path(id): Path<EventId>) -> Answer {
    page(&StrikePage::new(&mut visit, &hand, id).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    hand: Hand,
    Path(id): Path<EventId>,
    Form(mut form): Form<ReturnForm>,
) -> Answer {
    if form.once_key.is_empty() {
        form.once_key = once_key(&visit);
    }
    let new = match form.parse(&visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => {
            let shown = StrikePage::new(&mut visit, &hand, id).await?;
            return refused(&StrikePage { form, errors, ..shown });
        }
    };
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    if new.on < event.day {
        drop(tx);
        let shown = StrikePage::new(&mut visit, &hand, id).await?;
        let when = visit.studio.weekday(event.day);
        let errors = FieldErrors::one("counted_on", format!("The event is on {when}: count it after that."));
        return refused(&StrikePage { form, errors, ..shown });
    }
    store::add_return(&mut tx, id, &new, visit.now).await?;
    tx.commit().await?;
    let out = new.lines.iter().map(|line| line.went - line.back).sum::<i64>();
    let words = if out == 0 { "All is back.".to_owned() } else { format!("Kept: {out} still out.") };
    onward_saying(&app, path(id), words)
}

fn path(id: EventId) -> String {
    format!("/events/{id}/strike")
}
