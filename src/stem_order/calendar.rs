//! When suppliers deliver and until when they take orders: the one place where cut-offs are reckoned.
//!
//! - A supplier delivers on its weekdays, unless it is closed that day.
//! - Orders close so many days before the delivery, as the supplier's terms count them: days of the calendar. Where
//!   that day is one on which the supplier is closed, they close on the last open day before, at the same hour: nobody
//!   is there to take the order (a cautious rule, common practice, no published source).
//!
//! May import `ground` and `price_list` types.

use std::collections::BTreeSet;

use super::closed_days::{ClosedDay, ClosedDays};
use super::windows::ArrivalWindow;
use crate::ground::dates::{Day, TimeOfDay};
use crate::price_list::Supplier;

/// What does not wilt is looked for on delivery days up to so many days before it is used.
pub const HARD_GOODS_DAYS: i64 = 14;

/// No delivery is looked for further back than so many days.
const LONGEST_WINDOW: i64 = 400;

/// The moment at which the order is planned, by the studio's clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct LocalTime {
    /// The day.
    pub day: Day,
    /// The time of day.
    pub time: TimeOfDay,
}

/// Which deliveries may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Deliveries {
    /// Each supplier's delivery days that fall in an arrival window and still take orders.
    ByCalendar,
    /// One day that the buyer chose, for everything; cut-offs and windows are warned of, not obeyed.
    On(Day),
}

/// Until when a supplier takes orders for a delivery: so many days before it, at an hour; where it is closed on that
/// day, on the last open day before.
#[must_use]
pub fn order_by(supplier: &Supplier, delivery: Day, closed: &ClosedDays) -> LocalTime {
    let day = closed.last_open(supplier.id, delivery.plus(-supplier.cutoff_days));
    LocalTime { day, time: supplier.cutoff_time }
}

/// The closed day that moves a delivery's cut-off to an earlier day; none where it stays as the terms have it.
#[must_use]
pub fn moves_cut_off<'a>(
    supplier: &Supplier,
    delivery: Day,
    closed: &'a ClosedDays,
) -> Option<&'a ClosedDay> {
    closed.closing(supplier.id, delivery.plus(-supplier.cutoff_days))
}

/// Whether a supplier delivers on a day: one of its weekdays, and open.
#[must_use]
pub fn delivers(supplier: &Supplier, day: Day, closed: &ClosedDays) -> bool {
    supplier.delivery_weekdays.has(day) && closed.closing(supplier.id, day).is_none()
}

/// A supplier's last delivery day from `first` to `last`.
#[must_use]
pub fn last_delivery(supplier: &Supplier, first: Day, last: Day, closed: &ClosedDays) -> Option<Day> {
    let days = last.days_after(first).min(LONGEST_WINDOW);
    (0..=days).map(|earlier| last.plus(-earlier)).find(|day| delivers(supplier, *day, closed))
}

/// The first day on which a delivery may come: the window's own, or [`HARD_GOODS_DAYS`] before its end.
#[must_use]
pub fn first_day(window: &ArrivalWindow) -> Day {
    window.earliest.unwrap_or_else(|| window.latest.plus(-HARD_GOODS_DAYS))
}

/// The days on which a supplier delivers within any of the windows and still takes orders; or the chosen day,
/// where it is one of the supplier's. What does not wilt is given a day of its own only where it can ride along
/// with no flowers, and then the last one.
#[must_use]
pub fn delivery_days(
    supplier: &Supplier,
    windows: &[ArrivalWindow],
    asked: Deliveries,
    now: LocalTime,
    closed: &ClosedDays,
) -> BTreeSet<Day> {
    let comes = |day: &Day| delivers(supplier, *day, closed);
    match asked {
        Deliveries::On(day) => [day].into_iter().filter(comes).collect(),
        Deliveries::ByCalendar => {
            let open = |day: &Day| comes(day) && now <= order_by(supplier, *day, closed);
            let (fresh, lasting): (Vec<_>, Vec<_>) =
                windows.iter().partition(|window| window.earliest.is_some());
            let mut days: BTreeSet<Day> = fresh.into_iter().flat_map(days_of).filter(open).collect();
            // What lasts rides along with the flowers: a day for it alone can only cost another fee.
            for window in lasting {
                let rides = days.range(first_day(window)..=window.latest).next().is_some();
                if let (false, Some(last)) = (rides, days_of(window).filter(open).last()) {
                    days.insert(last);
                }
            }
            days
        }
    }
}

/// All days of a window.
fn days_of(window: &ArrivalWindow) -> impl Iterator<Item = Day> + use<> {
    let first = first_day(window);
    (0..=window.latest.days_after(first)).map(move |later| first.plus(later))
}

#[cfg(test)]
pub(crate) mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::ground::dates::Weekdays;
    use crate::ground::ids::{ClosedDayId, SupplierId};
    use crate::stem_order::closed_days::DayKind;
    use crate::stem_order::samples::{flower, supplier, vessel};
    use crate::stem_order::windows::arrival;

    fn at(day: &str, time: &str) -> LocalTime {
        LocalTime { day: day.parse().unwrap(), time: time.parse().unwrap() }
    }

    #[test]
    fn only_deliveries_in_the_window_that_still_take_orders_count() {
        let mut grower = supplier(1, "Grower");
        grower.delivery_weekdays = Weekdays(0b000_1011); // Monday, Tuesday, Thursday
        grower.cutoff_days = 1;
        grower.cutoff_time = "11:00".parse().unwrap();
        let mut rose = flower(1, "Rose");
        rose.care.holding_days = Some(4);
        rose.care.hydrate_hours = 12;
        let saturday = "2026-05-16".parse().unwrap();
        // From Tuesday the 12th to Thursday the 14th.
        let window = arrival(&rose, saturday, saturday.plus(-1)).unwrap();
        let days = |now| delivery_days(&grower, &[window], Deliveries::ByCalendar, now, &open());
        let (tuesday, thursday) = ("2026-05-12".parse().unwrap(), "2026-05-14".parse().unwrap());
        assert_eq!(days(at("2026-05-11", "11:00")), BTreeSet::from([tuesday, thursday]));
        assert_eq!(days(at("2026-05-11", "11:01")), BTreeSet::from([thursday]));
        assert_eq!(days(at("2026-05-13", "11:01")), BTreeSet::new());
    }

    #[test]
    fn what_does_not_wilt_rides_along_with_the_flowers() {
        let grower = supplier(1, "Grower");
        let saturday: Day = "2026-05-16".parse().unwrap();
        let fresh = arrival(&flower(1, "Rose"), saturday, saturday.plus(-1)).unwrap();
        let lasting = arrival(&vessel(2, "Urn"), saturday, saturday.plus(-1)).unwrap();
        let now = at("2026-05-04", "09:00");
        let days =
            |windows: &[ArrivalWindow]| delivery_days(&grower, windows, Deliveries::ByCalendar, now, &open());
        assert_eq!(days(&[fresh, lasting]), days(&[fresh]));
        assert_eq!(days(&[lasting]), BTreeSet::from([saturday.plus(-1)]));
    }

    #[test]
    fn a_chosen_day_is_the_suppliers_or_none() {
        let mut grower = supplier(1, "Grower");
        grower.delivery_weekdays = Weekdays(0b000_0001);
        let late = at("2026-06-01", "09:00");
        let monday: Day = "2026-05-11".parse().unwrap();
        assert_eq!(
            delivery_days(&grower, &[], Deliveries::On(monday), late, &open()),
            BTreeSet::from([monday])
        );
        assert!(delivery_days(&grower, &[], Deliveries::On(monday.plus(1)), late, &open()).is_empty());
    }

    fn open() -> ClosedDays {
        ClosedDays::default()
    }

    fn closed(first: &str, last: &str, supplier: Option<i64>, name: &str) -> ClosedDay {
        ClosedDay {
            id: ClosedDayId(1),
            version: 1,
            supplier_id: supplier.map(SupplierId),
            first_day: first.parse().unwrap(),
            last_day: last.parse().unwrap(),
            name: name.into(),
            kind: DayKind::Closed,
        }
    }

    #[test]
    fn a_closed_day_brings_nothing_and_moves_the_cut_off_before_it() {
        let grower = supplier(1, "Grower"); // every day, until the day before at eleven
        let thursday: Day = "2026-05-14".parse().unwrap();
        let days = ClosedDays(vec![
            closed("2026-05-14", "2026-05-14", None, "Ascension Day"),
            closed("2026-05-12", "2026-05-13", Some(1), "Stocktaking"),
        ]);
        let rose = arrival(&flower(1, "Rose"), thursday.plus(2), thursday.plus(2)).unwrap();
        let come = delivery_days(&grower, &[rose], Deliveries::ByCalendar, at("2026-05-01", "09:00"), &days);
        assert!(!come.contains(&thursday) && come.contains(&thursday.plus(1)), "{come:?}");
        assert!(
            delivery_days(&grower, &[], Deliveries::On(thursday), at("2026-05-01", "09:00"), &days)
                .is_empty()
        );
        // Friday's orders would close on Thursday: both closed stretches are skipped.
        assert_eq!(order_by(&grower, thursday.plus(1), &days), at("2026-05-11", "11:00"));
        assert_eq!(moves_cut_off(&grower, thursday.plus(1), &days).unwrap().name, "Ascension Day");
        assert_eq!(moves_cut_off(&grower, thursday.plus(3), &days), None);
        // Another supplier is open for stocktaking.
        let other = supplier(2, "Other");
        assert_eq!(order_by(&other, thursday.plus(1), &days), at("2026-05-13", "11:00"));
    }

    proptest! {
        /// With more closed days nothing more is delivered and no cut-off is later; no delivery or cut-off falls on one.
        #[test]
        fn closed_days_only_take_away(
            rows in prop::collection::vec((0_i64..30, 0_i64..4, prop::option::of(1_i64..3)), 0..6),
            weekdays in 1_i64..128, cutoff in 0_i64..6, first in 8_i64..20,
        ) {
            let start: Day = "2026-05-01".parse().unwrap();
            let row = |(from, days, whose): &(i64, i64, Option<i64>)| {
                closed(&start.plus(*from).to_string(), &start.plus(from + days).to_string(), *whose, "Closed")
            };
            let days = ClosedDays(rows.iter().map(row).collect());
            let mut grower = supplier(1, "Grower");
            (grower.delivery_weekdays, grower.cutoff_days) = (Weekdays(weekdays), cutoff);
            let window = ArrivalWindow { earliest: Some(start.plus(first)), latest: start.plus(first + 9),
                ..arrival(&flower(1, "Rose"), start, start).unwrap() };
            let now = at("2026-04-20", "09:00");
            let come = |days: &ClosedDays| delivery_days(&grower, &[window], Deliveries::ByCalendar, now, days);
            prop_assert!(come(&days).is_subset(&come(&open())));
            for day in come(&days) {
                let by = order_by(&grower, day, &days);
                prop_assert!(by <= order_by(&grower, day, &open()));
                prop_assert_eq!(days.closing(grower.id, by.day), None);
                prop_assert_eq!(days.closing(grower.id, day), None);
            }
            let last = last_delivery(&grower, start.plus(first), start.plus(first + 9), &days);
            prop_assert_eq!(last, (0..10).map(|later| start.plus(first + later)).rfind(|day| delivers(&grower, *day, &days)));
        }
    }
}
