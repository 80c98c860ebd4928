//! The forms of who works when, and of a pin.

use serde::Deserialize;

use super::shifts::{BEGINS, Exception, Otherwise, Shifts, WeekdayShift};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// More people than this are a slip of the finger.
const MOST_PEOPLE: i64 = 100;
/// More minutes for one vessel than this are a slip of the finger.
const MOST_DRESS: i64 = 600;
/// More pieces than this are a slip of the finger.
const MOST_PIECES: i64 = 1_000_000_000;
/// Names of the weekdays, Monday first.
pub const WEEKDAYS: [&str; 7] =
    ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// Who works when, as typed: one of each column a weekday, one of each a day that is otherwise.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ShiftForm {
    /// Of which state of the book this is a change.
    pub seen: String,
    pub begins: Vec<String>,
    pub people: Vec<String>,
    pub hours: Vec<String>,
    pub more: Vec<String>,
    pub day: Vec<String>,
    pub kind: Vec<String>,
    pub day_people: Vec<String>,
    pub day_hours: Vec<String>,
    pub note: Vec<String>,
    pub dress: String,
}

/// A weekday's row.
#[derive(Debug, Clone, Default)]
pub struct WeekdayRow {
    pub place: usize,
    pub begins: String,
    pub people: String,
    pub hours: String,
    pub more: String,
}

/// A row of a day that is otherwise.
#[derive(Debug, Clone, Default)]
pub struct DayRow {
    pub place: usize,
    pub day: String,
    pub kind: String,
    pub people: String,
    pub hours: String,
    pub note: String,
}

/// Who works when, and minutes of dressing a vessel.
pub type NewShifts = (Shifts, Option<i64>);

/// Tells one state of the shifts from another, so that a stale save is noticed.
#[must_use]
pub fn fingerprint(shifts: &Shifts, dress: Option<i64>) -> String {
    crate::ground::fingerprint::fingerprint(&(shifts, dress))
}

impl ShiftForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(shifts: &Shifts, dress: Option<i64>) -> ShiftForm {
        let week = |read: &dyn Fn(&WeekdayShift) -> String| {
            shifts.week.iter().map(|shift| shift.as_ref().map(read).unwrap_or_default()).collect()
        };
        let days =
            |read: &dyn Fn(&Exception) -> String| shifts.exceptions.iter().map(read).collect::<Vec<String>>();
        ShiftForm {
            seen: fingerprint(shifts, dress),
            begins: week(&|shift| shift.begins.to_string()),
            people: week(&|shift| shift.people.to_string()),
            hours: week(&|shift| in_hours(shift.minutes)),
            more: week(&|shift| {
                if shift.more_minutes == 0 { String::new() } else { in_hours(shift.more_minutes) }
            }),
            day: days(&|one| one.day.to_string()),
            kind: days(&|one| one.kind.code().into()),
            day_people: days(&|one| one.people.to_string()),
            day_hours: days(&|one| if one.people == 0 { String::new() } else { in_hours(one.minutes) }),
            note: days(&|one| one.note.clone()),
            dress: dress.map_or_else(String::new, |minutes| minutes.to_string()),
        }
    }

    /// The rows of the weekdays.
    #[must_use]
    pub fn weekdays(&self) -> Vec<WeekdayRow> {
        let at = |column: &[String], place: usize| column.get(place).cloned().unwrap_or_default();
        let row = |place: usize| WeekdayRow {
            place,
            begins: at(&self.begins, place),
            people: at(&self.people, place),
            hours: at(&self.hours, place),
            more: at(&self.more, place),
        };
        (0..7).map(row).collect()
    }

    /// The rows of days that are otherwise, with three empty ones behind them.
    #[must_use]
    pub fn days(&self) -> Vec<DayRow> {
        let at = |column: &[String], place: usize| column.get(place).cloned().unwrap_or_default();
        let row = |place: usize| DayRow {
            place,
            day: at(&self.day, place),
            kind: at(&self.kind, place),
            people: at(&self.day_people, place),
            hours: at(&self.day_hours, place),
            note: at(&self.note, place),
        };
        (0..self.day.len() + 3).map(row).collect()
    }

    /// Reads the form: who works when, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<NewShifts, FieldErrors> {
        let mut c = Checker::new(formats);
        let mut week = [None; 7];
        for (shift, row) in week.iter_mut().zip(self.weekdays()) {
            *shift = row.parse(&mut c);
        }
        let exceptions: Vec<Exception> = self.days().iter().filter_map(|row| row.parse(&mut c)).collect();
        let dress = c.whole_or_none("dress", &self.dress, 0..=MOST_DRESS);
        c.done((Shifts { week, exceptions }, dress))
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &ShiftForm) -> Vec<Difference> {
        let (mine, other) = (self.weekdays(), theirs.weekdays());
        let words: Vec<[String; 2]> =
            mine.iter().zip(&other).map(|(mine, other)| [mine.words(), other.words()]).collect();
        let mut rows: Vec<(&str, &str, &str)> = WEEKDAYS
            .iter()
            .zip(&words)
            .map(|(day, [mine, other])| (*day, mine.as_str(), other.as_str()))
            .collect();
        let days = [self.days_in_words(), theirs.days_in_words()];
        rows.push(("Days that are otherwise", &days[0], &days[1]));
        rows.push(("Dressing a vessel", &self.dress, &theirs.dress));
        differences(&rows)
    }

    fn days_in_words(&self) -> String {
        let rows = self.days().into_iter().filter(|row| !row.is_empty());
        let words =
            rows.map(|row| format!("{} {} × {} h {} {}", row.day, row.people, row.hours, row.kind, row.note));
        words.collect::<Vec<_>>().join("; ")
    }
}

impl WeekdayRow {
    fn parse(&self, c: &mut Checker<'_>) -> Option<WeekdayShift> {
        let typed = [&self.people, &self.hours, &self.more];
        if typed.iter().all(|cell| cell.trim().is_empty()) {
            return None;
        }
        let field = |cell: &str| format!("{cell}-{}", self.place);
        let begins = c.time_or_none(&field("begins"), &self.begins).unwrap_or(BEGINS);
        let people = c.whole_or_none(&field("people"), &self.people, 0..=MOST_PEOPLE).unwrap_or(0);
        let minutes = minutes(c, &field("hours"), &self.hours, 24);
        if people > 0 && self.hours.trim().is_empty() {
            c.refuse(field("hours"), "Write for how many hours each, such as 8 or 7.5.");
        }
        let more_minutes = self::minutes(c, &field("more"), &self.more, 24 * MOST_PEOPLE);
        Some(WeekdayShift { begins, people, minutes, more_minutes })
    }

    fn words(&self) -> String {
        let more = if self.more.trim().is_empty() { String::new() } else { format!(" + {} h", self.more) };
        if self.people.trim().is_empty() && more.is_empty() {
            return String::new();
        }
        format!("{} × {} h{more} from {}", self.people, self.hours, self.begins)
    }
}

impl DayRow {
    fn is_empty(&self) -> bool {
        [&self.day, &self.people, &self.hours, &self.note].iter().all(|cell| cell.trim().is_empty())
    }

    fn parse(&self, c: &mut Checker<'_>) -> Option<Exception> {
        if self.is_empty() {
            return None;
        }
        let field = |cell: &str| format!("days-{}-{cell}", self.place);
        let people = c.whole(&field("people"), &self.people, 0..=MOST_PEOPLE);
        let minutes = minutes(c, &field("hours"), &self.hours, 24);
        if people > 0 && self.hours.trim().is_empty() {
            c.refuse(field("hours"), "Write for how many hours each, such as 8 or 7.5.");
        }
        Some(Exception {
            day: c.day(&field("day"), &self.day),
            kind: c.pick(&field("kind"), &self.kind),
            people,
            minutes,
            note: c.line(&field("note"), &self.note),
        })
    }

    /// Whether a kind is chosen in this row: a new row begins as more.
    #[must_use]
    pub fn is_kind(&self, code: &str) -> bool {
        code == if self.kind.is_empty() { Otherwise::More.code() } else { &self.kind }
    }
}

/// Hours, decimal, as minutes; nothing typed is none.
fn minutes(c: &mut Checker<'_>, field: &str, raw: &str, most: i64) -> i64 {
    if raw.trim().is_empty() || raw.trim() == "0" {
        return 0;
    }
    let hours = c.quantity(field, raw).raw();
    if hours > most * 1_000 {
        c.refuse(field, format!("At most {most} hours."));
        return 0;
    }
    (hours * 60 + 500) / 1_000
}

/// Minutes as decimal hours, as typed.
fn in_hours(minutes: i64) -> String {
    rust_decimal::Decimal::new(minutes * 1_000 / 60, 3).normalize().to_string()
}

/// A pin as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PinForm {
    pub task: String,
    /// In which day's row it was typed.
    pub row: String,
    pub day: String,
    pub count: String,
}

/// A pin that may be set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPin {
    /// To which day.
    pub day: Day,
    /// How many pieces.
    pub count: i64,
}

impl PinForm {
    /// Reads the form: a pin, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<NewPin, FieldErrors> {
        let mut c = Checker::new(formats);
        let pin =
            NewPin { day: c.day("day", &self.day), count: c.whole("count", &self.count, 1..=MOST_PIECES) };
        c.done(pin)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn formats() -> Formats {
        Studio::new_book().formats
    }

    #[test]
    fn hours_are_decimal_and_come_back_as_typed() {
        let mut form = ShiftForm::of(&Shifts::default(), None);
        form.people[4] = "2".into();
        form.hours[4] = "7.75".into();
        form.more[5] = "4".into();
        form.day.push("2026-05-15".into());
        for (column, value) in
            [(&mut form.kind, "fewer"), (&mut form.day_people, "1"), (&mut form.day_hours, "0.5")]
        {
            column.push(value.into());
        }
        form.note.push("Dentist".into());
        let (shifts, dress) = form.parse(&formats()).unwrap();
        assert_eq!(shifts.week[4].unwrap().minutes, 465);
        assert_eq!((shifts.week[5].unwrap().more_minutes, shifts.week[0]), (240, None));
        assert_eq!(
            (shifts.exceptions[0].kind, shifts.exceptions[0].minutes, dress),
            (Otherwise::Fewer, 30, None)
        );
        let again = ShiftForm::of(&shifts, dress);
        assert_eq!((again.hours[4].as_str(), again.day_hours[0].as_str()), ("7.75", "0.5"));
        assert_eq!(again.parse(&formats()).unwrap(), (shifts, dress));
    }

    #[test]
    fn every_wrong_cell_has_its_message() {
        let mut form = ShiftForm::of(&Shifts::default(), None);
        form.people[0] = "two".into();
        form.hours[0] = "25".into();
        form.people[1] = "2".into();
        form.day = vec!["someday".into()];
        form.dress = "-1".into();
        let errors = form.parse(&formats()).unwrap_err();
        for field in ["people-0", "hours-0", "hours-1", "days-0-day", "days-0-people", "days-0-kind", "dress"]
        {
            assert!(errors.of(field).is_some(), "{field}: {errors:?}");
        }
    }
}
