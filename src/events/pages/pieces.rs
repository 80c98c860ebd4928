//! The grid of an event's pieces.

use askama::Template;
use axum::extract::State;

use super::event_or_trouble;
use crate::events::counts::Made;
use crate::events::forms::{PieceRow, PieceRows};
use crate::events::{CountRule, Event, fingerprint, store};
use crate::ground::choice::Choice;
use crate::ground::ids::EventId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

/// The grid's id; its inputs are `pieces-{row}-{cell}`.
const TABLE: &str = "pieces";
/// Rows to type in at the end, so that the grid grows without a script.
const EMPTY_ROWS: usize = 3;

#[derive(Template)]
#[template(path = "events/pieces.html")]
struct PiecesPage {
    shell: Shell,
    event: Event,
    rows: PieceRows,
    errors: FieldErrors,
    differences: Vec<Difference>,
    /// Whether there is any recipe to name.
    recipes: bool,
}

/// The figures of the grid for what is typed so far.
#[derive(Template)]
#[template(path = "events/pieces_preview.html")]
struct PreviewPart {
    shell: Shell,
    event: Event,
    rows: PieceRows,
    errors: FieldErrors,
}

/// A row of the grid as the template needs it.
struct GridRow<'a> {
    at: String,
    typed: PieceRow<'a>,
    made: Option<Made>,
    errors: &'a FieldErrors,
}

impl GridRow<'_> {
    fn error(&self, cell: &str) -> Option<&str> {
        self.errors.of(&format!("{TABLE}-{}-{cell}", self.at))
    }

    fn has_rule(&self, code: &str) -> bool {
        self.typed.rule_or_number().code() == code
    }
}

fn grid_rows<'a>(
    rows: &'a PieceRows,
    event: &Event,
    shell: &Shell,
    errors: &'a FieldErrors,
) -> Vec<GridRow<'a>> {
    let typed = rows.rows();
    let filled = typed.iter().rposition(|row| !row.is_empty()).map_or(0, |last| last + 1);
    let party = event.party();
    let row = |at: usize| {
        let typed = typed.get(at).copied().unwrap_or_default();
        GridRow { at: at.to_string(), typed, made: typed.made(&party, &shell.formats), errors }
    };
    (0..typed.len().max(filled + EMPTY_ROWS)).map(row).collect()
}

/// `38 pieces in all; 2 counts still open`.
fn sum_words(rows: &[GridRow<'_>]) -> String {
    let made = rows.iter().filter_map(|row| row.made.as_ref());
    let (known, open): (Vec<_>, Vec<_>) = made.partition(|made| made.count.is_some());
    let sum = known.iter().filter_map(|made| made.count).fold(0_i64, i64::saturating_add);
    let pieces = if sum == 1 { "1 piece in all".to_owned() } else { format!("{sum} pieces in all") };
    match open.len() {
        0 => pieces,
        1 => pieces + "; 1 count still open",
        open => format!("{pieces}; {open} counts still open"),
    }
}

impl PiecesPage {
    async fn new(visit: &mut Visit, event: Event, rows: PieceRows) -> Result<PiecesPage, sqlx::Error> {
        let recipes = !store::recipe_names(&mut visit.connection, event.id).await?.0.is_empty();
        Ok(PiecesPage {
            shell: visit.shell(Section::Events, format!("Pieces, {}", event.name)),
            event,
            rows,
            errors: FieldErrors::default(),
            differences: Vec::new(),
            recipes,
        })
    }

    fn grid_rows(&self) -> Vec<GridRow<'_>> {
        grid_rows(&self.rows, &self.event, &self.shell, &self.errors)
    }

    /// The row that the script copies.
    fn new_row(&self) -> GridRow<'_> {
        GridRow { at: "new".into(), typed: PieceRow::default(), made: None, errors: &self.errors }
    }

    fn rules(&self) -> Vec<(&'static str, &'static str)> {
        CountRule::options()
    }

    fn sum(&self) -> String {
        sum_words(&self.grid_rows())
    }

    /// What counts go by, in a sentence.
    fn party_words(&self) -> String {
        let party = self.event.party();
        let guests = match party.guests {
            Some(1) => "1 guest".to_owned(),
            Some(guests) => format!("{guests} guests"),
            None => "guests not yet said".to_owned(),
        };
        let tables = party.table_words().unwrap_or_else(|| "tables not yet said".to_owned());
        format!("{guests}; {tables}")
    }
}

impl PreviewPart {
    fn grid_rows(&self) -> Vec<GridRow<'_>> {
        grid_rows(&self.rows, &self.event, &self.shell, &self.errors)
    }

    fn sum(&self) -> String {
        sum_words(&self.grid_rows())
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let pieces = store::pieces(&mut visit.connection, &[id]).await?;
    let rows = PieceRows::of(&pieces, &visit.studio.formats);
    page(&PiecesPage::new(&mut visit, event, rows).await?)
}

/// The counts for what is typed so far; nothing is kept.
pub(super) async fn preview(
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(rows): Form<PieceRows>,
) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let shell = visit.shell(Section::Events, "Pieces");
    page(&PreviewPart { shell, event, rows, errors: FieldErrors::default() })
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(rows): Form<PieceRows>,
) -> Answer {
    let formats = visit.studio.formats;
    let mut tx = app.book.write().await?;
    let event = event_or_trouble(&mut tx, id).await?;
    let known = store::recipe_names(&mut tx, id).await?;
    let pieces = match rows.parse(TABLE, &known, &formats) {
        Ok(pieces) => pieces,
        Err(errors) => {
            drop(tx);
            let page = PiecesPage::new(&mut visit, event, rows).await?;
            return refused(&PiecesPage { errors, ..page });
        }
    };
    let kept = store::pieces(&mut tx, &[id]).await?;
    if fingerprint(&kept) != rows.seen {
        drop(tx);
        let theirs = PieceRows::of(&kept, &formats);
        let differences = rows.differences(&theirs);
        if differences.is_empty() {
            // Sent twice, or typed by both: the book holds it already.
            return onward(format!("/events/{id}"));
        }
        let rows = PieceRows { seen: theirs.seen, ..rows };
        let page = PiecesPage::new(&mut visit, event, rows).await?;
        return stale(&PiecesPage { differences, ..page });
    }
    store::keep_pieces(&mut tx, id, &pieces).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}"), format!("Pieces of {} saved.", event.name))
}
