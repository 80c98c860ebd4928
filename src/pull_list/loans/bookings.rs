//! What is lent to whom in some days, and what is short: from events, pieces and what was counted back (C10).
//!
//! An event holds what its pull list takes from the day it leaves the shelf to the day it is back, both included.
//! Once a material was counted back, it is free from that day on, but for those that are still out. Nothing is booked
//! for an event that was lost or called off, nor twice for what was lost: that is no longer owned.
//!
//! May import: types and calculations of this room and of the rooms before it.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::holds::{Hold, Stretch, stretches};
use super::{Count, Period};
use crate::events::{Event, Piece};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId};
use crate::ground::plural::plural;
use crate::price_list::{Material, UnitCost};
use crate::pull_list::pull;
use crate::recipes::RecipeBook;
use crate::recipes::explosion::ExplosionError;

/// The days that are looked at, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The first.
    pub from: Day,
    /// The last.
    pub to: Day,
}

/// An event with what it may be lent.
#[derive(Debug, Clone)]
pub struct Borrower {
    /// Which.
    pub event: Event,
    /// From when to when it keeps it.
    pub period: Period,
    /// Its pieces.
    pub pieces: Vec<Piece>,
    /// How it was counted back, if it was.
    pub count: Option<Count>,
}

/// Everything that bookings are computed from.
#[derive(Debug, Clone)]
pub struct LoanInputs {
    /// Which days are looked at.
    pub span: Span,
    /// Who holds something then.
    pub borrowers: Vec<Borrower>,
    /// Their recipes.
    pub book: RecipeBook,
    /// Everything the studio lends.
    pub materials: HashMap<MaterialId, Material>,
    /// What each costs to buy, where the price list knows it.
    pub costs: HashMap<MaterialId, UnitCost>,
}

/// What is lent in some days.
#[derive(Debug, Clone)]
pub struct Bookings {
    /// To whom.
    pub loans: Vec<EventLoans>,
    /// Each material that is lent, by name.
    pub materials: Vec<MaterialLoans>,
}

/// What one event is lent.
#[derive(Debug, Clone)]
pub struct EventLoans {
    /// Which event, with what is known of it.
    pub borrower: Borrower,
    /// How many of each material: as it was counted, else as the pull list says.
    pub taken: BTreeMap<MaterialId, i64>,
    /// Whether the count of a piece is still open, so that more may be taken.
    pub open: bool,
}

/// Who holds a material when.
#[derive(Debug, Clone)]
pub struct MaterialLoans {
    /// Which.
    pub material: Material,
    /// What it costs to buy, where the price list knows it.
    pub cost: Option<UnitCost>,
    /// By whom it is held, in order, within the days looked at.
    pub stretches: Vec<Stretch>,
}

/// The bookings of some days.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn bookings(inputs: LoanInputs, formats: &Formats) -> Result<Bookings, ExplosionError> {
    let LoanInputs { span, borrowers, book, mut materials, costs } = inputs;
    let mut loans = Vec::new();
    for borrower in borrowers {
        // What was counted as still out is out, even of an event that was called off since.
        let mut taken = if borrower.event.is_open() {
            pull::lent(&borrower.event, &borrower.pieces, &book, formats)?
        } else {
            BTreeMap::new()
        };
        taken.retain(|_, count| *count > 0);
        taken.extend(
            borrower.count.iter().flat_map(|count| &count.lines).map(|line| (line.material, line.taken)),
        );
        let open = borrower.pieces.iter().any(|piece| borrower.event.count_of(piece).is_none());
        loans.push(EventLoans { borrower, taken, open });
    }
    // A material that is no longer lent is still looked for where it is out.
    let out: BTreeSet<MaterialId> = loans.iter().flat_map(|loan| loan.taken.keys().copied()).collect();
    for id in out {
        if let (false, Some(material)) = (materials.contains_key(&id), book.materials.get(&id)) {
            materials.insert(id, material.clone());
        }
    }
    let held = |material: Material| {
        let holds: Vec<Hold> = loans.iter().flat_map(|loan| loan.holds(material.id, span)).collect();
        MaterialLoans { cost: costs.get(&material.id).cloned(), material, stretches: stretches(&holds) }
    };
    let mut materials: Vec<MaterialLoans> = materials.into_values().map(held).collect();
    materials.sort_by_cached_key(|loans| loans.material.name.to_lowercase());
    Ok(Bookings { loans, materials })
}

impl EventLoans {
    /// An event that is lent nothing.
    #[must_use]
    pub fn nothing(event: Event, period: Period) -> EventLoans {
        let borrower = Borrower { event, period, pieces: Vec::new(), count: None };
        EventLoans { borrower, taken: BTreeMap::new(), open: false }
    }

    /// When it holds how many of a material, within some days.
    fn holds(&self, material: MaterialId, span: Span) -> Vec<Hold> {
        let Borrower { event, period, count, .. } = &self.borrower;
        let Some(taken) = self.taken.get(&material) else { return Vec::new() };
        let hold = |from: Day, to: Day, count: i64| Hold {
            event: event.id,
            from: from.max(span.from),
            to: to.min(span.to),
            count,
        };
        let leaves = period.leaves(event.day);
        let counted = count.as_ref().and_then(|count| Some((count.on, count.line(material)?)));
        match counted {
            None => vec![hold(leaves, period.returns(event.day), *taken)],
            Some((on, line)) => {
                vec![hold(leaves, on.plus(-1), line.taken), hold(on.max(leaves), span.to, line.still_out())]
            }
        }
    }

    /// Whether it should have been counted back by a day and was not.
    #[must_use]
    pub fn is_due(&self, today: Day) -> bool {
        let Borrower { event, period, count, .. } = &self.borrower;
        let all_counted =
            count.as_ref().is_some_and(|count| self.taken.keys().all(|id| count.line(*id).is_some()));
        event.ended.is_none() && !all_counted && !self.taken.is_empty() && period.returns(event.day) <= today
    }
}

impl MaterialLoans {
    /// The stretches of days on which more is held than owned.
    pub fn shortfalls(&self) -> impl Iterator<Item = &Stretch> {
        self.stretches.iter().filter(|stretch| stretch.short(self.material.owned) > 0)
    }

    /// The largest shortfall: so many to buy, and none is short.
    #[must_use]
    pub fn most_short(&self) -> i64 {
        self.shortfalls().map(|stretch| stretch.short(self.material.owned)).max().unwrap_or(0)
    }

    /// The worst stretch that an event takes part in, if it is short.
    #[must_use]
    pub fn worst_for(&self, event: EventId) -> Option<&Stretch> {
        let owned = self.material.owned;
        let with = self.shortfalls().filter(|stretch| stretch.held_by(event) > 0);
        // The first of equals.
        with.reduce(|worst, next| if next.short(owned) > worst.short(owned) { next } else { worst })
    }

    /// Hire for the days, or buy for good, with what buying costs.
    #[must_use]
    pub fn proposal(&self, stretch: &Stretch, formats: &Formats) -> String {
        let (short, most) = (stretch.short(self.material.owned), self.most_short());
        let words = if short == most {
            format!("Hire {short} or buy {short}.")
        } else {
            format!("Hire {short}, or buy {most} for all days.")
        };
        match self.buying(most, *formats) {
            Some(buying) => format!("{words} {buying}"),
            None => words,
        }
    }

    /// `Buying costs €96.00: 2 cases of 6 × €48.00 (Meadow & Mill).`: whole packs, enough for so many; none without a price.
    fn buying(&self, count: i64, formats: Formats) -> Option<String> {
        let cost = self.cost.as_ref().filter(|cost| cost.pack_size > 0)?;
        let packs = count / cost.pack_size + i64::from(count % cost.pack_size > 0);
        let pack = match cost.pack_size {
            1 => String::new(),
            size => format!(" {} of {size}", plural(&cost.pack_name, packs)),
        };
        Some(format!(
            "Buying costs {}: {packs}{pack} × {} ({}).",
            formats.money(cost.pack_price.times(packs)),
            formats.money(cost.pack_price),
            cost.supplier_name
        ))
    }
}

impl Bookings {
    /// The same for those who see no money.
    #[must_use]
    pub fn without_costs(mut self) -> Bookings {
        for loans in &mut self.materials {
            loans.cost = None;
        }
        self
    }

    /// What one event is lent.
    #[must_use]
    pub fn of(&self, event: EventId) -> Option<&EventLoans> {
        self.loans.iter().find(|loans| loans.borrower.event.id == event)
    }

    /// A material.
    #[must_use]
    pub fn material(&self, id: MaterialId) -> Option<&Material> {
        self.materials.iter().map(|loans| &loans.material).find(|material| material.id == id)
    }

    /// An event's name.
    #[must_use]
    pub fn name(&self, event: EventId) -> &str {
        self.of(event).map_or("", |loans| loans.borrower.event.name.as_str())
    }

    /// What is short for an event because others hold it on the same days:
    /// `Brass candlestick: 2 short on Fri 15 to Sun 17 May 2026 with Rowing club supper. …`
    #[must_use]
    pub fn shared_shortfalls(&self, event: EventId, formats: &Formats) -> Vec<String> {
        let worst = self.materials.iter().filter_map(|loans| Some((loans, loans.worst_for(event)?)));
        let shared = worst.filter(|(_, stretch)| stretch.by.len() > 1);
        shared.map(|(loans, stretch)| self.sentence(event, loans, stretch, *formats)).collect()
    }

    /// What is short for an event, whether or not others hold it too.
    #[must_use]
    pub fn shortfalls_of(&self, event: EventId, formats: &Formats) -> Vec<String> {
        let worst = self.materials.iter().filter_map(|loans| Some((loans, loans.worst_for(event)?)));
        worst.map(|(loans, stretch)| self.sentence(event, loans, stretch, *formats)).collect()
    }

    fn sentence(&self, event: EventId, loans: &MaterialLoans, stretch: &Stretch, formats: Formats) -> String {
        let others = stretch.by.iter().filter(|(holder, _)| *holder != event);
        let others: Vec<&str> = others.map(|(holder, _)| self.name(*holder)).collect();
        let with = if others.is_empty() { String::new() } else { format!(" with {}", others.join(" and ")) };
        let (owned, booked) = (loans.material.owned, stretch.booked);
        format!(
            "{}: {} short on {}{with}. {booked} are wanted, the studio owns {owned}. {}",
            loans.material.name,
            stretch.short(owned),
            days(stretch.from, stretch.to, &formats),
            loans.proposal(stretch, &formats)
        )
    }
}

/// `Fri 15 May 2026 to Sun 17 May 2026`, or one day.
#[must_use]
pub fn days(from: Day, to: Day, formats: &Formats) -> String {
    if from == to {
        formats.weekday(from)
    } else {
        format!("{} to {}", formats.weekday(from), formats.weekday(to))
    }
}

#[cfg(test)]
mod tests;
