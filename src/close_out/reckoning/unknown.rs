//! What is not known of an event and stands as planned, in sentences.
//!
//! May import: `rust_decimal`, plain values of the stages before and of this room.

use std::collections::BTreeSet;

use rust_decimal::Decimal;

use super::{Part, Read};
use crate::close_out::figures::TaskHours;
use crate::close_out::materials::Called;
use crate::ground::choice::Choice;
use crate::ground::ids::MaterialId;
use crate::ground::money::Money;
use crate::recipes::cost::Costing;

impl Read<'_> {
    /// What is not known and stands as planned, a sentence each.
    pub(super) fn unknown(
        &self,
        parts: &[Part],
        now: &Called,
        (hours, untyped): (&[TaskHours], &str),
    ) -> Vec<String> {
        let mut said = Vec::new();
        if self.frozen.is_none() {
            said.push(
                "No version of the quote was accepted: quoted is what the pieces as they stand would cost."
                    .into(),
            );
        }
        said.extend(self.recipes_changed());
        said.extend(self.invoicing());
        let names = |ids: &mut dyn Iterator<Item = MaterialId>| {
            let ids: BTreeSet<MaterialId> = ids.collect();
            let names = ids.iter().filter_map(|id| self.material(*id)).map(|material| material.name.clone());
            names.collect::<Vec<_>>().join("; ")
        };
        let mut say = |what: &str, names: String, then: &str| {
            if !names.is_empty() {
                said.push(format!("{what}: {names}. {then}"));
            }
        };
        let held: BTreeSet<MaterialId> = parts
            .iter()
            .map(|part| part.material)
            .chain(self.stock.iter().map(|used| used.material))
            .collect();
        let unheld = &mut now.materials.keys().copied().filter(|id| self.is_fresh(*id) && !held.contains(id));
        say(
            "No order in the book",
            names(unheld),
            "They stand as the recipes say, at the event's day's price.",
        );
        let [fresh, goods] = self.held_in_part(parts, now);
        say(
            "Less ordered or taken from stock than the recipes call for",
            fresh,
            "Only what was ordered or taken counts; were others used, type what they cost.",
        );
        let then = "The rest stands as the recipes call for.";
        say("Orders and stock hold a part of what the recipes call for", goods, then);
        let uncounted = parts.iter().filter(|part| part.became.counted.is_none());
        say("Not counted in", names(&mut uncounted.map(|part| part.material)), "They stand as confirmed.");
        let unsaid = parts.iter().filter(|part| {
            self.is_fresh(part.material) && part.became.counted.is_some() && part.became.left.is_none()
        });
        let then = "All of it counts as used, and its recipes learn nothing.";
        say("Nobody said what was left over", names(&mut unsaid.map(|part| part.material)), then);
        say("No price is known", names(&mut now.unpriced.iter().copied()), "They count as nothing.");
        say("No making hours were typed for", untyped.to_owned(), "They stand as planned.");
        let tasks = hours.iter().filter(|row| row.actual.is_none() && row.planned > 0);
        let tasks: Vec<&str> = tasks.map(|row| row.task.label()).collect();
        say("No hours were typed", tasks.join(", "), "They stand as planned.");
        if self.work.worked(0).assumed.len() > 1 && self.work.version == 0 {
            said.push("Nobody said the event's crew and hours: they are assumed.".into());
        }
        said
    }

    /// What orders and stock hold less of than the recipes call for: flowers and foliage, and hard goods.
    fn held_in_part(&self, parts: &[Part], now: &Called) -> [String; 2] {
        let mut said = [Vec::new(), Vec::new()];
        for id in now.bare.keys() {
            let Some((held, called)) = self.held_of_called(*id, parts, now) else { continue };
            let Some(material) = self.material(*id).filter(|_| held < called) else { continue };
            let number = |number| self.studio.formats.number(number, 1);
            let words = format!("{}, {} of {}", material.name, number(held), number(called));
            said[usize::from(!self.is_fresh(*id))].push(words);
        }
        said.map(|words| words.join("; "))
    }

    /// Where the accepted version cost otherwise than the recipes cost now, at the same day's prices.
    fn recipes_changed(&self) -> Option<String> {
        let frozen = self.frozen.as_ref()?;
        let costing = Costing::of(self.studio, &self.book, &self.costs[0]);
        let now: Decimal = self.counts[0]
            .iter()
            .filter(|(_, count)| **count > 0)
            .filter_map(|(recipe, count)| {
                Some(costing.piece(*recipe, *count).ok()?.cost() * Decimal::from(*count))
            })
            .sum();
        let now = Money::rounded(now);
        let formats = self.studio.formats;
        ((now - frozen.cost).minor().abs() > 1).then(|| {
            let (then, now) = (formats.money(frozen.cost), formats.money(now));
            format!(
                "The accepted version cost {then} when it was sent; its pieces by their recipes of today {now}. Quoted is by today's."
            )
        })
    }

    fn invoicing(&self) -> Option<String> {
        let accepted = self.income.accepted?;
        let formats = self.studio.formats;
        if !self.income.any {
            return Some("Nothing was invoiced: income stands as accepted.".into());
        }
        let net = self.income.invoiced - self.income.credited;
        if !self.income.to_come.is_zero() {
            return Some(format!(
                "Invoiced so far, less credits: {} of {} accepted. What is still to be invoiced, {}, stands as accepted.",
                formats.money(net),
                formats.money(accepted),
                formats.money(self.income.to_come)
            ));
        }
        (net < accepted).then(|| {
            format!(
                "Invoiced so far, less credits: {} of {} accepted.",
                formats.money(net),
                formats.money(accepted)
            )
        })
    }
}
