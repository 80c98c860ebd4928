//! What is typed about an event: who, when, where, how many; and the grid of its pieces.

mod asking;
mod pieces;

pub use asking::Asker;
pub use pieces::{PieceRow, PieceRows};

use serde::Deserialize;

use super::counts::Party;
use super::hours::Hours;
use super::{Event, NewEvent};
use crate::clients::Client;
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct EventForm {
    pub version: String,
    /// Which event is being changed, for the notices as one types.
    pub event: String,
    pub client: String,
    /// `yes`: the client is a new one.
    pub new_client: String,
    /// Which client of that name: an identity, or `new`.
    pub which: String,
    /// For which name that was chosen.
    pub which_for: String,
    pub client_phone: String,
    pub client_email: String,
    pub name: String,
    pub day: String,
    /// `yes`: a day before today is meant.
    pub already: String,
    pub set_up_time: String,
    pub start_time: String,
    pub end_time: String,
    pub strike_time: String,
    pub venue: String,
    pub venue_address: String,
    pub venue_contact: String,
    pub guests: String,
    pub seats: String,
    pub tables: String,
    pub budget: String,
    pub note: String,
    /// A new event: the set or the event whose pieces it begins with.
    pub begin_with: String,
}

impl EventForm {
    /// The form filled in from an event.
    #[must_use]
    pub fn of(event: &Event, formats: &Formats) -> EventForm {
        let time = |time: Option<TimeOfDay>| time.map(|time| time.to_string()).unwrap_or_default();
        let number = |number: Option<i64>| number.map(|number| number.to_string()).unwrap_or_default();
        EventForm {
            version: event.version.to_string(),
            event: event.id.to_string(),
            client: event.client_name.clone(),
            which: event.client_id.to_string(),
            which_for: event.client_name.clone(),
            name: event.name.clone(),
            day: event.day.to_string(),
            set_up_time: time(event.set_up_time),
            start_time: time(event.start_time),
            end_time: time(event.end_time),
            strike_time: time(event.strike_time),
            venue: event.venue.clone(),
            venue_address: event.venue_address.clone(),
            venue_contact: event.venue_contact.clone(),
            guests: number(event.guests),
            seats: number(event.seats),
            tables: number(event.tables),
            budget: event.budget.map(|budget| formats.money_input(budget)).unwrap_or_default(),
            note: event.note.clone(),
            ..EventForm::default()
        }
    }

    /// A form for a new event of a known client.
    #[must_use]
    pub fn for_client(client: &Client) -> EventForm {
        EventForm {
            client: client.name.clone(),
            which: client.id.to_string(),
            which_for: client.name.clone(),
            ..EventForm::default()
        }
    }

    /// Reads the form: an event and who asks, or every message. `named` are the clients of exactly the typed name;
    /// a day before `today` must be meant, unless the event stands on it already (`kept_day`).
    pub fn parse(
        &self,
        formats: &Formats,
        named: &[Client],
        today: Day,
        kept_day: Option<Day>,
    ) -> Result<(Asker, NewEvent), FieldErrors> {
        let mut c = Checker::new(formats);
        let asker = self.parse_asker(&mut c, named);
        let name = c.line("name", &self.name);
        let event = NewEvent {
            name: if name.is_empty() { c.line("client", &self.client) } else { name },
            day: self.parse_day(&mut c, *formats, today, kept_day),
            hours: self.parse_hours(&mut c),
            venue: c.line("venue", &self.venue),
            venue_address: c.text("venue_address", &self.venue_address),
            venue_contact: c.line("venue_contact", &self.venue_contact),
            party: self.parse_party(&mut c),
            budget: c.money_or_none("budget", &self.budget),
            note: c.text("note", &self.note),
        };
        c.done((asker, event))
    }

    fn parse_day(&self, c: &mut Checker, formats: Formats, today: Day, kept_day: Option<Day>) -> Day {
        let day = c.day("day", &self.day);
        if self.day.parse::<Day>().is_ok() && day < today && kept_day != Some(day) && self.already != "yes" {
            let past = formats.weekday(day);
            c.refuse(
                "day",
                format!("{past} is before today. Choose a later day, or tick that it has already happened."),
            );
        }
        day
    }

    /// Set-up, start, end, strike as far as they are typed.
    pub fn parse_hours(&self, c: &mut Checker) -> Hours {
        let hours = Hours {
            set_up: c.time_or_none("set_up_time", &self.set_up_time),
            start: c.time_or_none("start_time", &self.start_time),
            end: c.time_or_none("end_time", &self.end_time),
            strike: c.time_or_none("strike_time", &self.strike_time),
        };
        if let (Some(set_up), Some(start)) = (hours.set_up, hours.start)
            && set_up > start
        {
            c.refuse(
                "set_up_time",
                format!("Set-up at {set_up} is after the start at {start}. If you set up on the day before, leave it empty and say so in the note."),
            );
        }
        if hours.start.is_some() && hours.start == hours.end {
            c.refuse("end_time", "It ends at the minute it starts. Leave the end empty if it is not known.");
        }
        hours
    }

    /// Guests, seats and tables as far as they are typed.
    pub fn parse_party(&self, c: &mut Checker) -> Party {
        Party {
            guests: c.whole_or_none("guests", &self.guests, 1..=100_000),
            tables: c.whole_or_none("tables", &self.tables, 1..=10_000),
            seats: c.whole_or_none("seats", &self.seats, 1..=1_000),
        }
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &EventForm) -> Vec<Difference> {
        differences(&[
            ("Client", &self.client, &theirs.client),
            ("Name", &self.name, &theirs.name),
            ("Day", &self.day, &theirs.day),
            ("Set-up", &self.set_up_time, &theirs.set_up_time),
            ("Start", &self.start_time, &theirs.start_time),
            ("End", &self.end_time, &theirs.end_time),
            ("Strike", &self.strike_time, &theirs.strike_time),
            ("Venue", &self.venue, &theirs.venue),
            ("Venue's address", &self.venue_address, &theirs.venue_address),
            ("Venue's contact", &self.venue_contact, &theirs.venue_contact),
            ("Guests", &self.guests, &theirs.guests),
            ("Seats a table", &self.seats, &theirs.seats),
            ("Tables", &self.tables, &theirs.tables),
            ("Budget", &self.budget, &theirs.budget),
            ("Note", &self.note, &theirs.note),
        ])
    }
}
