//! The list: from what is known of events, quotes, orders, money and loans to reminders, the worst first.
//!
//! A plain calculation: knows no page and no book.

use std::collections::BTreeMap;

use super::{Mark, Pressing, Reminder, Reminders, Rules};
use crate::accounts::reminders::{Owed, Reminders as Money, ToInvoice};
use crate::desk::deadlines::{Deadline, OrderBy, Orders};
use crate::desk::standing::Quoted;
use crate::events::Event;
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{ClientId, EventId, SupplierId};

/// An order that closed so long ago is no longer asked about: by then it was bought elsewhere or not at all.
const MISSED_DAYS: i64 = 3;

/// What is known of one event.
#[derive(Debug, Clone, Copy)]
pub struct KnownEvent<'a> {
    /// The event.
    pub event: &'a Event,
    /// How its quote stands.
    pub quoted: &'a Quoted,
    /// How many of its counts are open.
    pub open_counts: usize,
    /// Until when the rest of its stems must be ordered; none where that is far off.
    pub orders: Option<&'a Orders>,
}

/// Everything a day's reminders follow from.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// Events that were not called off.
    pub events: &'a [KnownEvent<'a>],
    /// Money to ask for or to give back.
    pub money: &'a Money,
    /// Events whose loans should have been counted back, with the day they were to be back.
    pub loans: &'a [(EventId, String, Day)],
    /// Clients by name.
    pub clients: &'a BTreeMap<ClientId, String>,
    /// The days.
    pub rules: Rules,
    /// The present moment.
    pub now: Deadline,
    /// How days and amounts are written.
    pub formats: Formats,
}

/// The reminders of a moment: by how much they press, then the longest past or the nearest day first.
#[must_use]
pub fn reminders(known: &Known<'_>) -> Vec<Reminder> {
    let mut all = closing(known);
    for one in known.events {
        all.extend(unanswered(known, one));
        all.extend(counts(known, one));
    }
    all.extend(known.money.to_invoice.iter().map(|part| to_invoice(known, part)));
    all.extend(known.money.owed.iter().filter_map(|owed| to_be_paid(known, owed)));
    all.extend(known.money.to_give_back.iter().map(|(client, amount)| {
        let name = known.clients.get(client).map_or("the client", String::as_str);
        let what = format!("Give {} back to {name}", known.formats.money(*amount));
        let why = "It lies on the account and pays no invoice.".to_owned();
        let key = format!("back-{client}-{}", amount.minor());
        let path = format!("/clients/{client}/account");
        reminder(key, (Pressing::Due, known.now.day), None, what, why, ("To the account", path))
    }));
    all.extend(known.loans.iter().map(|(event, name, back)| {
        let what = format!("Count the loans of {name}");
        let why = format!("They were to be back on {}.", known.formats.weekday(*back));
        let path = format!("/events/{event}/loans");
        let pressing = if *back < known.now.day { Pressing::Late } else { Pressing::Due };
        reminder(format!("loans-{event}"), (pressing, *back), Some(*event), what, why, ("Count them", path))
    }));
    all.sort_by(|one, other| {
        (one.pressing, one.day, one.event, &one.key).cmp(&(
            other.pressing,
            other.day,
            other.event,
            &other.key,
        ))
    });
    all
}

fn reminder(
    key: String,
    (pressing, day): (Pressing, Day),
    event: Option<EventId>,
    what: String,
    why: String,
    (label, path): (&'static str, String),
) -> Reminder {
    Reminder { key, pressing, day, event, what, why, owed: None, label, path }
}

/// When orders close, with whom, for which delivery.
type Delivery = (Deadline, SupplierId, Day);

/// Orders that close today or closed in the last days, of events that are booked: one a supplier and delivery.
fn closing(known: &Known<'_>) -> Vec<Reminder> {
    let mut by: BTreeMap<Delivery, Vec<(&Event, &OrderBy)>> = BTreeMap::new();
    let booked = |one: &&KnownEvent| matches!(one.quoted, Quoted::Accepted { .. });
    for one in known.events.iter().filter(booked).filter(|one| is_to_come(known, one.event)) {
        for order in one.orders.iter().flat_map(|orders| &orders.by) {
            let ago = known.now.day.days_after(order.closes.day);
            if (0..=MISSED_DAYS).contains(&ago) {
                let at = (order.closes, order.supplier_id, order.delivery);
                by.entry(at).or_default().push((one.event, order));
            }
        }
    }
    by.into_iter().filter_map(|(at, orders)| order_reminder(known, at, &orders)).collect()
}

fn order_reminder(
    known: &Known<'_>,
    (closes, supplier, delivery): Delivery,
    orders: &[(&Event, &OrderBy)],
) -> Option<Reminder> {
    let f = &known.formats;
    let (first, order) = orders.first()?;
    let name = &order.supplier;
    let of: Vec<&str> = orders.iter().map(|(event, _)| event.name.as_str()).collect();
    let what = if closes < known.now {
        format!("{name}’s orders closed on {}, {}", f.weekday(closes.day), closes.time)
    } else {
        format!("Order from {name} by {}", closes.time)
    };
    let more = if order.materials.len() > 2 { " and more" } else { "" };
    let materials = order.materials.iter().take(2).cloned().collect::<Vec<_>>().join(", ");
    let why =
        format!("{materials}{more} for {}, for the delivery of {}.", of.join(", "), f.weekday(delivery));
    let asked: Vec<String> = orders.iter().map(|(event, _)| format!("event={}", event.id)).collect();
    let event = (orders.len() == 1).then_some(first.id);
    let path = format!("/stem-order?{}", asked.join("&"));
    let key = format!("order-{supplier}-{delivery}");
    Some(reminder(key, (Pressing::Now, closes.day), event, what, why, ("To the stem order", path)))
}

fn is_to_come(known: &Known<'_>, event: &Event) -> bool {
    event.ended.is_none() && event.day >= known.now.day
}

/// A quote or a change that is with the client.
fn unanswered(known: &Known<'_>, one: &KnownEvent<'_>) -> Option<Reminder> {
    let event = one.event;
    if !is_to_come(known, event) {
        return None;
    }
    let (number, on, until, change) = match *one.quoted {
        Quoted::Sent { number, on, valid_until } => (number, on, valid_until, false),
        Quoted::Accepted { newer: Some(newer), .. } => (newer.number, newer.on, None, true),
        _ => return None,
    };
    let (f, today, rules) = (&known.formats, known.now.day, known.rules);
    let waiting = today.days_after(on);
    let left = until.map(|until| until.days_after(today));
    let (pressing, day) = match (left, until) {
        (Some(left), Some(until)) if left < 0 => (Pressing::Late, until),
        (Some(left), Some(until)) if left <= rules.before_last => (Pressing::Due, until),
        _ if waiting >= rules.unanswered => (Pressing::Due, on.plus(rules.unanswered)),
        _ => return None,
    };
    let ended = left.is_some_and(|left| left < 0);
    let asked = if change { "the change" } else { "the quote" };
    let what = if ended {
        format!("The quote for {} has run out: send it anew, or say that it is lost", event.name)
    } else {
        format!("Ask {} about {asked} for {}", event.client_name, event.name)
    };
    let since = format!("Version {number} went out on {}", f.weekday(on));
    let why = match until {
        Some(until) if ended => format!("{since}; it held until {}.", f.weekday(until)),
        Some(until) => format!("{since}; it holds until {}.", f.weekday(until)),
        None => format!("{since}; no answer for {}.", days(waiting)),
    };
    let key = format!("quote-{}-{number}{}", event.id, if ended { "-ended" } else { "" });
    let path = format!("/events/{}/quote", event.id);
    Some(reminder(key, (pressing, day), Some(event.id), what, why, ("To the quote", path)))
}

fn days(days: i64) -> String {
    if days == 1 { "1 day".to_owned() } else { format!("{days} days") }
}

/// Counts that are open so near to the event, once it is booked.
fn counts(known: &Known<'_>, one: &KnownEvent<'_>) -> Option<Reminder> {
    let event = one.event;
    let booked = matches!(one.quoted, Quoted::Accepted { .. });
    let day = event.day.plus(-known.rules.counts);
    if !booked || one.open_counts == 0 || !is_to_come(known, event) || day > known.now.day {
        return None;
    }
    let open =
        if one.open_counts == 1 { "1 count".to_owned() } else { format!("{} counts", one.open_counts) };
    let what = format!("Confirm {open} for {}", event.name);
    let why =
        format!("The event is on {}; guests or tables are not known.", known.formats.weekday(event.day));
    let path = format!("/events/{}/edit", event.id);
    let key = format!("counts-{}", event.id);
    Some(reminder(key, (Pressing::Due, day), Some(event.id), what, why, ("To guests and tables", path)))
}

/// A part of a payment that is to be invoiced.
fn to_invoice(known: &Known<'_>, part: &ToInvoice) -> Reminder {
    let (f, today) = (&known.formats, known.now.day);
    let amount = f.money(part.amount);
    let over = part.event_day < today;
    let (pressing, day) = match (over, part.due_on < today) {
        (true, _) => (Pressing::Late, part.event_day),
        (false, true) => (Pressing::Late, part.due_on),
        (false, false) => (Pressing::Soon, part.due_on),
    };
    let why = if over {
        format!("The event was on {}; {amount} is not invoiced yet.", f.weekday(part.event_day))
    } else {
        format!("Due {}.", f.weekday(part.due_on))
    };
    let what = format!("Invoice {}: {}, {amount}", part.event, part.label);
    let key = format!("part-{}-{}", part.event_id, part.place);
    let path = format!("/events/{}/invoices/new?part={}", part.event_id, part.place);
    reminder(key, (pressing, day), Some(part.event_id), what, why, ("Draw it up", path))
}

/// An invoice that is overdue, or due in the next days.
fn to_be_paid(known: &Known<'_>, owed: &Owed) -> Option<Reminder> {
    let (f, today) = (&known.formats, known.now.day);
    let overdue = today.days_after(owed.due_on);
    if -overdue > known.rules.before_due {
        return None;
    }
    let name = known.clients.get(&owed.client_id).map_or("the client", String::as_str);
    let open = f.money(owed.open);
    let (pressing, what, why) = if overdue > 0 {
        let what = format!("Ask {name} for {open}, invoice {}", owed.number);
        (Pressing::Late, what, format!("Overdue by {}, since {}.", days(overdue), f.weekday(owed.due_on)))
    } else {
        let what = format!("{open} of {name} is due, invoice {}", owed.number);
        (Pressing::Soon, what, format!("On {}.", f.weekday(owed.due_on)))
    };
    let key = format!("invoice-{}{}", owed.invoice_id, if overdue > 0 { "-overdue" } else { "" });
    let path = format!("/invoices/{}", owed.invoice_id);
    let said = reminder(key, (pressing, owed.due_on), owed.event_id, what, why, ("To the invoice", path));
    Some(Reminder { owed: Some(owed.open), ..said })
}

/// Parts those that were put off beyond a day from the others.
#[must_use]
pub fn sorted(all: Vec<Reminder>, mut marks: BTreeMap<String, Mark>, today: Day) -> Reminders {
    let mut sorted = Reminders::default();
    for reminder in all {
        match marks.remove(&reminder.key) {
            Some(mark) if mark.again_on > today => sorted.put_off.push((reminder, mark)),
            mark => sorted.open.push((reminder, mark)),
        }
    }
    sorted
}

#[cfg(test)]
mod tests;
