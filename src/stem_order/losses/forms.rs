//! What the studio says of a material's counted losses, and the addresses that take a change back.

use serde::Deserialize;

use super::LossRule;
use crate::ground::formats::Formats;
use crate::ground::quantity::Share;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// The largest loss that is reckoned with, as in the price list.
pub const MOST_LOST: Share = Share::from_raw(900_000);

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct RuleForm {
    pub version: String,
    pub counted_from: String,
    pub overruled: String,
}

impl RuleForm {
    /// The form filled in from a rule.
    #[must_use]
    pub fn of(rule: &LossRule, formats: &Formats) -> RuleForm {
        RuleForm {
            version: rule.version.to_string(),
            counted_from: rule.counted_from.map(|day| day.to_string()).unwrap_or_default(),
            overruled: rule.overruled.map(|share| formats.share_input(share)).unwrap_or_default(),
        }
    }

    /// Reads the form: a rule, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<LossRule, FieldErrors> {
        let mut c = Checker::new(formats);
        let overruled = c.share_or_none("overruled", &self.overruled);
        if overruled.is_some_and(|share| share > MOST_LOST) {
            let most = formats.share(MOST_LOST);
            c.refuse("overruled", format!("At most {most}: nothing could be ordered for more."));
        }
        let counted_from = c.day_or_none("counted_from", &self.counted_from);
        c.done(LossRule { version: 0, counted_from, overruled })
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &RuleForm) -> Vec<Difference> {
        differences(&[
            ("Count from", &self.counted_from, &theirs.counted_from),
            ("Fixed loss", &self.overruled, &theirs.overruled),
        ])
    }
}

/// `?version=3&counted_from=2026-05-04&overruled=80000`: what an undo goes back to, if nothing was saved since.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct UndoQuery {
    pub version: i64,
    pub counted_from: String,
    /// Parts per million, or empty.
    pub overruled: String,
}

impl UndoQuery {
    /// The address that takes a change of this rule back.
    #[must_use]
    pub fn path(start: &str, before: &LossRule) -> String {
        let day = before.counted_from.map(|day| day.to_string()).unwrap_or_default();
        let share = before.overruled.map(|share| share.raw().to_string()).unwrap_or_default();
        let version = before.version + 1;
        format!("{start}?version={version}&counted_from={day}&overruled={share}")
    }

    /// The rule to go back to; none where the address has a slip in it.
    #[must_use]
    pub fn rule(&self) -> Option<LossRule> {
        let counted_from = match self.counted_from.as_str() {
            "" => None,
            day => Some(day.parse().ok()?),
        };
        let overruled = self.overruled()?;
        Some(LossRule { version: self.version, counted_from, overruled })
    }

    /// A share as the address holds it, or none; nothing at all where it cannot be.
    #[must_use]
    pub fn overruled(&self) -> Option<Option<Share>> {
        if self.overruled.is_empty() {
            return Some(None);
        }
        let share = Share::from_raw(self.overruled.parse().ok()?);
        (Share::default()..=MOST_LOST).contains(&share).then_some(Some(share))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn form(counted_from: &str, overruled: &str) -> RuleForm {
        RuleForm { version: "1".into(), counted_from: counted_from.into(), overruled: overruled.into() }
    }

    #[test]
    fn an_empty_form_lets_every_count_speak() {
        let formats = Studio::new_book().formats;
        assert_eq!(form("", "").parse(&formats), Ok(LossRule::default()));
        let rule = form("2026-05-04", "7.5").parse(&formats).unwrap();
        assert_eq!(rule.overruled, Some(Share::from_raw(75_000)));
        assert_eq!(RuleForm::of(&rule, &formats).overruled, "7.5");
    }

    #[test]
    fn every_wrong_field_is_named() {
        let formats = Studio::new_book().formats;
        for (day, share) in [("4 May", "95"), ("2026-02-30", "-1"), ("1200-01-01", "1000000000")] {
            let errors = form(day, share).parse(&formats).unwrap_err();
            assert_eq!(errors.list().len(), 2, "{day} {share}");
        }
    }

    #[test]
    fn an_undo_knows_what_was_before() {
        let before = LossRule {
            version: 3,
            counted_from: Some("2026-05-04".parse().unwrap()),
            overruled: Some(Share::from_raw(80_000)),
        };
        let path = UndoQuery::path("/losses/7/restoration", &before);
        assert_eq!(path, "/losses/7/restoration?version=4&counted_from=2026-05-04&overruled=80000");
        let query = UndoQuery { version: 4, counted_from: "2026-05-04".into(), overruled: "80000".into() };
        assert_eq!(query.rule(), Some(LossRule { version: 4, ..before }));
        assert_eq!(UndoQuery { overruled: "900001".into(), ..query }.rule(), None);
    }
}
