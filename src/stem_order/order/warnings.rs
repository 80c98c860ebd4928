//! What else the buyer has to know, beside the order itself: faults, passed cut-offs, closed days and feasts, open
//! counts, and what the flowers say against a chosen day.

use std::collections::BTreeSet;

use super::OrderDelivery;
use super::build::Planned;
use crate::events::CountRule;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::stem_order::calendar::{Deliveries, first_day};
use crate::stem_order::posed::{Posed, Want};

pub(super) fn warnings(
    planned: &Planned<'_>,
    posed: &Posed,
    fault: Option<&str>,
    deliveries: &[OrderDelivery],
) -> Vec<String> {
    let Planned { weekend, formats, .. } = *planned;
    let mut warnings = Vec::new();
    if let Some(fault) = fault {
        warnings.push(format!(
            "Trug's own check found a fault in this plan ({fault}). Do not order by it; please report it."
        ));
    }
    warnings.extend(passed_cut_offs(*formats, deliveries));
    for open in &weekend.open_counts {
        let by = if open.rule == CountRule::PerGuest { "guests" } else { "tables" };
        warnings.push(format!(
            "{}: {} ({}) is counted by {by}, and these are not known yet. It is not in this order.",
            weekend.events[open.event].event.name, open.recipe, open.place
        ));
    }
    for need in &weekend.needs {
        if let (Some(Err(trouble)), Some(material)) = (&need.cutting, weekend.material(need.material)) {
            warnings.push(trouble.sentence(material, formats));
        }
    }
    if let Deliveries::On(chosen) = planned.asked {
        warnings.extend(against_windows(planned, posed, chosen));
    }
    warnings.extend(closed_days(planned, posed));
    warnings.extend(feasts(planned, deliveries));
    warnings
}

fn passed_cut_offs(formats: Formats, deliveries: &[OrderDelivery]) -> Vec<String> {
    let passed = deliveries.iter().filter(|delivery| delivery.cutoff_passed);
    let words = passed.map(|delivery| {
        format!(
            "{}: orders for {} closed on {} {}. Ring before you count on it.",
            delivery.name,
            formats.weekday(delivery.day),
            formats.weekday(delivery.order_by_day),
            delivery.order_by_time
        )
    });
    words.collect()
}

/// What the flowers' own figures say against a day that the buyer chose.
fn against_windows(planned: &Planned<'_>, posed: &Posed, chosen: Day) -> Vec<String> {
    let Planned { weekend, formats, .. } = *planned;
    let mut warnings = Vec::new();
    for want in &posed.wants {
        let need = &weekend.needs[want.need];
        let part = &need.parts[want.part];
        let name = weekend.material(need.material).map_or("?", |material| &material.name);
        let event = &weekend.events[part.event].event.name;
        match &part.window {
            Ok(window) if window.latest < chosen || window.earliest.is_some_and(|day| chosen < day) => {
                let word = if window.latest < chosen { "too late" } else { "too early" };
                let window = window.working(formats);
                warnings
                    .push(format!("{event}: {} is {word} for {name}; it {window}.", formats.weekday(chosen)));
            }
            Err(empty) => warnings.push(format!("{event}: {}", empty.sentence(formats))),
            Ok(_) => {}
        }
    }
    warnings
}

/// Weekdays on which a supplier of something fresh would come, but for a closed day: one sentence a supplier and day.
fn closed_days(planned: &Planned<'_>, posed: &Posed) -> Vec<String> {
    let days = wanted_days(&posed.wants);
    let sellers: BTreeSet<_> = planned.sold.iter().map(|sold| sold.supplier).collect();
    let mut words = Vec::new();
    for supplier in planned.market.suppliers.iter().filter(|supplier| sellers.contains(&supplier.id)) {
        for day in days.iter().filter(|day| supplier.delivery_weekdays.has(**day)) {
            if let Some(closed) = planned.market.closed.closing(supplier.id, *day) {
                let on = planned.formats.weekday(*day);
                words.push(format!("{} does not deliver on {on}: closed, {}.", supplier.name, closed.name));
            }
        }
    }
    words
}

/// The days on which anything that wilts may arrive; the chosen day where one was chosen.
fn wanted_days(wants: &[Want]) -> BTreeSet<Day> {
    let fresh = wants.iter().flat_map(|want| &want.accepts).filter(|(_, window)| window.earliest.is_some());
    let days = fresh.flat_map(|(_, window)| {
        let first = first_day(window);
        (0..=window.latest.days_after(first)).map(move |later| first.plus(later))
    });
    days.collect()
}

/// Deliveries in the week before a feast (common practice, no published source).
fn feasts(planned: &Planned<'_>, deliveries: &[OrderDelivery]) -> Vec<String> {
    let mut words: Vec<(String, Vec<&str>)> = Vec::new();
    for delivery in deliveries {
        for feast in planned.market.closed.feasts(delivery.supplier, delivery.day) {
            let said = format!("{} is on {}", feast.name, feast.days(planned.formats));
            let at = words.iter().position(|(known, _)| *known == said).unwrap_or_else(|| {
                words.push((said, Vec::new()));
                words.len() - 1
            });
            if !words[at].1.contains(&delivery.name.as_str()) {
                words[at].1.push(&delivery.name);
            }
        }
    }
    let sentence = |(said, names): (String, Vec<&str>)| {
        let names = names.join(", ");
        format!("{said}: prices and supply are tight in the week before. Confirm the prices with {names}.")
    };
    words.into_iter().map(sentence).collect()
}
