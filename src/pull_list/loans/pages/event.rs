//! One event's loans: from when to when, what is short, and what came back.

use std::collections::HashMap;

use askama::Template;
use axum::extract::State;

use super::super::bookings::{Bookings, EventLoans};
use super::super::charges::{Charge, charges, csv, total};
use super::super::forms::{CountForm, CountRow, PeriodForm};
use super::super::{Period, store};
use super::of_event;
use crate::events::Event;
use crate::events::pages::event_or_trouble;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId};
use crate::ground::money::Money;
use crate::price_list::{self, Material};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, download, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "pull_list/loans/event.html")]
struct EventLoansPage {
    shell: Shell,
    event: Event,
    period: Period,
    loans: EventLoans,
    materials: HashMap<MaterialId, Material>,
    prices: HashMap<MaterialId, Money>,
    shortfalls: Vec<String>,
    period_form: PeriodForm,
    form: CountForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl EventLoansPage {
    async fn new(visit: &mut Visit, id: EventId) -> Result<EventLoansPage, Trouble> {
        let event = event_or_trouble(&mut visit.connection, id).await?;
        let formats = visit.studio.formats;
        let period = store::period(&mut visit.connection, id).await?;
        let bookings = of_event(&mut visit.connection, &event, &formats).await?;
        let prices = store::charges(&mut visit.connection).await?;
        let shortfalls = shortfalls(&bookings, &event, formats);
        let loans = match bookings.of(id) {
            Some(loans) => loans.clone(),
            None => EventLoans::nothing(event.clone(), period),
        };
        let ids: Vec<MaterialId> = loans.taken.keys().copied().collect();
        let materials = price_list::store::materials(&mut visit.connection, &ids).await?;
        let order = super::by_name(&materials);
        Ok(EventLoansPage {
            shell: visit.shell(Section::PullLists, format!("Loans, {}", event.name)),
            period_form: PeriodForm::of(&period),
            form: CountForm::of(&loans, &order, visit.today),
            event,
            period,
            loans,
            materials,
            prices,
            shortfalls,
            errors: FieldErrors::default(),
            differences: Vec::new(),
        })
    }

    fn material(&self, row: &CountRow) -> Option<&Material> {
        self.materials.get(&row.material.parse().ok()?)
    }

    fn name(&self, row: &CountRow) -> &str {
        self.material(row).map_or("", |material| material.name.as_str())
    }

    /// Under the name: how many are owned, what a lost one is charged at, what is still out.
    fn about(&self, row: &CountRow) -> String {
        let Some(material) = self.material(row) else { return String::new() };
        let owned = format!("{} owned", material.owned);
        let price = match self.prices.get(&material.id) {
            Some(price) => format!("{} each if lost", self.shell.formats.money(*price)),
            None => "no charge set if lost".into(),
        };
        let line = self.loans.borrower.count.as_ref().and_then(|count| count.line(material.id));
        let out = line.map(super::super::CountedLine::still_out).filter(|out| *out > 0);
        let parts = [Some(owned), Some(price), out.map(|out| format!("{out} still out"))];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    fn message(&self, row: &CountRow, cell: &str) -> Option<&str> {
        self.errors.of(&row.field(cell))
    }

    fn leaves(&self) -> String {
        self.shell.weekday(self.period.leaves(self.event.day))
    }

    fn returns(&self) -> String {
        self.shell.weekday(self.period.returns(self.event.day))
    }

    /// When and by whom it was counted.
    fn counted(&self) -> Option<String> {
        let count = self.loans.borrower.count.as_ref()?;
        let by = if count.by.is_empty() { String::new() } else { format!(" by {}", count.by) };
        Some(format!("Counted back {}{by}", self.shell.weekday(count.on)))
    }

    fn charges(&self) -> Vec<Charge> {
        let count = self.loans.borrower.count.as_ref();
        count.map(|count| charges(count, &self.materials)).unwrap_or_default()
    }

    fn charged(&self) -> String {
        self.shell.formats.money(total(&self.charges()))
    }

    /// What was lost and is charged at nothing, though the studio charges.
    fn without_price(&self) -> String {
        let Some(count) = self.loans.borrower.count.as_ref().filter(|count| count.charged) else {
            return String::new();
        };
        let lines = count.lines.iter().filter(|line| line.lost() > 0 && line.charge_each.is_zero());
        let names = lines.filter_map(|line| Some(self.materials.get(&line.material)?.name.as_str()));
        names.collect::<Vec<_>>().join(", ")
    }

    fn is_empty(&self) -> bool {
        self.loans.taken.is_empty()
    }

    fn path(&self) -> String {
        path(self.event.id)
    }
}

fn shortfalls(bookings: &Bookings, event: &Event, formats: Formats) -> Vec<String> {
    if event.is_open() { bookings.shortfalls_of(event.id, &formats) } else { Vec::new() }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    page(&EventLoansPage::new(&mut visit, id).await?)
}

pub(super) async fn save_period(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<PeriodForm>,
) -> Answer {
    let mut shown = EventLoansPage::new(&mut visit, id).await?;
    let period = match form.parse(&visit.studio.formats) {
        Ok(period) => period,
        Err(errors) => return refused(&EventLoansPage { period_form: form, errors, ..shown }),
    };
    let mut tx = app.book.write().await?;
    let current = store::period(&mut tx, id).await?;
    if current.version.to_string() != form.version {
        let theirs = PeriodForm::of(&current);
        shown.differences = form.differences(&theirs);
        if shown.differences.is_empty() {
            return onward(path(id));
        }
        return stale(&EventLoansPage {
            period_form: PeriodForm { version: theirs.version, ..form },
            ..shown
        });
    }
    store::keep_period(&mut tx, id, &period).await?;
    tx.commit().await?;
    onward_saying(&app, path(id), "The days are kept.")
}

pub(super) async fn save_count(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<CountForm>,
) -> Answer {
    let form = form.filled();
    let mut shown = EventLoansPage::new(&mut visit, id).await?;
    let new = match form.parse(&shown.materials, &visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => return refused(&EventLoansPage { form, errors, ..shown }),
    };
    let leaves = shown.period.leaves(shown.event.day);
    if new.on < leaves {
        let when = visit.studio.weekday(leaves);
        let errors =
            FieldErrors::one("counted_on", format!("It leaves the shelf on {when}: count it after that."));
        return refused(&EventLoansPage { form, errors, ..shown });
    }
    let mut tx = app.book.write().await?;
    let version = store::count(&mut tx, id).await?.map_or(0, |count| count.version);
    if version.to_string() != form.version {
        drop(tx);
        shown = EventLoansPage::new(&mut visit, id).await?;
        shown.differences = form.differences(&shown.form, &shown.materials);
        if shown.differences.is_empty() {
            return onward(path(id));
        }
        let form = CountForm { version: shown.form.version.clone(), ..form };
        return stale(&EventLoansPage { form, ..shown });
    }
    if let Err(material) = store::keep_count(&mut tx, id, &new).await? {
        let errors = more_lost_than_owned(&form, &shown.materials, material);
        return refused(&EventLoansPage { form, errors, ..shown });
    }
    tx.commit().await?;
    onward_saying(&app, path(id), said(&new.lines))
}

fn said(lines: &[super::super::forms::NewCountLine]) -> String {
    let lost: i64 = lines.iter().map(|line| line.broken + line.missing).sum();
    match lost {
        0 => "Counted back: nothing is lost.".into(),
        1 => "Counted back: 1 piece is lost and no longer owned.".into(),
        lost => format!("Counted back: {lost} pieces are lost and no longer owned."),
    }
}

fn more_lost_than_owned(
    form: &CountForm,
    materials: &HashMap<MaterialId, Material>,
    material: MaterialId,
) -> FieldErrors {
    let owned = materials.get(&material).map_or(0, |material| material.owned);
    let row = form.rows().into_iter().find(|row| row.material == material.to_string()).unwrap_or_default();
    FieldErrors::one(
        row.field("broken"),
        format!("Only {owned} are owned: note below what was hired and broke."),
    )
}

pub(super) async fn charges_csv(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let Some(count) = store::count(&mut visit.connection, id).await? else {
        return Err(Trouble::Conflict("What came back from this event is not counted yet.".into()));
    };
    let ids: Vec<MaterialId> = count.lines.iter().map(|line| line.material).collect();
    let materials = price_list::store::materials(&mut visit.connection, &ids).await?;
    let rows = csv(&event, &charges(&count, &materials), &visit.studio.formats)?;
    download(&format!("charges-{}-{}.csv", event.name, event.day), "text/csv; charset=utf-8", rows)
}

fn path(id: EventId) -> String {
    format!("/events/{id}/loans")
}
