//! The forms of this room: a hand-over, what came back, drives between venues.

use serde::Deserialize;

use super::{ReturnLine, VanReturn};
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::formats::Formats;
use crate::ground::ids::EventId;
use crate::web::forms::{Checker, FieldErrors};

/// More than this of one thing is a slip of the finger.
const MOST: i64 = 100_000;
/// A longer drive than a day is no van's.
const MOST_DRIVE: i64 = 1_440;

/// A hand-over as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct HandOverForm {
    pub once_key: String,
    pub handed_to: String,
    pub handed_on: String,
    pub handed_time: String,
    pub remarks: String,
}

/// A hand-over as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewHandOver {
    /// Sent twice, kept once.
    pub once_key: String,
    /// To whom.
    pub to: String,
    /// On which day.
    pub on: Day,
    /// At what time.
    pub at: TimeOfDay,
    /// What was changed, what is missing.
    pub remarks: String,
}

impl HandOverForm {
    /// Reads the form: a hand-over, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<NewHandOver, FieldErrors> {
        let mut c = Checker::new(formats);
        let to = c.name("handed_to", &self.handed_to, "the name of who took it over");
        let on = c.day("handed_on", &self.handed_on);
        let at = c.time_or_none("handed_time", &self.handed_time);
        if at.is_none() && self.handed_time.trim().is_empty() {
            c.refuse("handed_time", "Write at what time, such as 13:40.");
        }
        let at = at.unwrap_or(TimeOfDay(jiff::civil::Time::midnight()));
        let remarks = c.text("remarks", &self.remarks);
        c.done(NewHandOver { once_key: self.once_key.clone(), to, on, at, remarks })
    }
}

/// What came back, as typed: one of each column a thing.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ReturnForm {
    pub once_key: String,
    pub counted_on: String,
    pub counted_by: String,
    pub flowers: String,
    pub note: String,
    pub what: Vec<String>,
    pub went: Vec<String>,
    pub back: Vec<String>,
}

/// One row of it.
#[derive(Debug, Clone, Default)]
pub struct ReturnRow {
    pub place: usize,
    pub what: String,
    pub went: String,
    pub back: String,
}

/// What came back, as typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewReturn {
    /// Sent twice, kept once.
    pub once_key: String,
    /// When.
    pub on: Day,
    /// By whom.
    pub by: String,
    /// What became of the flowers.
    pub flowers: String,
    /// What to remember.
    pub note: String,
    /// Each thing that went out.
    pub lines: Vec<ReturnLine>,
}

impl ReturnForm {
    /// The form filled in: from the latest count, else from what went out.
    #[must_use]
    pub fn of(kept: Option<&VanReturn>, went_out: &[ReturnLine], today: Day) -> ReturnForm {
        let lines = kept.map_or(went_out, |kept| &kept.lines);
        let said = |of: fn(&VanReturn) -> &String| kept.map_or_else(String::new, |kept| of(kept).clone());
        ReturnForm {
            once_key: String::new(),
            counted_on: kept.map_or(today, |kept| kept.on).to_string(),
            counted_by: said(|kept| &kept.by),
            flowers: said(|kept| &kept.flowers),
            note: said(|kept| &kept.note),
            what: lines.iter().map(|line| line.what.clone()).collect(),
            went: lines.iter().map(|line| line.went.to_string()).collect(),
            back: lines.iter().map(|line| line.back.to_string()).collect(),
        }
    }

    /// The rows with three empty ones behind them.
    #[must_use]
    pub fn rows(&self) -> Vec<ReturnRow> {
        (0..self.what.len() + 3).map(|place| self.row(place)).collect()
    }

    fn row(&self, place: usize) -> ReturnRow {
        let at = |column: &[String]| column.get(place).cloned().unwrap_or_default();
        ReturnRow { place, what: at(&self.what), went: at(&self.went), back: at(&self.back) }
    }

    /// Reads the form: a count, or every message. A row in which nothing is named is left out.
    pub fn parse(&self, formats: &Formats) -> Result<NewReturn, FieldErrors> {
        let mut c = Checker::new(formats);
        let rows = self.rows().into_iter().filter(|row| !row.is_empty());
        let lines: Vec<ReturnLine> = rows.map(|row| row.parse(&mut c)).collect();
        if lines.is_empty() {
            c.refuse("back-0-what", "Write at least one thing that went out.");
        }
        let new = NewReturn {
            once_key: self.once_key.clone(),
            on: c.day("counted_on", &self.counted_on),
            by: c.line("counted_by", &self.counted_by),
            flowers: c.text("flowers", &self.flowers),
            note: c.text("note", &self.note),
            lines,
        };
        c.done(new)
    }
}

impl ReturnRow {
    fn is_empty(&self) -> bool {
        [&self.what, &self.went, &self.back].iter().all(|cell| cell.trim().is_empty())
    }

    /// The id of one of its cells, where its message stands too.
    #[must_use]
    pub fn field(&self, cell: &str) -> String {
        format!("back-{}-{cell}", self.place)
    }

    fn parse(&self, c: &mut Checker) -> ReturnLine {
        let what = c.name(&self.field("what"), &self.what, "what went out");
        let went = c.whole(&self.field("went"), &self.went, 1..=MOST);
        let back = c.whole(&self.field("back"), &self.back, 0..=MOST);
        if back > went {
            c.refuse(self.field("back"), format!("Only {went} went out."));
        }
        ReturnLine { what, went, back }
    }
}

/// Drives between venues, as typed: one of each column a way.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct DriveForm {
    pub from: Vec<String>,
    pub to: Vec<String>,
    pub version: Vec<String>,
    pub minutes: Vec<String>,
    pub van: String,
    pub second: Vec<String>,
}

/// One drive as typed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NewDrive {
    /// From which event's venue.
    pub from: EventId,
    /// To which.
    pub to: EventId,
    /// What was seen of it.
    pub version: i64,
    /// Empty is by way of the studio.
    pub minutes: Option<i64>,
}

impl DriveForm {
    /// Reads the form: every drive between these events, or every message.
    pub fn parse(&self, events: &[EventId], formats: &Formats) -> Result<Vec<NewDrive>, FieldErrors> {
        let mut c = Checker::new(formats);
        let at = |column: &[String], row: usize| column.get(row).cloned().unwrap_or_default();
        let mut drives = Vec::new();
        for row in 0..self.from.len() {
            let field = format!("minutes-{row}");
            let known = |text: String| text.parse::<EventId>().ok().filter(|id| events.contains(id));
            let way =
                known(at(&self.from, row)).zip(known(at(&self.to, row))).filter(|(from, to)| from != to);
            let minutes = c.whole_or_none(&field, &at(&self.minutes, row), 0..=MOST_DRIVE);
            match way {
                Some((from, to)) => {
                    let version = at(&self.version, row).trim().parse().unwrap_or(0);
                    drives.push(NewDrive { from, to, version, minutes });
                }
                None => c.refuse(field, "These are not two events of this day."),
            }
        }
        c.done(drives)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    #[test]
    fn a_hand_over_wants_a_name_and_a_time() {
        let formats = Studio::new_book().formats;
        let form = HandOverForm { handed_on: "2026-05-16".into(), ..HandOverForm::default() };
        let errors = form.parse(&formats).unwrap_err();
        assert!(errors.of("handed_to").is_some() && errors.of("handed_time").is_some());
        let typed = HandOverForm { handed_to: "Ada".into(), handed_time: "13:40".into(), ..form };
        assert_eq!(typed.parse(&formats).unwrap().at.minutes(), 820);
    }

    #[test]
    fn no_more_comes_back_than_went_out() {
        let formats = Studio::new_book().formats;
        let went = [ReturnLine { what: "Crate".into(), went: 4, back: 4 }];
        let mut form = ReturnForm::of(None, &went, "2026-05-18".parse().unwrap());
        assert_eq!(form.parse(&formats).unwrap().lines, went);
        form.back = vec!["5".into()];
        assert_eq!(form.parse(&formats).unwrap_err().of("back-0-back"), Some("Only 4 went out."));
        form.what = vec![String::new()];
        (form.went, form.back) = (vec![String::new()], vec![String::new()]);
        assert!(form.parse(&formats).unwrap_err().of("back-0-what").is_some());
    }

    #[test]
    fn drives_are_between_two_events_of_the_day() {
        let formats = Studio::new_book().formats;
        let form = |to: &str, minutes: &str| DriveForm {
            from: vec!["1".into()],
            to: vec![to.into()],
            version: vec!["0".into()],
            minutes: vec![minutes.into()],
            ..DriveForm::default()
        };
        let events = [EventId(1), EventId(2)];
        assert_eq!(form("2", "25").parse(&events, &formats).unwrap()[0].minutes, Some(25));
        assert_eq!(form("2", "").parse(&events, &formats).unwrap()[0].minutes, None);
        for (to, minutes) in [("1", "5"), ("9", "5"), ("x", "5"), ("2", "-1"), ("2", "100000")] {
            assert!(form(to, minutes).parse(&events, &formats).is_err(), "{to} {minutes}");
        }
    }
}
