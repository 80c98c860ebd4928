//! When suppliers deliver and until when they take orders.
//!
//! May import `ground` and `price_list` types.

use std::collections::BTreeSet;

use super::windows::ArrivalWindow;
use crate::ground::dates::{Day, TimeOfDay};
use crate::price_list::Supplier;

/// What does not wilt is looked for on delivery days up to so many days before it is used.
pub const HARD_GOODS_DAYS: i64 = 14;

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

/// Until when a supplier takes orders for a delivery: so many days before it, at an hour.
#[must_use]
pub fn order_by(supplier: &Supplier, delivery: Day) -> LocalTime {
    LocalTime { day: delivery.plus(-supplier.cutoff_days), time: supplier.cutoff_time }
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
) -> BTreeSet<Day> {
    let comes = |day: &Day| supplier.delivery_weekdays.has(*day);
    match asked {
        Deliveries::On(day) => [day].into_iter().filter(comes).collect(),
        Deliveries::ByCalendar => {
            let open = |day: &Day| comes(day) && now <= order_by(supplier, *day);
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
    use super::*;
    use crate::ground::dates::Weekdays;
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
        let days = |now| delivery_days(&grower, &[window], Deliveries::ByCalendar, now);
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
        let days = |windows: &[ArrivalWindow]| delivery_days(&grower, windows, Deliveries::ByCalendar, now);
        assert_eq!(days(&[fresh, lasting]), days(&[fresh]));
        assert_eq!(days(&[lasting]), BTreeSet::from([saturday.plus(-1)]));
    }

    #[test]
    fn a_chosen_day_is_the_suppliers_or_none() {
        let mut grower = supplier(1, "Grower");
        grower.delivery_weekdays = Weekdays(0b000_0001);
        let late = at("2026-06-01", "09:00");
        let monday: Day = "2026-05-11".parse().unwrap();
        assert_eq!(delivery_days(&grower, &[], Deliveries::On(monday), late), BTreeSet::from([monday]));
        assert!(delivery_days(&grower, &[], Deliveries::On(monday.plus(1)), late).is_empty());
    }
}
