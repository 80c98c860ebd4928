//! An event's close-out: figures, what is not known, what only the studio knows, and closing it.

use std::borrow::Borrow;

use askama::Template;
use sqlx::SqliteConnection;

use super::ink::{Ink, summary};
use crate::close_out::figures::{Figures, Line, Sum};
use crate::close_out::forms::{CloseOutForm, CostRow, HoursRow, clock};
use crate::close_out::store::{self, Gathered};
use crate::close_out::{Closing, CostFor, Kind, Task, Typed};
use crate::events::pages::event_or_trouble;
use crate::events::{self, Ending, Event};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::fingerprint::fingerprint;
use crate::ground::ids::{EventId, RecipeId};
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::{Difference, FieldErrors};
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "close_out/sheet.html")]
pub(super) struct SheetPage {
    pub shell: Shell,
    pub event: Event,
    pub figures: Figures,
    /// Since when the figures are frozen.
    pub closed: Option<Day>,
    pub recipes: Vec<(RecipeId, String)>,
    /// The other events of its orders, by name.
    pub with: Vec<(EventId, String)>,
    pub form: CloseOutForm,
    pub errors: FieldErrors,
    pub differences: Vec<Difference>,
    pub once_key: String,
    /// Why it was not closed just now.
    pub refusal: String,
    pub ink: Ink,
}

/// What the page and its forms need of the book.
pub(super) struct Opened {
    pub event: Event,
    pub figures: Figures,
    pub typed: Typed,
    pub recipes: Vec<(RecipeId, String)>,
    /// Its latest closing, if that still holds.
    pub closed: Option<Day>,
    pub once_key: String,
    with: Vec<(EventId, String)>,
}

pub(super) async fn open(
    connection: &mut SqliteConnection,
    studio: &Studio,
    id: EventId,
) -> Result<Opened, Trouble> {
    let event = event_or_trouble(connection, id).await?;
    let Gathered { figures, typed, recipes } = store::gather(connection, studio, &event).await?;
    let closing = store::closing(connection, id).await?;
    let last = closing.as_ref().map_or(0, |closing| closing.id);
    let once_key = once_key(id, last, &figures);
    let others = store::ordered_with(connection, id).await?;
    let others = events::store::events(connection, &others).await?;
    let with = others.into_iter().map(|event| (event.id, event.name)).collect();
    let frozen = closing.and_then(|closing| in_force(&event, closing));
    let (closed, figures) = match frozen {
        Some((on, frozen)) => (Some(on), frozen),
        None => (None, figures),
    };
    Ok(Opened { event, figures, typed, recipes, closed, once_key, with })
}

/// A closing counts while the event is closed; opened again on its own page, it does not.
pub(super) fn in_force(event: &Event, closing: Closing) -> Option<(Day, Figures)> {
    let is_closed = matches!(event.ended, Some((_, Ending::Closed)));
    closing.figures.filter(|_| is_closed).map(|figures| (closing.on, figures))
}

/// Once a closing of an event with exactly these figures.
pub(super) fn once_key(event: EventId, last: i64, figures: &Figures) -> String {
    let figures = fingerprint(&serde_json::to_string(figures).unwrap_or_default());
    format!("close-{event}-{last}-{figures}")
}

impl SheetPage {
    pub(super) fn new(visit: &Visit, opened: Opened) -> SheetPage {
        let formats = visit.studio.formats;
        SheetPage {
            shell: visit.shell(Section::Events, format!("{}, close-out", opened.event.name)),
            form: CloseOutForm::of(&opened.typed, &formats),
            event: opened.event,
            figures: opened.figures,
            closed: opened.closed,
            recipes: opened.recipes,
            with: opened.with,
            errors: FieldErrors::default(),
            differences: Vec::new(),
            once_key: opened.once_key,
            refusal: String::new(),
            ink: Ink(formats),
        }
    }

    /// Since when it is closed, if it is.
    fn closed_words(&self) -> Option<String> {
        self.closed.map(|on| format!("Closed {}", self.shell.formats.weekday(on)))
    }

    fn summary(&self) -> Vec<(&'static str, String, String)> {
        summary(&self.figures, self.ink)
    }

    fn kinds(&self) -> Vec<(Kind, Vec<&Line>, Sum)> {
        self.figures.by_kind()
    }

    /// Task, planned, actual, and the difference in hours.
    fn hours(&self) -> Vec<(&'static str, String, String, String)> {
        let row = |hours: &crate::close_out::figures::TaskHours| {
            let actual = hours.actual.map_or_else(|| "as planned".into(), clock);
            let off = hours.actual.map_or(0, |actual| actual - hours.planned);
            let off = match off {
                0 => "–".into(),
                off if off > 0 => format!("+{}", clock(off)),
                off => clock(off),
            };
            (hours.task.label(), clock(hours.planned), actual, off)
        };
        let worth =
            |hours: &&crate::close_out::figures::TaskHours| hours.planned > 0 || hours.actual.is_some();
        self.figures.hours.iter().filter(worth).map(row).collect()
    }

    fn tasks() -> Vec<(&'static str, &'static str)> {
        Task::options()
    }

    fn cost_kinds() -> Vec<(&'static str, &'static str)> {
        CostFor::options()
    }

    fn is_recipe(row: &HoursRow, id: impl Borrow<RecipeId>) -> bool {
        row.recipe == id.borrow().to_string()
    }

    fn hours_message(&self, row: &HoursRow, cell: &str) -> Option<&str> {
        self.errors.of(&format!("hours-{}-{cell}", row.at))
    }

    fn cost_message(&self, row: &CostRow, cell: &str) -> Option<&str> {
        self.errors.of(&format!("costs-{}-{cell}", row.at))
    }

    /// Where its weekend is closed out together.
    fn weekend(&self) -> String {
        let others = self.with.iter().map(|(id, _)| format!("&event={id}"));
        format!("/close-out?event={}{}", self.event.id, others.collect::<String>())
    }

    fn with_names(&self) -> String {
        self.with.iter().map(|(_, name)| name.as_str()).collect::<Vec<_>>().join(", ")
    }

    /// Whether its day is not yet there.
    fn is_to_come(&self) -> bool {
        self.closed.is_none() && self.event.day > self.shell.today
    }

    /// Why it cannot be closed, if so.
    fn hindrance(&self) -> Option<&'static str> {
        hindrance(&self.event, self.shell.today)
    }
}

/// Why an event cannot be closed, if so.
pub(super) fn hindrance(event: &Event, today: Day) -> Option<&'static str> {
    match event.ended {
        Some((_, Ending::Lost | Ending::Cancelled)) => {
            Some("It was lost or called off. Open it again first.")
        }
        _ if event.day > today => Some("It is still to come. It is closed when all is done."),
        _ => None,
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let studio = visit.studio.clone();
    let opened = open(&mut visit.connection, &studio, id).await?;
    page(&SheetPage::new(&visit, opened))
}
