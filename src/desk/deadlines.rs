//! Until when an event's stems must be ordered: each material from where it is bought, on that supplier's last
//! delivery in its arrival window, by that delivery's cut-off.

use std::collections::BTreeMap;

use super::arrivals::Arrivals;
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, RecipeId, SupplierId};
use crate::price_list::Supplier;
use crate::recipes::{Ingredient, RecipeBook};
pub use crate::stem_order::calendar::LocalTime as Deadline;
use crate::stem_order::calendar::{last_delivery, order_by};
use crate::stem_order::closed_days::ClosedDays;
use crate::stem_order::windows::{arrival, make_days};

/// The last moment to order some materials from a supplier.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderBy {
    /// When orders close.
    pub closes: Deadline,
    /// With whom.
    pub supplier_id: SupplierId,
    /// Their name.
    pub supplier: String,
    /// The delivery that is still in time.
    pub delivery: Day,
    /// What comes with it, by name.
    pub materials: Vec<String>,
}

/// Everything an event's stems must be ordered by.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Orders {
    /// By closing time.
    pub by: Vec<OrderBy>,
    /// Materials that nobody offers, or that no delivery brings in time, by name.
    pub unserved: Vec<String>,
}

impl Orders {
    /// The first that still takes orders.
    #[must_use]
    pub fn next(&self, now: Deadline) -> Option<&OrderBy> {
        self.by.iter().find(|order| order.closes >= now)
    }
}

/// Where what wilts is bought.
#[derive(Debug, Clone, Default)]
pub struct Market {
    /// From whom each material is bought: the preferred supplier, or where it costs least.
    pub bought_from: BTreeMap<MaterialId, SupplierId>,
    /// The suppliers.
    pub suppliers: BTreeMap<SupplierId, Supplier>,
    /// When they are closed.
    pub closed: ClosedDays,
}

/// The last moments to order what wilts for an event, so far as it was not ordered.
#[must_use]
pub fn orders(
    book: &RecipeBook,
    (event_day, pieces): (Day, &[RecipeId]),
    market: &Market,
    placed: &Arrivals,
) -> Orders {
    let mut by: BTreeMap<(Deadline, SupplierId, Day), Vec<String>> = BTreeMap::new();
    let mut unserved = Vec::new();
    for (id, make_day) in first_used(book, event_day, pieces) {
        let Some(material) = book.materials.get(&id).filter(|material| material.is_fresh()) else { continue };
        let supplier = market.bought_from.get(&id).and_then(|id| market.suppliers.get(id));
        if placed.cover(id, supplier.map(|supplier| supplier.id)) {
            continue;
        }
        let delivery = arrival(material, event_day, make_day).ok().and_then(|window| {
            let first = window.earliest?;
            last_delivery(supplier?, first, window.latest, &market.closed)
        });
        match (supplier, delivery) {
            (Some(supplier), Some(delivery)) => {
                let closes = order_by(supplier, delivery, &market.closed);
                by.entry((closes, supplier.id, delivery)).or_default().push(material.name.clone());
            }
            _ => unserved.push(material.name.clone()),
        }
    }
    unserved.sort();
    let by = by.into_iter().map(|((closes, supplier_id, delivery), materials)| OrderBy {
        closes,
        supplier_id,
        supplier: market
            .suppliers
            .get(&supplier_id)
            .map(|supplier| supplier.name.clone())
            .unwrap_or_default(),
        delivery,
        materials,
    });
    Orders { by: by.collect(), unserved }
}

/// The first day on which each material is used.
fn first_used(book: &RecipeBook, event_day: Day, pieces: &[RecipeId]) -> BTreeMap<MaterialId, Day> {
    let mut first = BTreeMap::new();
    for (recipe, day) in make_days(book, event_day, pieces.iter().copied()) {
        let lines = book.recipes.get(&recipe).into_iter().flat_map(|recipe| &recipe.lines);
        for line in lines {
            if let Ingredient::Material(material) = line.ingredient {
                let known = first.entry(material).or_insert(day);
                *known = day.min(*known);
            }
        }
    }
    first
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::ground::dates::Weekdays;
    use crate::ground::ids::EventId;
    use crate::stem_order::samples::{
        book, flower, placed_line, placed_order, recipe, stems, supplier, vessel,
    };

    /// A rose that stands in water overnight and keeps so many days, in a piece that holds a day; who sells it.
    fn rose(holding_days: i64, weekdays: i64, cutoff_days: i64) -> (RecipeBook, Market) {
        let mut rose = flower(1, "Rose");
        (rose.care.hydrate_hours, rose.care.holding_days) = (12, Some(holding_days));
        let mut centre = recipe(1, "Centre", &[stems(1, 6_000), stems(2, 1_000)]);
        centre.holding_hours = 24;
        let mut grower = supplier(1, "Polder");
        (grower.delivery_weekdays, grower.cutoff_days) = (Weekdays(weekdays), cutoff_days);
        let market = Market {
            bought_from: BTreeMap::from([(MaterialId(1), SupplierId(1))]),
            suppliers: BTreeMap::from([(SupplierId(1), grower)]),
            closed: ClosedDays::default(),
        };
        (book(vec![centre], vec![rose, vessel(2, "Bowl")]), market)
    }

    fn saturday() -> Day {
        "2026-05-16".parse().unwrap()
    }

    #[test]
    fn the_last_delivery_in_the_window_decides() {
        // Made on Friday the 15th, in water from Thursday, kept from Tuesday; delivered on Monday, Tuesday, Thursday.
        let (book, market) = rose(4, 0b000_1011, 2);
        let orders = orders(&book, (saturday(), &[RecipeId(1)]), &market, &Arrivals::default());
        assert_eq!(orders.unserved, Vec::<String>::new());
        let [order] = orders.by.as_slice() else { panic!("{orders:?}") };
        assert_eq!(order.delivery.to_string(), "2026-05-14");
        assert_eq!(
            (order.closes.day.to_string(), order.closes.time.to_string()),
            ("2026-05-12".into(), "11:00".into())
        );
        assert_eq!(order.materials, ["Rose"]);
        let now = |day: &str| Deadline { day: day.parse().unwrap(), time: "11:00".parse().unwrap() };
        assert!(orders.next(now("2026-05-12")).is_some());
        assert!(orders.next(now("2026-05-13")).is_none());
    }

    #[test]
    fn what_nobody_brings_in_time_is_named() {
        let (book, market) = rose(4, 0b000_0001, 1);
        assert_eq!(
            orders(&book, (saturday(), &[RecipeId(1)]), &market, &Arrivals::default()).unserved,
            ["Rose"]
        );
        let nobody = orders(&book, (saturday(), &[RecipeId(1)]), &Market::default(), &Arrivals::default());
        assert_eq!((nobody.by.len(), nobody.unserved), (0, vec!["Rose".to_owned()]));
    }

    #[test]
    fn what_was_ordered_has_no_deadline() {
        let (book, market) = rose(4, 0b000_1011, 2);
        let order = placed_order(vec![placed_line(10, &[(1, 60)])]);
        let placed = Arrivals::of(EventId(1), &[order]);
        assert_eq!(orders(&book, (saturday(), &[RecipeId(1)]), &market, &placed), Orders::default());
    }

    proptest! {
        /// A delivery is one of the supplier's, in time and not too early; a later one would be too late.
        #[test]
        fn a_delivery_is_the_last_that_is_in_time(
            weekdays in 1_i64..128, holding in 2_i64..12, cutoff in 0_i64..10, later in 0_i64..7,
        ) {
            let (book, market) = rose(holding, weekdays, cutoff);
            let day = saturday().plus(later);
            let orders = orders(&book, (day, &[RecipeId(1)]), &market, &Arrivals::default());
            let latest = day.plus(-2);
            let comes = |day: Day| Weekdays(weekdays).has(day);
            match orders.by.first() {
                Some(order) => {
                    prop_assert!(comes(order.delivery));
                    prop_assert!(order.delivery <= latest && order.delivery >= day.plus(-holding));
                    let after = latest.days_after(order.delivery);
                    prop_assert!((1..=after).all(|days| !comes(order.delivery.plus(days))));
                    prop_assert_eq!(order.closes.day, order.delivery.plus(-cutoff));
                }
                None => prop_assert!((2..=holding).all(|before| !comes(day.plus(-before)))),
            }
        }
    }
}
