//! Which days' events are asked for: from and to, or the week of one event, or the coming weekend.

use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::events;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::EventId;
use crate::studio::visit::Visit;
use crate::web::answer::Trouble;
use crate::web::forms::{Checker, FieldErrors};

/// More days than this are no weekend.
const MOST_DAYS: i64 = 31;

/// What stands in the address.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(in crate::prep) struct PrepQuery {
    pub(in crate::prep) from: String,
    pub(in crate::prep) to: String,
    pub(in crate::prep) event: String,
    /// A station's code, or `each` for a sheet a station.
    pub(in crate::prep) station: String,
}

/// The days whose events are prepared, both ends included.
#[derive(Debug, Clone, Copy)]
pub(in crate::prep) struct Span {
    pub(in crate::prep) from: Day,
    pub(in crate::prep) to: Day,
}

impl PrepQuery {
    /// The span asked for, or every message with the span that stands in.
    pub(in crate::prep) async fn span(&self, visit: &mut Visit) -> Result<(Span, FieldErrors), Trouble> {
        let usual = self.usual(visit).await?;
        match self.parse(visit.studio.formats, usual) {
            Ok(span) => Ok((span, FieldErrors::default())),
            Err(errors) => Ok((usual, errors)),
        }
    }

    fn parse(&self, formats: Formats, usual: Span) -> Result<Span, FieldErrors> {
        let mut c = Checker::new(&formats);
        let from = c.day_or_none("from", &self.from).unwrap_or(usual.from);
        let to = c.day_or_none("to", &self.to).unwrap_or_else(|| usual.to.max(from));
        if to < from {
            c.refuse("to", "The last day lies before the first.");
        } else if to.days_after(from) >= MOST_DAYS {
            c.refuse("to", format!("At most {MOST_DAYS} days at once."));
        }
        c.done(Span { from, to })
    }

    /// The week of the event asked for; else from today to Sunday, or the week of the next event if there is none.
    async fn usual(&self, visit: &mut Visit) -> Result<Span, Trouble> {
        if !self.event.trim().is_empty() {
            let id: EventId = self.event.parse().map_err(|_| Trouble::NotFound("event"))?;
            let event = events::store::event(&mut visit.connection, id).await?;
            let day = event.ok_or(Trouble::NotFound("event"))?.day;
            return Ok(week(day));
        }
        let this = Span { from: visit.today, to: visit.today.monday().plus(6) };
        if !ids(&mut visit.connection, this).await?.is_empty() {
            return Ok(this);
        }
        let later = events::store::open_between(&mut visit.connection, this.to, this.to.plus(400)).await?;
        Ok(later.first().map_or(this, |next| week(next.day)))
    }
}

impl Span {
    /// The whole weeks in which the days are: who works when is planned by the week.
    pub(in crate::prep) fn weeks(self) -> Span {
        Span { from: self.from.monday(), to: self.to.monday().plus(6) }
    }
}

fn week(day: Day) -> Span {
    Span { from: day.monday(), to: day.monday().plus(6) }
}

/// The events of the span that were not lost or cancelled.
pub(in crate::prep) async fn ids(
    connection: &mut SqliteConnection,
    span: Span,
) -> Result<Vec<EventId>, sqlx::Error> {
    let events = events::store::open_between(connection, span.from, span.to).await?;
    Ok(events.into_iter().map(|event| event.id).collect())
}
