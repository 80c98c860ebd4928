//! What is left of deliveries: into stock, or written off; decided line by line, all of a form or none.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;

use crate::ground::ids::{MaterialId, PlacedLineId};
use crate::price_list::{self, Material};
use crate::stem_order::stock::forms::left_overs::LeftForm;
use crate::stem_order::stock::store::{self, Decision, LeftLine};
use crate::stem_order::store::LoadError;
use crate::stem_order::windows::keeps_until;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{self, Answer, Trouble, page, refused};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::{FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "stem_order/left_overs.html")]
struct LeftPage {
    shell: Shell,
    /// By the line's identity.
    lines: BTreeMap<String, Shown>,
    form: LeftForm,
    decided: Vec<Shown>,
    errors: FieldErrors,
    /// Lines that someone else decided meanwhile.
    taken: Vec<String>,
}

/// A line as the page shows it.
struct Shown {
    line: LeftLine,
    keeps: String,
    past: bool,
}

impl Shown {
    fn working(&self) -> String {
        let LeftLine { left, good, used, delivered, .. } = &self.line;
        let others = if *good == delivered.good { "" } else { " of all deliveries" };
        format!(
            "{left} of this delivery: {good} good{others}, used or still wanted {} = {}; what came first is used first",
            used.total(),
            used.working()
        )
    }
}

impl LeftPage {
    async fn new(
        visit: &mut Visit,
        form: Option<LeftForm>,
        errors: FieldErrors,
    ) -> Result<LeftPage, Trouble> {
        let lines = shown(visit).await?;
        let shell = visit.shell(Section::StemOrder, "Left-overs");
        let (open, decided): (Vec<Shown>, Vec<Shown>) =
            lines.into_iter().partition(|shown| shown.line.delivered.taken_in.is_none());
        let form = form.unwrap_or_else(|| LeftForm::of(open.iter().map(|shown| (&shown.line, shown.past))));
        let lines = open.into_iter().map(|shown| (shown.line.delivered.line.to_string(), shown)).collect();
        Ok(LeftPage { shell, lines, form, decided, errors, taken: Vec::new() })
    }

    fn error(&self, at: usize, cell: &str) -> Option<&str> {
        self.errors.of(&format!("left-{at}-{cell}"))
    }

    fn shown(&self, line: &str) -> Option<&Shown> {
        self.lines.get(line)
    }

    /// What was decided, in words.
    fn decision(&self, shown: &Shown) -> String {
        let line = &shown.line.delivered;
        match (line.taken_in.unwrap_or(0), line.written_off.unwrap_or(0)) {
            (0, off) => format!("{off} written off"),
            (taken, 0) => format!("{taken} into stock"),
            (taken, off) => format!("{taken} into stock, {off} written off"),
        }
    }
}

async fn shown(visit: &mut Visit) -> Result<Vec<Shown>, Trouble> {
    let (studio, today) = (std::sync::Arc::clone(&visit.studio), visit.today);
    let lines = store::left_lines(&mut visit.connection, &studio, today).await;
    let lines = lines.map_err(|error| match error {
        LoadError::Weekend(cause) => Trouble::Conflict(cause.to_string()),
        LoadError::Book(error) => Trouble::from(error),
    })?;
    let mut ids: Vec<MaterialId> = lines.iter().map(|line| line.delivered.material).collect();
    ids.sort_unstable();
    ids.dedup();
    let materials = price_list::store::materials(&mut visit.connection, &ids).await?;
    let show = |line: LeftLine| {
        let until = materials.get(&line.delivered.material);
        let until = until.and_then(|material: &Material| keeps_until(material, line.delivered.day));
        Shown {
            keeps: until.map(|day| studio.weekday(day)).unwrap_or_default(),
            past: until.is_some_and(|day| day < today),
            line,
        }
    };
    Ok(lines.into_iter().map(show).collect())
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    page(&LeftPage::new(&mut visit, None, FieldErrors::default()).await?)
}

pub(super) async fn save(State(app): State<App>, mut visit: Visit, Form(form): Form<LeftForm>) -> Answer {
    let mut tx = app.book.write().await?;
    let lines = store::delivered(&mut tx, visit.today).await?;
    let decisions =
        match form.parse(&lines, &visit.studio.formats).ok_or(Trouble::NotFound("delivered line"))? {
            Ok(decisions) => decisions,
            Err(errors) => return refused(&LeftPage::new(&mut visit, Some(form), errors).await?),
        };
    let line = |decision: &Decision| lines.iter().find(|line| line.line == decision.line);
    let before = |decision: &Decision| line(decision).is_some_and(|line| line.taken_in.is_some());
    let same = |decision: &Decision| {
        let line = line(decision);
        line.is_some_and(|line| {
            (line.taken_in, line.written_off) == (Some(decision.taken_in), Some(decision.written_off))
        })
    };
    if !decisions.is_empty() && decisions.iter().all(same) {
        return onward_saying(&app, "/left-overs", "That was decided already.");
    }
    let taken: Vec<String> =
        decisions.iter().filter(|one| before(one)).filter_map(line).map(|line| line.name.clone()).collect();
    if !taken.is_empty() {
        let shown = LeftPage::new(&mut visit, None, FieldErrors::default()).await?;
        return answer::stale(&LeftPage { taken, ..shown });
    }
    for decision in &decisions {
        let Some(line) = line(decision) else { continue };
        store::decide(&mut tx, line, *decision, (visit.today, visit.now)).await?;
    }
    tx.commit().await?;
    match decisions.as_slice() {
        [] => onward_saying(&app, "/left-overs", "Nothing was decided."),
        [one] => {
            onward_undo(&app, "/left-overs", "1 left-over decided.", format!("/left-overs/{}/undo", one.line))
        }
        more => onward_saying(&app, "/left-overs", format!("{} left-overs decided.", more.len())),
    }
}

pub(super) async fn undo(State(app): State<App>, visit: Visit, Path(line): Path<PlacedLineId>) -> Answer {
    let mut tx = app.book.write().await?;
    if !store::undo(&mut tx, line, visit.now).await? {
        return Err(Trouble::Conflict(
            "This cannot be taken back: it was, or its lot was counted, written off or reserved since."
                .into(),
        ));
    }
    tx.commit().await?;
    onward_saying(&app, "/left-overs", "Taken back: it can be decided anew.")
}
