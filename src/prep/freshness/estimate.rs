//! The one estimate: the shares of life that a way uses up, what is left at the end, whether it is open, and how it stands.
//!
//! - share used by a stretch = hours ÷ life at its temperature; they add up, and 1 is the end of its life
//! - days left = what is not used × vase life at 20 °C, said in whole days, rounded down
//! - open = arrival + opening days, before guests see it
//!
//! **An estimate, never a promise.** May import: the room's curve, ageing and way, types of the price list. Measured nature, so
//! floating point.
#![expect(clippy::float_arithmetic, reason = "ageing is measured nature; no money")]

use jiff::civil::DateTime;
use jiff::{SignedDuration, Unit};
use rust_decimal::prelude::ToPrimitive;

use super::ageing::{Ageing, ROOM_CELSIUS, ageing};
use super::curve::Stretch;
use super::temperatures::Temperatures;
use super::way::{Journey, Leg, Place, way};
use crate::prep::plan::said;
use crate::price_list::Material;

const HOURS_A_DAY: f64 = 24.0;

/// How a material stands at the end of its event, the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Its life ends before the event does.
    EndsEarly,
    /// It is still shut when guests see it.
    Shut,
    /// Less than a day is left, or it stood longer in the cooler than it may be stored.
    LittleLeft,
    /// Nobody says how long it lasts.
    NotSaid,
    /// A day or more is left, and it is open.
    Fine,
}

impl Verdict {
    /// The word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::EndsEarly => "Ends early",
            Verdict::Shut => "Still shut",
            Verdict::LittleLeft => "Little left",
            Verdict::NotSaid => "Not said",
            Verdict::Fine => "Fine",
        }
    }

    /// The shape that goes with it.
    #[must_use]
    pub const fn shape(self) -> &'static str {
        match self {
            Verdict::EndsEarly | Verdict::Shut => "late",
            Verdict::LittleLeft => "part",
            Verdict::NotSaid => "off",
            Verdict::Fine => "done",
        }
    }
}

/// A stretch with what it uses up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Used {
    /// The stretch.
    pub leg: Leg,
    /// Life in days at its temperature, where a curve is known.
    pub life_days: Option<f64>,
    /// The share of life that it uses, where a curve is known.
    pub share: Option<f64>,
}

/// What is left at the end of an event.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// The moments of its way.
    pub journey: Journey,
    /// The way with what each stretch uses.
    pub way: Vec<Used>,
    /// How its life is reckoned.
    pub ageing: Ageing,
    /// The share of life that is used at the end.
    pub used: Option<f64>,
    /// Days left at 20 °C.
    pub days_left: Option<f64>,
    /// When its life ends, where that is before the event does.
    pub over_at: Option<DateTime>,
    /// When it is open; none where there is nothing to open.
    pub open_from: Option<DateTime>,
    /// Hours in the cooler beyond those for which it may be stored.
    pub stored_too_long: bool,
    /// How it stands.
    pub verdict: Verdict,
}

/// Estimates what is left of a material at the end of its way.
///
/// ```
/// use trug::prep::freshness::estimate::{Verdict, estimate};
/// use trug::prep::freshness::temperatures::Temperatures;
/// use trug::prep::freshness::way::Journey;
/// # use trug::price_list::{Care, CareSource, Material, MaterialKind, Unit};
/// # use trug::ground::{caution::Cautions, ids::MaterialId, money::Money};
/// # let flower = |care| Material {
/// #     id: MaterialId(1), version: 1, name: "Stock, white".into(), kind: MaterialKind::Flower, colour: String::new(),
/// #     grade: String::new(), unit: Unit::Stem, head_class: None, usable_length: None, loss: None,
/// #     preferred_supplier_id: None, inner_height: None, inner_diameter: None, loaned: false, owned: 0,
/// #     loan_fee: Money::ZERO, spare_per: 0, care, cautions: Cautions::default(), note: String::new(),
/// # };
/// let care = Care {
///     conditioning_minutes: 0, hydrate_hours: 0, opening_days: 0, holding_days: Some(10), storage_celsius: Some(2),
///     vase_days: Some(5), cut_keeps_hours: None, source: CareSource::Own,
/// };
/// let at = |text: &str| text.parse().unwrap();
/// let journey = Journey {
///     arrives: at("2026-05-14T08:00"), made_from: at("2026-05-15T08:00"), made_by: at("2026-05-15T18:00"),
///     leaves: at("2026-05-16T08:00"), on_site: at("2026-05-16T08:00"), seen: at("2026-05-16T14:00"),
///     ends: at("2026-05-16T20:00"),
/// };
/// // A day in the cooler of 10 days, a day and a half at 20 °C of 5 days: 10 % + 30 %; 60 % of 5 days is left.
/// let all_at_20 = Temperatures { bench: 20, venue: 20, ..Temperatures::USUAL };
/// let found = estimate(&flower(care), journey, &all_at_20);
/// assert_eq!(found.used.map(|used| format!("{used:.3}")).as_deref(), Some("0.400"));
/// assert_eq!((found.whole_days_left(), found.verdict), (Some(3), Verdict::Fine));
/// ```
#[must_use]
pub fn estimate(material: &Material, journey: Journey, temperatures: &Temperatures) -> Estimate {
    let journey = journey.in_order();
    let care = &material.care;
    let ageing = ageing(&material.name, care, temperatures.q10);
    let legs = way(care, &journey, temperatures);
    let stretches: Vec<Stretch> = legs.iter().map(stretch).collect();
    let curve = match &ageing {
        Ageing::Curve(curve, _) => Some(curve),
        Ageing::Tender { .. } | Ageing::NotSaid => None,
    };
    let used = legs.iter().zip(&stretches).map(|(leg, stretch)| Used {
        leg: *leg,
        life_days: curve.map(|curve| curve.days_at(stretch.celsius)),
        share: curve.map(|curve| curve.share_used(std::slice::from_ref(stretch))),
    });
    let over = curve.and_then(|curve| curve.ends_after(&stretches));
    let mut found = Estimate {
        journey,
        way: used.collect(),
        ageing,
        used: curve.map(|curve| curve.share_used(&stretches)),
        days_left: curve.map(|curve| curve.days_left(&stretches, ROOM_CELSIUS)),
        over_at: over.and_then(|hours| {
            journey.arrives.checked_add(SignedDuration::try_from_secs_f64(hours * 3600.0).ok()?).ok()
        }),
        open_from: journey.open_from(care),
        stored_too_long: stored_too_long(care.holding_days, &legs),
        verdict: Verdict::Fine,
    };
    found.verdict = found.judged();
    found
}

fn stretch(leg: &Leg) -> Stretch {
    Stretch { hours: leg.hours(), celsius: leg.celsius.to_f64().unwrap_or(ROOM_CELSIUS) }
}

fn stored_too_long(holding_days: Option<i64>, legs: &[Leg]) -> bool {
    let stored: f64 = legs.iter().filter(|leg| leg.place == Place::Cooler).map(Leg::hours).sum();
    holding_days.and_then(|days| days.to_f64()).is_some_and(|days| stored > days * HOURS_A_DAY)
}

impl Estimate {
    fn judged(&self) -> Verdict {
        let shut = self.open_from.is_some_and(|open| open > self.journey.seen);
        let age = match self.ageing {
            Ageing::Curve(..) if self.used.is_some_and(|used| used >= 1.0) => Verdict::EndsEarly,
            Ageing::Curve(..) if self.days_left.is_some_and(|left| left < 1.0) => Verdict::LittleLeft,
            Ageing::Tender { vase, holding } if self.days() > vase.max(holding) => Verdict::EndsEarly,
            Ageing::Tender { vase, holding } if self.days() > vase.min(holding) => Verdict::LittleLeft,
            Ageing::NotSaid => Verdict::NotSaid,
            _ if self.stored_too_long => Verdict::LittleLeft,
            _ => Verdict::Fine,
        };
        if shut { age.min(Verdict::Shut) } else { age }
    }

    /// Days from the arrival to the event's end.
    #[must_use]
    pub fn days(&self) -> f64 {
        self.way.iter().map(|used| used.leg.hours()).sum::<f64>() / HOURS_A_DAY
    }

    /// Whole days left, rounded down; none where nobody says how long it lasts.
    #[must_use]
    pub fn whole_days_left(&self) -> Option<i64> {
        self.days_left?.floor().to_i64()
    }

    /// Hundredths of life used, at most 100; none where nobody says.
    #[must_use]
    pub fn hundredths(&self) -> Option<i64> {
        (self.used? * 100.0).round().min(100.0).to_i64()
    }

    /// Whether someone has to look at it.
    #[must_use]
    pub fn wants_a_look(&self) -> bool {
        matches!(self.verdict, Verdict::EndsEarly | Verdict::Shut | Verdict::LittleLeft)
    }

    /// Whether it opens only after it is made up, though before guests see it.
    #[must_use]
    pub fn opens_in_the_piece(&self) -> bool {
        self.open_from.is_some_and(|open| open > self.journey.made_from && open <= self.journey.seen)
    }

    /// Whether it stays shut to the end.
    #[must_use]
    pub fn shut_to_the_end(&self) -> bool {
        self.open_from.is_some_and(|open| open >= self.journey.ends)
    }

    /// About when its life ends, to the hour: an estimate knows no minutes.
    #[must_use]
    pub fn over_about(&self) -> Option<String> {
        self.over_at.map(|over| said(over.round(Unit::Hour).unwrap_or(over)))
    }

    /// What is wrong, in a sentence; none where nothing is or only little is left.
    #[must_use]
    pub fn trouble(&self, name: &str) -> Option<String> {
        let open = self.open_from.filter(|open| *open > self.journey.seen);
        let shut = open.map(|open| {
            let when = if self.shut_to_the_end() { "only after the event" } else { "about" };
            format!("{name} opens {when} {}; guests come {}.", said(open), said(self.journey.seen))
        });
        let over = match (self.verdict, self.over_about()) {
            (Verdict::EndsEarly, Some(over)) => {
                let ends = said(self.journey.ends);
                Some(format!("{name} is estimated to be over about {over}, before the event ends {ends}."))
            }
            (Verdict::EndsEarly, None) => {
                Some(format!("{name} is here longer than it keeps when the event ends."))
            }
            _ => None,
        };
        let words: Vec<String> = over.into_iter().chain(shut).collect();
        (!words.is_empty()).then(|| words.join(" "))
    }

    /// What stands on a sheet: `About 3 days left at the end of the event (an estimate)`; none where nothing is known.
    #[must_use]
    pub fn line(&self) -> Option<String> {
        let left = match (self.verdict, self.whole_days_left()) {
            (Verdict::EndsEarly, _) => Some("May be past its best before the event ends".to_owned()),
            (_, Some(0)) => Some("Less than a day left at the end of the event".into()),
            (_, Some(1)) => Some("About 1 day left at the end of the event".into()),
            (_, Some(days)) => Some(format!("About {days} days left at the end of the event")),
            (_, None) => None,
        };
        let shut = self.open_from.is_some_and(|open| open > self.journey.seen);
        let shut = shut.then(|| "still shut when guests come".to_owned());
        let words: Vec<String> = left.into_iter().chain(shut).collect();
        (!words.is_empty()).then(|| format!("{} (an estimate)", words.join("; ")))
    }
}

#[cfg(test)]
mod tests;
