//! What is lent in some days: by material, who holds it when, and what is short.

use std::sync::Arc;

use askama::Template;
use serde::Deserialize;

use super::super::bookings::{Bookings, EventLoans, MaterialLoans, Span, days};
use super::super::holds::Stretch;
use super::of_span;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page, refused};
use crate::web::forms::{Checker, FieldErrors, Query};

/// So many days are shown where nobody says.
const USUAL_DAYS: i64 = 28;
/// More days at once make no picture.
const MOST_DAYS: i64 = 92;
/// What should have been back so long ago is still asked for.
const DAYS_BACK: i64 = 28;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct LoansQuery {
    from: String,
    to: String,
}

impl LoansQuery {
    fn parse(&self, usual: Span, formats: Formats) -> Result<Span, FieldErrors> {
        let mut c = Checker::new(&formats);
        let from = c.day_or_none("from", &self.from).unwrap_or(usual.from);
        let to = c.day_or_none("to", &self.to).unwrap_or_else(|| from.plus(USUAL_DAYS - 1));
        if to < from {
            c.refuse("to", "The last day lies before the first.");
        } else if to.days_after(from) >= MOST_DAYS {
            c.refuse("to", format!("At most {MOST_DAYS} days at once."));
        }
        c.done(Span { from, to })
    }
}

#[derive(Template)]
#[template(path = "pull_list/loans/overview.html")]
struct LoansPage {
    shell: Shell,
    query: LoansQuery,
    span: Span,
    bookings: Arc<Bookings>,
    due: Vec<EventLoans>,
    errors: FieldErrors,
}

/// One stretch as a bar: days from the left, days wide, from the top down, and how high; the height is 20.
struct Bar {
    x: i64,
    width: i64,
    y: i64,
    height: i64,
    over: bool,
}

impl LoansPage {
    /// The first and the last day as the form holds them: as typed where they were refused.
    fn typed(&self) -> (String, String) {
        if self.errors.is_empty() {
            return (self.span.from.to_string(), self.span.to.to_string());
        }
        (self.query.from.clone(), self.query.to.clone())
    }

    fn width(&self) -> i64 {
        self.span.to.days_after(self.span.from) + 1
    }

    /// What is short, the worst first: the material, when, for whom, and what would mend it.
    fn shortfalls(&self) -> Vec<(&MaterialLoans, &Stretch, i64)> {
        let of = |loans: &'_ MaterialLoans| loans.material.owned;
        let mut all: Vec<(&MaterialLoans, &Stretch, i64)> = self
            .bookings
            .materials
            .iter()
            .flat_map(|loans| {
                loans.shortfalls().map(move |stretch| (loans, stretch, stretch.short(of(loans))))
            })
            .collect();
        all.sort_by_key(|(_, stretch, short)| (stretch.from, -short));
        all
    }

    fn days(&self, stretch: &Stretch) -> String {
        days(stretch.from, stretch.to, &self.shell.formats)
    }

    /// Who holds how many in a stretch.
    fn holders<'a>(&'a self, stretch: &'a Stretch) -> Vec<(i64, &'a str, i64)> {
        stretch.by.iter().map(|(event, count)| (event.0, self.bookings.name(*event), *count)).collect()
    }

    /// The bars of a material's strip; what is over what is owned has the warning's colour.
    fn bars(&self, loans: &MaterialLoans) -> Vec<Bar> {
        let top = self.top(loans);
        let bar = |stretch: &Stretch| {
            let height = (stretch.booked.saturating_mul(20) / top).clamp(1, 20);
            Bar {
                x: stretch.from.days_after(self.span.from),
                width: stretch.to.days_after(stretch.from) + 1,
                y: 20 - height,
                height,
                over: stretch.short(loans.material.owned) > 0,
            }
        };
        loans.stretches.iter().map(bar).collect()
    }

    /// Where the line of what is owned stands.
    fn owned_line(&self, loans: &MaterialLoans) -> i64 {
        20 - (loans.material.owned.saturating_mul(20) / self.top(loans)).clamp(0, 20)
    }

    fn top(&self, loans: &MaterialLoans) -> i64 {
        let most = loans.stretches.iter().map(|stretch| stretch.booked).max().unwrap_or(0);
        most.max(loans.material.owned).max(1)
    }

    fn due_since(&self, loans: &EventLoans) -> String {
        self.shell.weekday(loans.borrower.period.returns(loans.borrower.event.day))
    }
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<LoansQuery>) -> Answer {
    let formats = visit.studio.formats;
    let usual = Span { from: visit.today, to: visit.today.plus(USUAL_DAYS - 1) };
    let (span, errors) = match query.parse(usual, formats) {
        Ok(span) => (span, FieldErrors::default()),
        Err(errors) => (usual, errors),
    };
    let bookings = of_span(&mut visit.connection, span, &formats).await?;
    let due = due(&mut visit).await?;
    let shell = visit.shell(Section::PullLists, "Loans");
    let shown = LoansPage { shell, query, span, bookings, due, errors };
    if shown.errors.is_empty() { page(&shown) } else { refused(&shown) }
}

/// Events whose loans should be back by today and are not counted.
async fn due(visit: &mut Visit) -> Result<Vec<EventLoans>, crate::web::answer::Trouble> {
    let (today, formats): (Day, Formats) = (visit.today, visit.studio.formats);
    let back = Span { from: today.plus(-DAYS_BACK), to: today };
    let past = of_span(&mut visit.connection, back, &formats).await?;
    Ok(past.loans.iter().filter(|loans| loans.is_due(today)).cloned().collect())
}
