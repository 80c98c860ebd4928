//! Why something cannot be had, and what would mend it, in words.

use super::UnmetNeed;
use crate::ground::dates::{Day, Season};
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, SupplierId};
use crate::ground::money::Money;
use crate::price_list::Supplier;
use crate::price_list::calendar_words::{months, weekdays};
use crate::stem_order::buying_plan::Reason;
use crate::stem_order::calendar::{Deliveries, LocalTime, delivers, first_day, order_by};
use crate::stem_order::posed::{LeftOutCause, Market, Want, day};
use crate::stem_order::weekend::Weekend;

/// Why a need is unmet of which nobody knows yet whether it can be had.
pub const UNDECIDED: &str = "The plan was stopped before it came to an answer for this.";

/// What mends a passed cut-off.
const RING: &str = "Ring them, then choose that delivery day above to plan with it all the same.";

/// That a supplier has a pack of a material, in which months, whatever the day and the price.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sold {
    /// Of what.
    pub material: MaterialId,
    /// Whose.
    pub supplier: SupplierId,
    /// In which months.
    pub season: Season,
}

/// What the reasons are told from.
pub(super) struct Reasons<'a> {
    pub(super) weekend: &'a Weekend,
    pub(super) market: &'a Market,
    pub(super) sold: &'a [Sold],
    pub(super) asked: Deliveries,
    pub(super) now: LocalTime,
    pub(super) formats: &'a Formats,
}

impl Reasons<'_> {
    pub(super) fn left_out(&self, need: usize, part: usize, cause: &LeftOutCause) -> UnmetNeed {
        let (why, mend) = match cause {
            LeftOutCause::EmptyWindow(empty) => (
                empty.sentence(self.formats),
                "Make the piece nearer to the event, check the care figures, or plan for one delivery day chosen by you."
                    .to_owned(),
            ),
            LeftOutCause::TooMany => {
                ("That is more than one order can hold.".to_owned(), "Check the counts and recipes.".to_owned())
            }
        };
        self.unmet(need, part, self.weekend.needs[need].parts[part].stems, why, mend)
    }

    pub(super) fn of(&self, want: &Want, reason: &Reason) -> UnmetNeed {
        let (why, mend) = match *reason {
            Reason::NoOffer | Reason::NoneDeliveredInWindow { .. } => self.not_to_be_had(want),
            Reason::MostPacksTooFew { available } => self.too_few(want, available),
            Reason::LeastOrderNotReached { supplier, date, least, reachable } => {
                self.least_order(supplier, day(date), least, reachable)
            }
            Reason::NotDecidedInTime => {
                (UNDECIDED.into(), "Ask again, or order fewer events together.".into())
            }
        };
        self.unmet(want.need, want.part, want.stems, why, mend)
    }

    fn unmet(&self, need: usize, part: usize, stems: i64, why: String, mend: String) -> UnmetNeed {
        let need = &self.weekend.needs[need];
        let name = self.weekend.material(need.material).map(|material| material.name.clone());
        UnmetNeed {
            event: need.parts[part].event,
            material: need.material,
            name: name.unwrap_or_default(),
            stems,
            why,
            mend,
        }
    }

    fn least_order(&self, supplier: usize, on: Day, least: i64, reachable: i64) -> (String, String) {
        let name = self.market.suppliers.get(supplier).map_or("The supplier", |supplier| &supplier.name);
        let why = format!(
            "{name} delivers on {} only for {} or more, and no more than {} can be spent there.",
            self.formats.weekday(on),
            self.formats.money(Money::from_minor(least)),
            self.formats.money(Money::from_minor(reachable))
        );
        (why, "Ask them for an exception, raise the most packs of an offer, or allow a substitute.".into())
    }

    /// Nobody sells it; or not in this season; or not at a known price; or none is delivered in time.
    fn not_to_be_had(&self, want: &Want) -> (String, String) {
        let names = self.names(want);
        let sold: Vec<&Sold> =
            self.sold.iter().filter(|sold| want.accepts.iter().any(|(id, _)| *id == sold.material)).collect();
        if sold.is_empty() {
            let mend = "Enter a supplier's offer in the price list, or allow a substitute in the recipe.";
            return (format!("Nobody on the price list sells {names}."), mend.into());
        }
        let days = self.wanted_days(want);
        let in_season: Vec<&Sold> =
            sold.iter().filter(|sold| days.iter().any(|day| sold.season.has(*day))).copied().collect();
        if in_season.is_empty() {
            let seasons = self.listed(&sold, |sold, _| months(sold.season));
            let mend = "Allow a substitute that is in season, or enter another offer.";
            return (format!("{names}: no offer in season then. {seasons}."), mend.into());
        }
        self.not_delivered(&names, &in_season, &days)
    }

    fn not_delivered(&self, names: &str, sold: &[&Sold], days: &[Day]) -> (String, String) {
        let (Some(first), Some(last)) = (days.first(), days.last()) else {
            return (format!("{names} cannot arrive on any day."), String::new());
        };
        let when = if first == last {
            format!("on {}", self.formats.weekday(*first))
        } else {
            format!("from {} to {}", self.formats.weekday(*first), self.formats.weekday(*last))
        };
        let (late, open): (Vec<_>, Vec<_>) =
            self.deliveries(sold, days).into_iter().partition(|(supplier, day)| self.late(supplier, *day));
        let closed =
            late.into_iter().max_by_key(|(_, day)| *day).map(|(supplier, on)| self.closed(supplier, on));
        match (open.is_empty(), closed) {
            (true, Some(closed)) => (format!("{names} must arrive {when}; {closed}."), RING.into()),
            (false, None) => (
                format!("No price of {names} holds {when}."),
                "Enter the present price in the price list.".into(),
            ),
            (false, Some(closed)) => (
                format!("No price of {names} holds on the days that are still open {when}; {closed}."),
                format!("Enter the present price in the price list. Or: {RING}"),
            ),
            (true, None) => self.nobody_delivers(names, &when, sold, days),
        }
    }

    fn nobody_delivers(&self, names: &str, when: &str, sold: &[&Sold], days: &[Day]) -> (String, String) {
        if let Some(closed) = self.closed_then(sold, days) {
            let mend =
                "Ask them whether they bring it on another day, allow a substitute, or enter another offer.";
            return (format!("{names} must arrive {when}, and {closed}."), mend.into());
        }
        let calendar = self.listed(sold, |_, supplier| weekdays(supplier.delivery_weekdays));
        (
            format!("{names} must arrive {when}, and nobody who sells it delivers then. {calendar}."),
            "Allow a substitute, or choose a delivery day above to plan with it all the same.".into(),
        )
    }

    /// Too few packs of what can still be ordered; and whether a delivery would help whose orders have closed.
    fn too_few(&self, want: &Want, available: i64) -> (String, String) {
        let days = self.wanted_days(want);
        let sold: Vec<&Sold> =
            self.sold.iter().filter(|sold| want.accepts.iter().any(|(id, _)| *id == sold.material)).collect();
        let deliveries = self.deliveries(&sold, &days).into_iter();
        let late = deliveries.filter(|(supplier, day)| self.late(supplier, *day)).max_by_key(|(_, day)| *day);
        let few = format!("Only {available} of {} can be had", want.stems);
        match late.map(|(supplier, on)| self.closed(supplier, on)) {
            Some(closed) => (format!("{few} from what is still open; {closed}."), RING.into()),
            None => (
                format!("{few}: the offers allow no more packs a delivery."),
                "Raise the most packs of an offer, enter another supplier's, or allow a substitute.".into(),
            ),
        }
    }

    /// Who would bring any of it on which of these days, in season.
    fn deliveries(&self, sold: &[&Sold], days: &[Day]) -> Vec<(&Supplier, Day)> {
        let mut deliveries = Vec::new();
        for sold in sold {
            let Some(supplier) = self.supplier(sold.supplier) else { continue };
            let comes = |day: &&Day| sold.season.has(**day) && delivers(supplier, **day, &self.market.closed);
            deliveries.extend(days.iter().filter(comes).map(|day| (supplier, *day)));
        }
        deliveries
    }

    /// `Hill Farm's delivery of Thu 14 May would do, but its orders closed on Tue 12 May 11:00`.
    fn closed(&self, supplier: &Supplier, on: Day) -> String {
        let closed = order_by(supplier, on, &self.market.closed);
        format!(
            "{}'s delivery of {} would do, but its orders closed on {} {}",
            supplier.name,
            self.formats.weekday(on),
            self.formats.weekday(closed.day),
            closed.time
        )
    }

    /// `Hill Farm does not deliver on Thu 14 May 2026 (closed: Ascension Day)`, of all whose weekday it would be.
    fn closed_then(&self, sold: &[&Sold], days: &[Day]) -> Option<String> {
        let mut closings: Vec<String> = Vec::new();
        for supplier in sold.iter().filter_map(|sold| self.supplier(sold.supplier)) {
            for day in days.iter().filter(|day| supplier.delivery_weekdays.has(**day)) {
                let Some(closed) = self.market.closed.closing(supplier.id, *day) else { continue };
                let on = self.formats.weekday(*day);
                closings
                    .push(format!("{} does not deliver on {on} (closed: {})", supplier.name, closed.name));
            }
        }
        closings.sort();
        closings.dedup();
        (!closings.is_empty()).then(|| closings.join(", "))
    }

    fn late(&self, supplier: &Supplier, on: Day) -> bool {
        matches!(self.asked, Deliveries::ByCalendar) && order_by(supplier, on, &self.market.closed) < self.now
    }

    fn supplier(&self, id: SupplierId) -> Option<&Supplier> {
        self.market.suppliers.iter().find(|supplier| supplier.id == id)
    }

    fn names(&self, want: &Want) -> String {
        let names = want.accepts.iter().filter_map(|(id, _)| self.weekend.material(*id));
        names.map(|material| material.name.as_str()).collect::<Vec<_>>().join(" or ")
    }

    /// Every day on which any of the accepted materials may arrive.
    fn wanted_days(&self, want: &Want) -> Vec<Day> {
        let first = want.accepts.iter().map(|(_, window)| first_day(window)).min();
        let last = want.accepts.iter().map(|(_, window)| window.latest).max();
        let (Some(first), Some(last)) = (first, last) else { return Vec::new() };
        (0..=last.days_after(first)).map(|later| first.plus(later)).collect()
    }

    /// `Hill Farm: Mon, Thu; Dock Street: Tue`.
    fn listed(&self, sold: &[&Sold], words: impl Fn(&Sold, &Supplier) -> String) -> String {
        let mut lines: Vec<String> = sold
            .iter()
            .filter_map(|sold| {
                let supplier = self.supplier(sold.supplier)?;
                Some(format!("{}: {}", supplier.name, words(sold, supplier)))
            })
            .collect();
        lines.sort();
        lines.dedup();
        lines.join("; ")
    }
}
