//! A year by month: events, turnover and margin, enquiries lost, stems wasted, quotes won of sent.
//!
//! May import: `ground`.

use crate::ground::money::Money;

/// An event as the season counts it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counted {
    /// 0 is January.
    pub month: usize,
    /// How it ended, or that it was won.
    pub fate: Fate,
    /// Income without tax: the close-out's; before one as accepted, and what was invoiced where nothing was accepted.
    pub turnover: Money,
    /// What it cost, if anything says so.
    pub cost: Option<Money>,
    /// Whether the cost is that of its close-out.
    pub closed_out: bool,
}

impl Counted {
    /// Whether it was won and its income and cost are those of the accepted quote.
    #[must_use]
    pub fn is_by_quote(&self) -> bool {
        self.fate == Fate::Held && self.cost.is_some() && !self.closed_out
    }
}

/// What became of an enquiry.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Fate {
    /// Nothing is accepted yet.
    #[default]
    Open,
    /// A version was accepted, or it was closed.
    Held,
    /// Lost before any quote went out.
    LostUnquoted,
    /// Lost after a quote.
    LostQuoted,
    /// Called off.
    Cancelled,
}

/// Something counted on a month: stems or quotes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// 0 is January.
    pub month: usize,
    /// Stems that came.
    pub came: i64,
    /// Of them dead or broken.
    pub lost: i64,
    /// Lost at the bench.
    pub bench: i64,
    /// Thrown away, left over or from stock.
    pub thrown: i64,
    /// Quotes that first went out.
    pub sent: i64,
    /// Of them accepted since.
    pub won: i64,
}

/// One month.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Month {
    /// Events that were won.
    pub held: i64,
    /// Enquiries still open.
    pub open: i64,
    /// Lost before any quote.
    pub lost_unquoted: i64,
    /// Lost after a quote.
    pub lost_quoted: i64,
    /// Called off.
    pub cancelled: i64,
    /// Turnover of events that were won, and what those that were called off still brought.
    pub turnover: Money,
    /// Turnover of those whose cost is known, less that cost.
    pub margin: Money,
    /// Turnover of those whose cost is known.
    pub margin_of: Money,
    /// Events that are closed out: their cost is that of the close-out.
    pub closed_out: i64,
    /// Events that were won and stand as their accepted quote.
    pub by_quote: i64,
    /// Stems and quotes.
    pub tally: Tally,
}

impl Month {
    /// All lost enquiries.
    #[must_use]
    pub fn lost(&self) -> i64 {
        self.lost_unquoted + self.lost_quoted
    }

    /// All stems wasted.
    #[must_use]
    pub fn wasted(&self) -> i64 {
        self.tally.lost + self.tally.bench + self.tally.thrown
    }

    fn count(&mut self, event: &Counted) {
        let of = match event.fate {
            Fate::Open => &mut self.open,
            Fate::Held => &mut self.held,
            Fate::LostUnquoted => &mut self.lost_unquoted,
            Fate::LostQuoted => &mut self.lost_quoted,
            Fate::Cancelled => &mut self.cancelled,
        };
        *of += 1;
        if matches!(event.fate, Fate::Held | Fate::Cancelled) {
            self.turnover += event.turnover;
        }
        if let (Fate::Held, Some(cost)) = (event.fate, event.cost) {
            self.margin += event.turnover - cost;
            self.margin_of += event.turnover;
        }
        self.closed_out += i64::from(event.closed_out);
        self.by_quote += i64::from(event.is_by_quote());
    }

    fn add(&mut self, more: &Tally) {
        let tally = &mut self.tally;
        tally.came += more.came;
        tally.lost += more.lost;
        tally.bench += more.bench;
        tally.thrown += more.thrown;
        tally.sent += more.sent;
        tally.won += more.won;
    }

    fn and(&mut self, other: &Month) {
        self.held += other.held;
        self.open += other.open;
        self.lost_unquoted += other.lost_unquoted;
        self.lost_quoted += other.lost_quoted;
        self.cancelled += other.cancelled;
        self.turnover += other.turnover;
        self.margin += other.margin;
        self.margin_of += other.margin_of;
        self.closed_out += other.closed_out;
        self.by_quote += other.by_quote;
        self.add(&other.tally);
    }
}

/// The twelve months of a year. Rows of no month are left out.
///
/// ```
/// use trug::close_out::season::{Counted, Fate, months, year};
/// use trug::ground::money::Money;
/// let june = Counted {
///     month: 5,
///     fate: Fate::Held,
///     turnover: Money::from_minor(90_000),
///     cost: Some(Money::from_minor(50_000)),
///     closed_out: true,
/// };
/// let months = months(&[june, Counted { fate: Fate::LostQuoted, ..june }], &[]);
/// assert_eq!((months[5].held, months[5].lost(), months[5].margin.minor()), (1, 1, 40_000));
/// assert_eq!(year(&months), months[5]);
/// ```
#[must_use]
pub fn months(events: &[Counted], tallies: &[Tally]) -> [Month; 12] {
    let mut months = [Month::default(); 12];
    for event in events {
        if let Some(month) = months.get_mut(event.month) {
            month.count(event);
        }
    }
    for tally in tallies {
        if let Some(month) = months.get_mut(tally.month) {
            month.add(tally);
        }
    }
    months
}

/// All twelve together.
#[must_use]
pub fn year(months: &[Month; 12]) -> Month {
    let mut year = Month::default();
    for month in months {
        year.and(month);
    }
    year
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const FATES: [Fate; 5] = [Fate::Open, Fate::Held, Fate::LostUnquoted, Fate::LostQuoted, Fate::Cancelled];

    proptest! {
        /// Every event is counted once, and the months' money is the year's.
        #[test]
        fn the_year_is_its_months(rows in prop::collection::vec((0_usize..12, 0_usize..5, 0_i64..900_000, prop::option::of(0_i64..900_000)), 0..40)) {
            let events: Vec<Counted> = rows.iter().map(|(month, fate, turnover, cost)| Counted {
                month: *month,
                fate: FATES[*fate],
                turnover: Money::from_minor(*turnover),
                cost: cost.map(Money::from_minor),
                closed_out: false,
            }).collect();
            let year = year(&months(&events, &[]));
            let counted = year.held + year.open + year.lost() + year.cancelled;
            prop_assert_eq!(usize::try_from(counted).unwrap(), events.len());
            let known = events.iter().filter(|event| event.fate == Fate::Held && event.cost.is_some());
            let margin: Money = known.map(|event| event.turnover - event.cost.unwrap()).sum();
            prop_assert_eq!(year.margin, margin);
            prop_assert!(year.margin_of <= year.turnover);
        }
    }
}
