//! When flowers must arrive: the make day of each recipe, the arrival window of a material for an event, and the
//! first day on which foliage may be cut.
//!
//! Days, not hours: a wholesaler promises a day. All rules here are common practice, no published source, except
//! where a material brings its own published holding life.
//!
//! May import `ground`, `price_list` and `recipes` types.

use std::collections::BTreeMap;

use thiserror::Error;

use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::RecipeId;
use crate::price_list::{Care, Material};
use crate::recipes::{Ingredient, RecipeBook};

/// A piece that holds at least so long is made the day before its event, all others on the day.
pub const MADE_THE_DAY_BEFORE: i64 = 24;

/// Hours a delivery of the same morning can stand in water before the bench wants it: from ten to two in the
/// afternoon (common practice, no published source).
pub const SAME_DAY_HOURS: i64 = 4;

/// Hours a delivery of the morning before can stand in water where the bench wants it on the event's own day:
/// from ten to seven the next morning (common practice, no published source).
pub const OVERNIGHT_HOURS: i64 = 21;

/// Days a fresh material is taken to keep after arrival where the price list does not say
/// (common practice, no published source: most mass flowers arrive two to three days before use).
pub const ASSUMED_HOLDING_DAYS: i64 = 5;

/// The days on which a material may arrive for an event, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ArrivalWindow {
    /// Not earlier: event day − holding life. None where it does not wilt.
    pub earliest: Option<Day>,
    /// Not later: make day − conditioning.
    pub latest: Day,
    /// The day on which it is used.
    pub make_day: Day,
    /// Days it stands in water or opens before use.
    pub conditioning_days: i64,
    /// Days it keeps after arrival.
    pub holding_days: Option<i64>,
    /// Whether the holding life is [`ASSUMED_HOLDING_DAYS`] for want of a figure.
    pub assumed: bool,
}

/// A material that cannot be ready and still good: it would have to arrive by a day on which it is too early.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "{material} keeps {holding} days, so it must not arrive before {earliest}, but it needs {conditioning} days \
    before it is used on {make_day}, so it must arrive by {latest}."
)]
pub struct EmptyWindow {
    /// Its name.
    pub material: String,
    /// Days it keeps after arrival.
    pub holding: i64,
    /// Days it stands in water or opens before use.
    pub conditioning: i64,
    /// The day on which it is used.
    pub make_day: Day,
    /// Not earlier.
    pub earliest: Day,
    /// Not later.
    pub latest: Day,
}

impl EmptyWindow {
    /// What is in the way, with days by the studio's style.
    #[must_use]
    pub fn sentence(&self, formats: &Formats) -> String {
        format!(
            "{} keeps {} days, so it must not arrive before {}, but it needs {} days before it is used on {}, \
            so it must arrive by {}.",
            self.material,
            self.holding,
            formats.weekday(self.earliest),
            self.conditioning,
            formats.weekday(self.make_day),
            formats.weekday(self.latest)
        )
    }
}

impl ArrivalWindow {
    /// `from Mon 11 May 2026 (keeps 5 days) to Wed 13 May 2026 (1 day in water or opening before it is used on …)`.
    #[must_use]
    pub fn working(&self, formats: &Formats) -> String {
        let use_day = formats.weekday(self.make_day);
        let latest = match self.conditioning_days {
            0 if self.latest < self.make_day => {
                format!("by {}, before it is used on {use_day}", formats.weekday(self.latest))
            }
            0 => format!("by {}, when it is used", formats.weekday(self.latest)),
            1 => {
                format!("by {}: a day in water before it is used on {use_day}", formats.weekday(self.latest))
            }
            days => {
                format!("by {}: {days} days before it is used on {use_day}", formats.weekday(self.latest))
            }
        };
        match (self.earliest, self.holding_days) {
            (Some(earliest), Some(days)) if self.assumed => format!(
                "arrives from {} (how long it keeps is not known, {days} days are taken) {latest}",
                formats.weekday(earliest)
            ),
            (Some(earliest), Some(days)) => {
                format!("arrives from {} (keeps {days} days) {latest}", formats.weekday(earliest))
            }
            _ => format!("arrives {latest}"),
        }
    }

    /// Whether a delivery on the day is in time and not too early.
    #[must_use]
    pub fn holds(&self, day: Day) -> bool {
        day <= self.latest && self.earliest.is_none_or(|earliest| earliest <= day)
    }
}

/// The day on which a piece is made: the day before its event where it holds for at least
/// [`MADE_THE_DAY_BEFORE`] hours, else on the day.
///
/// ```
/// use trug::stem_order::windows::make_day;
/// let saturday = "2026-05-16".parse()?;
/// assert_eq!(make_day(saturday, 24), "2026-05-15".parse()?);
/// assert_eq!(make_day(saturday, 8), saturday); // a buttonhole
/// # Ok::<(), jiff::Error>(())
/// ```
#[must_use]
pub fn make_day(event_day: Day, holding_hours: i64) -> Day {
    if holding_hours >= MADE_THE_DAY_BEFORE { event_day.plus(-1) } else { event_day }
}

/// The make day of every recipe in an event, parts too. A part is made no later than what it goes into.
/// Recipes that are not in the book are left out; a loop ends the walk.
#[must_use]
pub fn make_days(
    book: &RecipeBook,
    event_day: Day,
    pieces: impl IntoIterator<Item = RecipeId>,
) -> BTreeMap<RecipeId, Day> {
    let mut days = BTreeMap::new();
    let mut open: Vec<(RecipeId, Day)> = pieces.into_iter().map(|recipe| (recipe, event_day)).collect();
    while let Some((id, by)) = open.pop() {
        let Some(recipe) = book.recipes.get(&id) else { continue };
        let day = make_day(event_day, recipe.holding_hours).min(by);
        // Days only ever move earlier, so a loop is not walked twice.
        if days.get(&id).is_some_and(|known| *known <= day) {
            continue;
        }
        days.insert(id, day);
        open.extend(recipe.lines.iter().filter_map(|line| match line.ingredient {
            Ingredient::Part(part) => Some((part, day)),
            Ingredient::Material(_) => None,
        }));
    }
    days
}

/// Whole days between arrival and use, for the longer of standing in water and opening, since buds open in water.
///
/// On a bench day before the event up to [`SAME_DAY_HOURS`] need no day, more than that each started 24 hours one.
/// On the event's own day nothing that arrives that morning is in time: up to [`OVERNIGHT_HOURS`] need one day,
/// more than that each started 24 hours another.
///
/// ```
/// use trug::price_list::{Care, CareSource};
/// use trug::stem_order::windows::conditioning_days;
/// let care = |hydrate_hours, opening_days| Care {
///     conditioning_minutes: 10, hydrate_hours, opening_days, holding_days: Some(7), storage_celsius: Some(2),
///     vase_days: None, cut_keeps_hours: None, source: CareSource::Own,
/// };
/// assert_eq!(conditioning_days(&care(4, 0), false), 0);
/// assert_eq!(conditioning_days(&care(12, 0), false), 1); // overnight
/// assert_eq!(conditioning_days(&care(12, 3), false), 3); // lilies, in bud
/// assert_eq!(conditioning_days(&care(4, 0), true), 1); // a buttonhole's
/// assert_eq!(conditioning_days(&care(24, 0), true), 2);
/// ```
#[must_use]
pub fn conditioning_days(care: &Care, on_the_day: bool) -> i64 {
    let hours = care.hydrate_hours.max(care.opening_days * 24);
    let (days, covered) = if on_the_day { (1, OVERNIGHT_HOURS) } else { (0, SAME_DAY_HOURS) };
    days + ((hours - covered).max(0) + 23) / 24
}

/// The days on which a material may arrive for an event in which it is first used on `make_day`:
/// not later than make day − conditioning, not earlier than event day − holding life. What does not wilt may
/// arrive at any earlier time.
///
/// # Errors
/// A window without a day, with the figures that make it so.
pub fn arrival(material: &Material, event_day: Day, make_day: Day) -> Result<ArrivalWindow, EmptyWindow> {
    let on_the_day = make_day >= event_day;
    if !material.is_fresh() {
        // What is wanted on the event's own morning comes the day before.
        return Ok(ArrivalWindow {
            earliest: None,
            latest: if on_the_day { event_day.plus(-1) } else { make_day },
            make_day,
            conditioning_days: 0,
            holding_days: None,
            assumed: false,
        });
    }
    let conditioning = conditioning_days(&material.care, on_the_day);
    let holding = holding_days(&material.care);
    let (earliest, latest) = (event_day.plus(-holding), make_day.plus(-conditioning));
    if earliest > latest {
        return Err(EmptyWindow {
            material: material.name.clone(),
            holding,
            conditioning,
            make_day,
            earliest,
            latest,
        });
    }
    Ok(ArrivalWindow {
        earliest: Some(earliest),
        latest,
        make_day,
        conditioning_days: conditioning,
        holding_days: Some(holding),
        assumed: material.care.holding_days.is_none(),
    })
}

/// Whether a stem that arrived on a day is still good on the day of an event. What does not wilt always is.
#[must_use]
pub fn still_keeps(material: &Material, arrived: Day, event_day: Day) -> bool {
    !material.is_fresh() || event_day.plus(-holding_days(&material.care)) <= arrived
}

/// The last day for which a stem that arrived on a day keeps; none where it does not wilt.
#[must_use]
pub fn keeps_until(material: &Material, arrived: Day) -> Option<Day> {
    material.is_fresh().then(|| arrived.plus(holding_days(&material.care)))
}

fn holding_days(care: &Care) -> i64 {
    care.holding_days.unwrap_or(ASSUMED_HOLDING_DAYS.max(conditioning_days(care, true) + 1))
}

/// The first day on which pieces may be cut that keep `keeps_hours` and are placed on `make_day`: whole days only,
/// so 24 hours is the day before and anything less is the day itself.
///
/// ```
/// use trug::stem_order::windows::first_cutting_day;
/// let friday = "2026-05-15".parse()?;
/// assert_eq!(first_cutting_day(friday, 24), "2026-05-14".parse()?);
/// assert_eq!(first_cutting_day(friday, 12), friday);
/// # Ok::<(), jiff::Error>(())
/// ```
#[must_use]
pub fn first_cutting_day(make_day: Day, keeps_hours: i64) -> Day {
    make_day.plus(-(keeps_hours.max(0) / 24))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::stem_order::samples::{flower, part_of, recipe};

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    #[test]
    fn a_window_reaches_from_the_holding_life_to_the_conditioning() {
        let mut rose = flower(1, "Rose");
        rose.care.holding_days = Some(6);
        rose.care.hydrate_hours = 12;
        let window = arrival(&rose, day("2026-05-16"), day("2026-05-15")).unwrap();
        assert_eq!((window.earliest, window.latest), (Some(day("2026-05-10")), day("2026-05-14")));
        assert!(window.holds(day("2026-05-10")) && window.holds(day("2026-05-14")));
        assert!(!window.holds(day("2026-05-09")) && !window.holds(day("2026-05-15")));
    }

    #[test]
    fn nothing_arrives_on_the_morning_of_the_event() {
        let rose = flower(1, "Rose");
        let saturday = day("2026-05-16");
        let window = arrival(&rose, saturday, saturday).unwrap();
        assert_eq!(window.latest, day("2026-05-15"));
    }

    #[test]
    fn what_opens_longer_than_it_keeps_is_a_named_conflict() {
        let mut lily = flower(1, "Lily");
        lily.care.holding_days = Some(3);
        lily.care.opening_days = 4;
        let conflict = arrival(&lily, day("2026-05-16"), day("2026-05-15")).unwrap_err();
        let sentence = conflict.sentence(&crate::studio::Studio::new_book().formats);
        assert!(
            sentence.starts_with("Lily keeps 3 days, so it must not arrive before Wed 13 May 2026"),
            "{sentence}"
        );
    }

    #[test]
    fn an_unknown_holding_life_is_assumed_and_never_shorter_than_the_opening() {
        let mut bud = flower(1, "Bud");
        bud.care.opening_days = 8;
        let window = arrival(&bud, day("2026-05-16"), day("2026-05-15")).unwrap();
        assert!(window.assumed);
        assert_eq!(window.latest, day("2026-05-07"));
    }

    #[test]
    fn a_part_is_made_no_later_than_what_it_goes_into() {
        let mut cluster = recipe(1, "Cluster", &[]);
        cluster.holding_hours = 0;
        let book = part_of(recipe(2, "Arch", &[]), cluster);
        let days = make_days(&book, day("2026-05-16"), [RecipeId(2)]);
        assert_eq!(days[&RecipeId(1)], day("2026-05-15"));
        let days = make_days(&book, day("2026-05-16"), [RecipeId(1)]);
        assert_eq!(days[&RecipeId(1)], day("2026-05-16"));
    }

    proptest! {
        #[test]
        fn a_window_is_either_named_empty_or_holds_both_its_ends(
            hydrate in 0_i64..240, opening in 0_i64..30, holding in prop::option::of(0_i64..400), before in 0_i64..2,
        ) {
            let mut flower = flower(1, "Flower");
            flower.care.hydrate_hours = hydrate;
            flower.care.opening_days = opening;
            flower.care.holding_days = holding;
            let event = day("2026-05-16");
            match arrival(&flower, event, event.plus(-before)) {
                Ok(window) => {
                    prop_assert!(window.holds(window.latest) && window.holds(window.earliest.unwrap()));
                    prop_assert!(!window.holds(window.latest.plus(1)));
                }
                Err(conflict) => prop_assert!(conflict.earliest > conflict.latest),
            }
        }
    }
}
