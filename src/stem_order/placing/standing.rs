//! How far a placed order is, in a word and a shape; derived from its lines' latest answers.
//!
//! May import the room's own types.

use super::{AnswerKind, PlacedLine, PlacedOrder};

/// How far an order or a delivery is with its supplier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The supplier has not said what will come.
    Placed,
    /// Some lines are confirmed.
    PartlyConfirmed,
    /// Every line that is still wanted is confirmed.
    Confirmed,
    /// The studio took all of it back.
    TakenBack,
}

impl Standing {
    /// How far these lines are.
    #[must_use]
    pub fn of<'a>(lines: impl Iterator<Item = &'a PlacedLine>) -> Standing {
        let (mut wanted, mut confirmed) = (0, 0);
        for line in lines.filter(|line| !taken_back(line)) {
            wanted += 1;
            let kind = line.answer.as_ref().map(|answer| answer.kind);
            confirmed += i32::from(kind == Some(AnswerKind::Confirmed));
        }
        match (wanted, confirmed) {
            (0, _) => Standing::TakenBack,
            (_, 0) => Standing::Placed,
            (wanted, confirmed) if wanted == confirmed => Standing::Confirmed,
            _ => Standing::PartlyConfirmed,
        }
    }

    /// How far an order is.
    #[must_use]
    pub fn of_order(order: &PlacedOrder) -> Standing {
        Standing::of(order.lines())
    }

    /// The word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Standing::Placed => "Placed",
            Standing::PartlyConfirmed => "Partly confirmed",
            Standing::Confirmed => "Confirmed",
            Standing::TakenBack => "Taken back",
        }
    }

    /// The style class of its shape.
    #[must_use]
    pub const fn shape(self) -> &'static str {
        match self {
            Standing::Placed => "asked",
            Standing::PartlyConfirmed => "part",
            Standing::Confirmed => "done",
            Standing::TakenBack => "off",
        }
    }
}

/// Whether the studio took the whole line back.
fn taken_back(line: &PlacedLine) -> bool {
    line.answer.as_ref().is_some_and(|answer| answer.kind == AnswerKind::Cancelled && answer.packs == 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stem_order::samples::{answered, placed_line};

    fn of(lines: &[PlacedLine]) -> Standing {
        Standing::of(lines.iter())
    }

    #[test]
    fn an_order_is_confirmed_when_all_that_is_wanted_is() {
        let line = || placed_line(10, &[(1, 60)]);
        let confirmed = || answered(line(), AnswerKind::Confirmed, 8, 500);
        let none_comes = || answered(line(), AnswerKind::Confirmed, 0, 500);
        let part = || answered(line(), AnswerKind::Cancelled, 4, 500);
        let gone = || answered(line(), AnswerKind::Cancelled, 0, 500);
        assert_eq!(of(&[line(), line()]), Standing::Placed);
        assert_eq!(of(&[line(), confirmed()]), Standing::PartlyConfirmed);
        assert_eq!(of(&[confirmed(), none_comes(), gone()]), Standing::Confirmed);
        assert_eq!(of(&[confirmed(), part()]), Standing::PartlyConfirmed);
        assert_eq!(of(&[gone(), gone()]), Standing::TakenBack);
    }
}
