//! What of an event is to be settled: everything that presses, in one list, the worst first.

use super::EventPage;
use crate::desk::reminders::Pressing;
use crate::desk::reminders::pages::Row;
use crate::ground::money::Money;
use crate::stem_order::receiving::shortage::Trouble as Lacking;

/// One thing to settle.
pub(super) struct ToSettle {
    /// What it is.
    pub(super) word: &'static str,
    /// The shape of its mark: `late` where it breaks the event if nobody mends it.
    pub(super) shape: &'static str,
    /// Each case of it.
    pub(super) cases: Vec<String>,
    /// Where it is mended.
    pub(super) path: String,
    /// What the link says.
    pub(super) link: &'static str,
}

impl EventPage {
    /// Orders that close today first, then what breaks the event, what is late, what is time, and what comes soon. What
    /// a reminder says already is not said again.
    pub(super) fn to_settle(&self) -> Vec<ToSettle> {
        let now = |row: &&Row| row.reminder.pressing == Pressing::Now;
        let (first, then): (Vec<_>, Vec<_>) = self.reminders.iter().partition(now);
        let own = self.troubles().into_iter().filter(|found| !self.is_said(&then, found));
        let first = first.into_iter().map(of_reminder);
        let mut all: Vec<_> = first.chain(own).chain(then.iter().copied().map(of_reminder)).collect();
        all.sort_by_key(|found| match found.shape {
            "late" => 0,
            "part" => 1,
            _ => 2,
        });
        all
    }

    /// Whether reminders say what was found: loans that are to be counted, invoices that come to all that is to be paid.
    fn is_said(&self, reminders: &[&Row], found: &ToSettle) -> bool {
        match found.word {
            "Still out" => reminders.iter().any(|row| row.reminder.path == found.path),
            "Still to be paid" => {
                let named: Money = reminders.iter().filter_map(|row| row.reminder.owed).sum();
                named == self.money.due
            }
            _ => false,
        }
    }

    /// Before the event, and after it what is left of it.
    fn troubles(&self) -> Vec<ToSettle> {
        let mut all = if self.is_over() { self.left() } else { self.ahead() };
        all.retain(|found| !found.cases.is_empty());
        all
    }

    /// What cannot be made first, then what is not there, what will not last and what does not fit.
    fn ahead(&self) -> Vec<ToSettle> {
        let id = self.outlook.event.id;
        vec![
            settle(
                "Short of what was ordered",
                self.short_stems(),
                "/receiving".into(),
                "What could stand in",
            ),
            settle(
                "No delivery in time",
                self.outlook.orders.unserved.clone(),
                format!("/stem-order?event={id}"),
                "The stem order says why",
            ),
            settle(
                "Short on the shelf",
                self.short.clone(),
                format!("/events/{id}/loans"),
                "Loans of this event",
            ),
            settle(
                "By the estimate, this does not last or open in time",
                self.fading.clone(),
                format!("/events/{id}/freshness"),
                "What would mend it",
            ),
            self.too_full(),
        ]
    }

    fn left(&self) -> Vec<ToSettle> {
        let id = self.outlook.event.id;
        vec![
            self.left_over(),
            settle(
                "Still out",
                self.still_lent.clone(),
                format!("/events/{id}/loans"),
                "Loans of this event",
            ),
            settle("Still to be paid", self.to_be_paid(), format!("/events/{id}/account"), "Account"),
        ]
    }

    fn short_stems(&self) -> Vec<String> {
        let words = |trouble: &Lacking| format!("{}: {}", trouble.what(), trouble.touches());
        self.lacking.iter().map(words).collect()
    }

    fn too_full(&self) -> ToSettle {
        let path = format!("/prep/plan?week={}", self.outlook.event.day.monday());
        let words = self.fit_words().filter(|(full, _)| *full).map(|(_, words)| words);
        settle("Too full", words.into_iter().collect(), path, "Bench plan")
    }

    /// Crates and tools after the event.
    fn left_over(&self) -> ToSettle {
        let event = &self.outlook.event;
        let words = match &self.returned {
            None if event.ended.is_some() => None,
            None => Some("crates, cans and tools are not counted back yet".to_owned()),
            Some(returned) => Some(returned.still_out()).filter(|out| !out.is_empty()),
        };
        let path = format!("/events/{}/strike", event.id);
        settle("Still out", words.into_iter().collect(), path, "Strike and return")
    }

    fn to_be_paid(&self) -> Vec<String> {
        (!self.money.due.is_zero()).then(|| self.shell.formats.money(self.money.due)).into_iter().collect()
    }

    fn is_over(&self) -> bool {
        self.outlook.event.is_open() && self.outlook.event.day < self.shell.today
    }
}

fn settle(word: &'static str, cases: Vec<String>, path: String, link: &'static str) -> ToSettle {
    let left = matches!(word, "Still out" | "Still to be paid");
    ToSettle { word, shape: if left { "part" } else { "late" }, cases, path, link }
}

fn of_reminder(row: &Row) -> ToSettle {
    let (shape, word) = row.mark;
    let said = &row.reminder;
    let seen_to = row.seen_to.as_ref().map(|words| format!(" {words}")).unwrap_or_default();
    let words = format!("{}. {}{seen_to}", said.what, said.why);
    ToSettle { word, shape, cases: vec![words], path: said.path.clone(), link: said.label }
}
