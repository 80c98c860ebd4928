//! The forms of placed orders: placing, what a supplier answers, taking packs back.

use serde::Deserialize;

use super::store::NewAnswer;
use super::{AnswerKind, PlacedDelivery, PlacedLine, PlacedOrder};
use crate::ground::formats::Formats;
use crate::ground::ids::{PlacedLineId, SupplierId};
use crate::stem_order::calendar::LocalTime;
use crate::stem_order::order::StemOrder;
use crate::web::forms::{Checker, FieldErrors};

/// The most packs of one line.
pub const MOST_PACKS: i64 = 99_999;

/// What is posted to place an order.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PlaceForm {
    /// The suppliers that were ticked.
    pub supplier: Vec<String>,
    /// What is added in words.
    pub note: String,
    /// Sent twice, placed once.
    pub once_key: String,
    /// The lines and fees as the page showed them.
    pub shown: Vec<String>,
}

impl PlaceForm {
    /// The ticked suppliers and the note, or every message.
    pub fn parse(
        &self,
        order: &StemOrder,
        formats: &Formats,
    ) -> Result<(Vec<SupplierId>, String), FieldErrors> {
        let mut checker = Checker::new(formats);
        let note = checker.text("note", &self.note);
        let ticked = self.ticked();
        let planned = order.suppliers();
        if self.supplier.is_empty() {
            checker.refuse("supplier", "Tick the suppliers with whom it is placed.");
        } else if ticked.len() < self.supplier.len()
            || !ticked.iter().all(|id| planned.iter().any(|(known, _)| known == id))
        {
            checker.refuse("supplier", "One of the ticked suppliers has nothing in this order.");
        }
        checker.done((ticked, note))
    }

    /// The ticked suppliers, as far as they can be read.
    #[must_use]
    pub fn ticked(&self) -> Vec<SupplierId> {
        self.supplier.iter().filter_map(|id| id.parse().ok()).collect()
    }
}

/// What a supplier says will come with a delivery: a row a line.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct AnswerForm {
    /// Identities of lines, a row each.
    pub line: Vec<String>,
    /// Packs that will come.
    pub packs: Vec<String>,
    /// At which price a pack.
    pub price: Vec<String>,
    /// In words.
    pub note: String,
    /// The last thing that was known when the page was made.
    pub seen: String,
}

/// Answers and a note.
pub type Answers = (Vec<NewAnswer>, String);

impl AnswerForm {
    /// The form with what is expected now.
    #[must_use]
    pub fn expected(delivery: &PlacedDelivery, formats: &Formats, seen: i64) -> AnswerForm {
        let lines = || delivery.lines.iter().filter(|line| may_be_answered(line));
        AnswerForm {
            line: lines().map(|line| line.id.to_string()).collect(),
            packs: lines().map(|line| line.expected_packs().to_string()).collect(),
            price: lines().map(|line| formats.money_input(line.expected_price())).collect(),
            note: String::new(),
            seen: seen.to_string(),
        }
    }

    /// What is new: lines of which the same was said before are left out. None where a row is no line of the delivery.
    #[must_use]
    pub fn parse(
        &self,
        delivery: &PlacedDelivery,
        formats: &Formats,
    ) -> Option<Result<Answers, FieldErrors>> {
        let mut checker = Checker::new(formats);
        let mut answers = Vec::new();
        for (row, line) in self.line.iter().enumerate() {
            let line = line_of(&delivery.lines, line)?;
            let typed = |column: &[String]| column.get(row).cloned().unwrap_or_default();
            let packs = checker.whole(&field("packs", delivery, row), &typed(&self.packs), 0..=MOST_PACKS);
            let price = checker.money(&field("price", delivery, row), &typed(&self.price));
            let said = line.answer.as_ref().map(|answer| (answer.kind, answer.packs, answer.price));
            if said != Some((AnswerKind::Confirmed, packs, price)) {
                let kind = Some(AnswerKind::Confirmed);
                answers.push(NewAnswer { line_id: line.id, kind, packs, price });
            }
        }
        let note = checker.text(&format!("note-{}", delivery.id), &self.note);
        Some(checker.done((answers, note)))
    }
}

/// The name of a field of one delivery's row, unique on the page.
#[must_use]
pub fn field(name: &str, delivery: &PlacedDelivery, row: usize) -> String {
    format!("{name}-{}-{row}", delivery.id)
}

/// Whether the supplier can still say something of a line: not where the studio took all of it back.
#[must_use]
pub fn may_be_answered(line: &PlacedLine) -> bool {
    line.left_after_taking_back() != Some(0)
}

/// Everything that is still wanted of a delivery comes as placed.
#[must_use]
pub fn as_placed(delivery: &PlacedDelivery) -> Vec<NewAnswer> {
    let lines = delivery.lines.iter().filter(|line| may_be_answered(line));
    let all = lines.map(|line| NewAnswer {
        line_id: line.id,
        kind: Some(AnswerKind::Confirmed),
        packs: line.left_after_taking_back().unwrap_or(line.packs),
        price: line.price,
    });
    all.collect()
}

/// Packs that the studio takes back: a row a line.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct CancelForm {
    /// Identities of lines, a row each.
    pub line: Vec<String>,
    /// Packs to take back; empty is none.
    pub packs: Vec<String>,
    /// In words.
    pub note: String,
    /// Ticked where the supplier agreed though the cut-off has passed.
    pub agreed: String,
    /// The last thing that was known when the page was made.
    pub seen: String,
}

impl CancelForm {
    /// What is left of each line of which packs are taken back. None where a row is no line of the order.
    #[must_use]
    pub fn parse(
        &self,
        order: &PlacedOrder,
        now: LocalTime,
        formats: &Formats,
    ) -> Option<Result<Answers, FieldErrors>> {
        let mut checker = Checker::new(formats);
        let (mut answers, mut late) = (Vec::new(), false);
        for (row, line) in self.line.iter().enumerate() {
            let (delivery, line) = order
                .deliveries
                .iter()
                .find_map(|delivery| line_of(&delivery.lines, line).map(|line| (delivery, line)))?;
            let typed = self.packs.get(row).map_or("", String::as_str);
            let back = checker.whole_or_none(&format!("packs-{row}"), typed, 0..=line.expected_packs());
            if let Some(back) = back.filter(|back| *back > 0) {
                late |= delivery.order_by() < now;
                let (packs, price) = (line.expected_packs() - back, line.expected_price());
                answers.push(NewAnswer { line_id: line.id, kind: Some(AnswerKind::Cancelled), packs, price });
            }
        }
        let note = checker.text("note", &self.note);
        if late && self.agreed.is_empty() {
            checker
                .refuse("agreed", "The cut-off has passed: ring them, and tick this once they have agreed.");
        }
        let nothing = answers.is_empty();
        match checker.done((answers, note)) {
            Ok(_) if nothing => {
                Some(Err(FieldErrors::one("packs-0", "Write how many packs are taken back.")))
            }
            other => Some(other),
        }
    }
}

fn line_of<'a>(lines: &'a [PlacedLine], id: &str) -> Option<&'a PlacedLine> {
    let id: PlacedLineId = id.parse().ok()?;
    lines.iter().find(|line| line.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::samples::{answered, placed_line, placed_order};
    use crate::studio::Studio;

    fn formats() -> Formats {
        Studio::new_book().formats
    }

    fn text(words: &[&str]) -> Vec<String> {
        words.iter().map(ToString::to_string).collect()
    }

    fn now() -> LocalTime {
        LocalTime { day: "2026-05-11".parse().unwrap(), time: "09:00".parse().unwrap() }
    }

    #[test]
    fn only_what_is_new_is_recorded() {
        let delivery = placed_order(vec![placed_line(10, &[(1, 60)])]).deliveries.remove(0);
        let form = |packs: &str, price: &str| AnswerForm {
            line: text(&["1"]),
            packs: text(&[packs]),
            price: text(&[price]),
            ..AnswerForm::default()
        };
        let (answers, _) = form("8", "5.20").parse(&delivery, &formats()).unwrap().unwrap();
        assert_eq!((answers[0].packs, answers[0].price.minor()), (8, 520));
        let mut known = delivery.clone();
        known.lines[0] = answered(placed_line(10, &[(1, 60)]), AnswerKind::Confirmed, 8, 520);
        assert_eq!(form("8", "5.20").parse(&known, &formats()), Some(Ok((Vec::new(), String::new()))));
        for (packs, price) in
            [("-1", "5"), ("many", "5"), ("1000000000", "5"), ("8.5", "5"), ("8", "-1"), ("8", "x")]
        {
            let errors = form(packs, price).parse(&delivery, &formats()).unwrap().unwrap_err();
            assert_eq!(errors.list().len(), 1, "{packs} at {price}");
        }
        let other = AnswerForm { line: text(&["9"]), ..AnswerForm::default() };
        assert!(other.parse(&delivery, &formats()).is_none());
    }

    #[test]
    fn no_more_is_taken_back_than_is_expected() {
        let line = answered(placed_line(10, &[(1, 60)]), AnswerKind::Confirmed, 8, 520);
        let order = placed_order(vec![line]);
        let form =
            |packs: &str| CancelForm { line: text(&["1"]), packs: text(&[packs]), ..CancelForm::default() };
        let (answers, _) = form("3").parse(&order, now(), &formats()).unwrap().unwrap();
        assert_eq!((answers[0].packs, answers[0].price.minor()), (5, 520));
        for packs in ["9", "-1", "", "0", "x"] {
            assert!(form(packs).parse(&order, now(), &formats()).unwrap().is_err(), "{packs}");
        }
    }

    #[test]
    fn after_the_cut_off_the_supplier_must_have_agreed() {
        let order = placed_order(vec![placed_line(10, &[(1, 60)])]);
        let late = LocalTime { day: "2026-05-12".parse().unwrap(), time: "11:01".parse().unwrap() };
        let form = CancelForm { line: text(&["1"]), packs: text(&["3"]), ..CancelForm::default() };
        assert!(form.parse(&order, late, &formats()).unwrap().is_err());
        let agreed = CancelForm { agreed: "yes".into(), ..form };
        assert!(agreed.parse(&order, late, &formats()).unwrap().is_ok());
    }
}
