//! The page of backups: what lies where, one more by hand, the second place.

use std::path::{Path, PathBuf};

use askama::Template;
use axum::Router;
use axum::extract::State;
use axum::routing::{get, post};

use super::forms::PlaceForm;
use super::{Place, store};
use crate::db::backups::{self, Backup};
use crate::db::{BookError, files};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/settings/backups", get(show).post(save))
        .route("/settings/backups/now", post(one_more))
}

/// One folder of backups as the page shows it.
struct Shelf {
    folder: PathBuf,
    found: Result<Vec<Backup>, BookError>,
}

impl Shelf {
    fn of(folder: PathBuf) -> Shelf {
        Shelf { found: backups::list(&folder), folder }
    }

    /// The second place need be there; the folder beside the book is made with its first backup.
    fn second(folder: PathBuf) -> Shelf {
        let found =
            if folder.is_dir() { backups::list(&folder) } else { Err(BookError::NoFolder(folder.clone())) };
        Shelf { folder, found }
    }

    fn shown(&self) -> &[Backup] {
        self.found.as_deref().unwrap_or_default()
    }

    fn trouble(&self) -> Option<String> {
        self.found.as_ref().err().map(ToString::to_string)
    }
}

#[derive(Template)]
#[template(path = "studio/backups.html")]
struct BackupsPage {
    shell: Shell,
    beside: Shelf,
    second: Option<Shelf>,
    form: PlaceForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl BackupsPage {
    fn new(visit: &Visit, place: &Place, form: PlaceForm, errors: FieldErrors) -> BackupsPage {
        BackupsPage {
            shell: visit.shell(Section::Settings, "Backups"),
            beside: Shelf::of(backups::folder_of(visit.app.book.path())),
            second: (!place.folder.is_empty()).then(|| Shelf::second(PathBuf::from(&place.folder))),
            form,
            errors,
            differences: Vec::new(),
        }
    }

    fn shelves(&self) -> impl Iterator<Item = (&'static str, &Shelf)> {
        std::iter::once(("Beside the book", &self.beside))
            .chain(self.second.as_ref().map(|shelf| ("In the second place", shelf)))
    }

    /// The day of the newest daily one.
    fn newest(&self, place: &Shelf) -> Option<String> {
        place.shown().iter().find_map(|backup| backup.day).map(|day| self.shell.weekday(day))
    }

    /// What it is and of when.
    fn kind(&self, backup: &Backup) -> String {
        match backup.day {
            Some(day) => format!("Daily, {}", self.shell.weekday(day)),
            None if backup.name.starts_with("studio-at-step-") => {
                "Before a new version of Trug changed the book".into()
            }
            None if backup.name.starts_with("studio-before-") => "The book that was there before".into(),
            None => "Made by hand".into(),
        }
    }

    /// `1.4 MB`: enough to see that it is not empty.
    fn size(&self, backup: &Backup) -> String {
        let tenths = backup.bytes.div_ceil(100_000);
        format!("{}.{} MB", tenths / 10, tenths % 10)
    }
}

async fn show(mut visit: Visit) -> Answer {
    let place = store::place(&mut visit.connection).await?;
    page(&BackupsPage::new(&visit, &place, PlaceForm::of(&place), FieldErrors::default()))
}

async fn save(State(app): State<App>, mut visit: Visit, Form(form): Form<PlaceForm>) -> Answer {
    let current = store::place(&mut visit.connection).await?;
    let folder = match form.parse(&backups::folder_of(app.book.path()), &visit.studio.formats) {
        Ok(folder) => folder,
        Err(errors) => return refused(&BackupsPage::new(&visit, &current, form, errors)),
    };
    // Tried before the book is held for writing: a copy takes its time.
    if let Err(error) = carried(&app, &visit, &folder).await {
        let errors = FieldErrors::one("folder", error.to_string());
        return refused(&BackupsPage::new(&visit, &current, form, errors));
    }
    let mut tx = app.book.write().await?;
    let current = store::place(&mut tx).await?;
    if current.version.to_string() != form.version {
        let theirs = PlaceForm::of(&current);
        let differences = form.differences(&theirs);
        let form = PlaceForm { version: theirs.version, ..form };
        let seen = BackupsPage::new(&visit, &current, form, FieldErrors::default());
        return stale(&BackupsPage { differences, ..seen });
    }
    store::keep(&mut tx, &folder).await?;
    tx.commit().await?;
    // What was wrong with the place before is no more.
    app.tell_of_backups(None);
    onward_saying(&app, "/settings/backups", said(&folder))
}

/// Tries the place at once: what cannot take a backup is not kept as one.
async fn carried(app: &App, visit: &Visit, folder: &str) -> Result<(), BookError> {
    if folder.is_empty() {
        return Ok(());
    }
    backups::carry(&app.book, visit.today, Path::new(folder)).await.map(drop)
}

fn said(folder: &str) -> String {
    if folder.is_empty() {
        "Backups lie beside the book only.".into()
    } else {
        format!("Each day's backup is copied to {folder} too.")
    }
}

async fn one_more(State(app): State<App>, visit: Visit) -> Answer {
    let name = format!(
        "studio-backup-{}.trug",
        visit.now.0.to_zoned_datetime(visit.studio.zone.clone()).strftime("%Y-%m-%d-%H%M%S")
    );
    let file = backups::folder_of(app.book.path()).join(&name);
    match files::back_up(&app.book, &file).await {
        Ok(()) => onward_saying(&app, "/settings/backups", format!("{name} is made, and it is whole.")),
        Err(BookError::Occupied(_)) => {
            onward_saying(&app, "/settings/backups", format!("{name} is made already."))
        }
        Err(error) => Err(Trouble::Conflict(error.to_string())),
    }
}
