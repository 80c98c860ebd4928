//! What is next for an event, and by when: one step, the first that is not done.

use super::arrivals::Arrivals;
use super::deadlines::{Deadline, Orders};
use super::standing::{Newer, Quoted};
use crate::events::{Ending, Event};
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::formats::Formats;

/// Everything the next step follows from.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The event.
    pub event: &'a Event,
    /// How many kinds of piece it has.
    pub pieces: usize,
    /// How many of their counts are open.
    pub open_counts: usize,
    /// How its quote stands.
    pub quoted: &'a Quoted,
    /// What was ordered for it.
    pub arrivals: &'a Arrivals,
    /// Until when the rest of its stems must be ordered.
    pub orders: &'a Orders,
    /// The first day at the bench.
    pub first_bench: Option<Day>,
    /// The present moment.
    pub now: Deadline,
    /// How days are written.
    pub formats: Formats,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NextStep {
    /// What to do, with its day where it has one: `Order by Tue 12 May 2026, 11:00`.
    pub what: String,
    /// Why, or what else is open.
    pub also: String,
    /// The latest moment, for sorting; none where nothing presses.
    pub by: Option<Deadline>,
    /// What the button says.
    pub label: &'static str,
    /// Where it is done.
    pub path: String,
}

/// The next step, if there is one.
#[must_use]
pub fn next_step(known: &Known<'_>) -> Option<NextStep> {
    let Known { event, now, formats, .. } = *known;
    if let Some((_, Ending::Lost | Ending::Cancelled | Ending::Closed)) = event.ended {
        return None;
    }
    if event.day < now.day {
        let also = "Count back first what was lent, crates and tools.".to_owned();
        let path = format!("/events/{}/close-out", event.id);
        return Some(step("Close it", also, None, "To the close-out", path));
    }
    Some(match known.quoted {
        _ if known.pieces == 0 => {
            let also = "A piece is a recipe with a count at a place.".to_owned();
            let path = format!("/events/{}/pieces", event.id);
            step("Say which pieces stand where", also, order_limit(known), "To the pieces", path)
        }
        _ if known.open_counts > 0 => settle_counts(known),
        Quoted::NotSent => {
            let also = pressing(known).unwrap_or_default();
            step("Send the quote", also, order_limit(known), "To the quote", quote_path(event))
        }
        Quoted::Sent { valid_until: Some(until), .. } if *until < now.day => {
            let what = format!("The quote held until {}: send it anew", formats.weekday(*until));
            let also = pressing(known).unwrap_or_default();
            step(what, also, order_limit(known), "To the quote", quote_path(event))
        }
        Quoted::Sent { number, on, valid_until } => await_answer(known, (*number, *on, *valid_until)),
        Quoted::Declined { number, on } => {
            let what =
                format!("Version {number} was declined: send another, or say that they went elsewhere");
            let said = format!("They said so on {}.", formats.weekday(*on));
            let also = sentences([Some(said), pressing(known)]);
            step(what, also, order_limit(known), "To the quote", quote_path(event))
        }
        Quoted::Accepted { newer: Some(newer), .. } => await_change(known, *newer),
        Quoted::Accepted { newer: None, .. } => after_booking(known),
    })
}

fn step(
    what: impl Into<String>,
    also: String,
    by: Option<Deadline>,
    label: &'static str,
    path: String,
) -> NextStep {
    NextStep { what: what.into(), also, by, label, path }
}

fn quote_path(event: &Event) -> String {
    format!("/events/{}/quote", event.id)
}

fn settle_counts(known: &Known<'_>) -> NextStep {
    let what = match known.open_counts {
        1 => "Settle 1 open count".to_owned(),
        open => format!("Settle {open} open counts"),
    };
    let how = "Say how many guests, or how many tables.".to_owned();
    let also = sentences([Some(how), pressing(known)]);
    let path = format!("/events/{}/edit", known.event.id);
    step(what, also, order_limit(known), "To guests and tables", path)
}

fn await_answer(known: &Known<'_>, (number, on, until): (i64, Day, Option<Day>)) -> NextStep {
    let formats = known.formats;
    let sent = format!("Version {number} went out on {}.", formats.weekday(on));
    let holds = until.map(|until| format!("It holds until {}.", formats.weekday(until)));
    let also = sentences([Some(sent), holds, pressing(known)]);
    step("Wait for their answer", also, order_limit(known), "To the quote", quote_path(known.event))
}

/// Stems and making follow the pieces as they stand, agreed or not: so the answer comes before what is next otherwise.
fn await_change(known: &Known<'_>, newer: Newer) -> NextStep {
    let what = match newer.note {
        Some(note) => format!("Change note {note} waits for their answer"),
        None => format!("Version {} waits for their answer", newer.number),
    };
    let path = match newer.note {
        Some(_) => format!("/quote-versions/{}/change-note", newer.version),
        None => quote_path(known.event),
    };
    let then = after_booking(known);
    let sent = format!("It went out on {}.", known.formats.weekday(newer.on));
    let also = sentences([Some(sent), Some(format!("Then: {}.", then.what)), Some(then.also)]);
    let label = if newer.note.is_some() { "To the change note" } else { "To the quote" };
    step(what, also, then.by, label, path)
}

fn after_booking(known: &Known<'_>) -> NextStep {
    let Known { event, now, formats, .. } = *known;
    if let Some(order) = known.orders.next(now) {
        let what = format!("Order by {}, {}", formats.weekday(order.closes.day), order.closes.time);
        let delivery = formats.weekday(order.delivery);
        let from = format!("From {}, for the delivery of {delivery}.", order.supplier);
        let also = sentences([Some(from), unserved(known)]);
        let path = format!("/stem-order?event={}", event.id);
        return step(what, also, Some(order.closes), "To the stem order", path);
    }
    if let Some(arrival) = known.arrivals.next(now.day) {
        let what = format!("Stems arrive on {}", formats.weekday(arrival.day));
        let from = format!("{} from {}.", arrival.order, arrival.supplier);
        let by = Deadline { day: arrival.day, time: TimeOfDay(jiff::civil::Time::midnight()) };
        let also = sentences([Some(from), unserved(known)]);
        return step(what, also, Some(by), "To the order", format!("/orders/{}", arrival.order_id));
    }
    match known.first_bench {
        Some(day) if day >= now.day => {
            let by = Deadline { day, time: known.event.start_time.unwrap_or(now.time) };
            let what = format!("At the bench from {}", formats.weekday(day));
            let path = format!("/prep?event={}", event.id);
            step(what, unserved(known).unwrap_or_default(), Some(by), "To the prep sheet", path)
        }
        _ => {
            let at = event.set_up_time.or(event.start_time);
            let by = Deadline { day: event.day, time: at.unwrap_or(now.time) };
            let when = at.map(|at| format!(", {at}")).unwrap_or_default();
            let what = format!("Pull and load for {}{when}", formats.weekday(event.day));
            let path = format!("/events/{}/pull-list", event.id);
            step(what, String::new(), Some(by), "To the pull list", path)
        }
    }
}

/// What is said, one sentence after the other.
fn sentences<const N: usize>(said: [Option<String>; N]) -> String {
    said.into_iter().flatten().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(" ")
}

fn unserved(known: &Known<'_>) -> Option<String> {
    let names = &known.orders.unserved;
    (!names.is_empty()).then(|| format!("No delivery in time for {}.", names.join(", ")))
}

/// The latest moment by which the order, and so everything before it, must be done.
fn order_limit(known: &Known<'_>) -> Option<Deadline> {
    known.orders.next(known.now).map(|order| order.closes)
}

/// `Orders close on Tue 12 May 2026, 11:00 (Polder).`, or that they have closed.
fn pressing(known: &Known<'_>) -> Option<String> {
    let formats = known.formats;
    if let Some(order) = known.orders.next(known.now) {
        let day = formats.weekday(order.closes.day);
        return Some(format!("Orders close on {day}, {} ({}).", order.closes.time, order.supplier));
    }
    let last = known.orders.by.last()?;
    Some(format!("Orders closed on {}: ring {}.", formats.weekday(last.closes.day), last.supplier))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::deadlines::OrderBy;
    use crate::ground::formats::DateStyle;
    use crate::ground::ids::{QuoteVersionId, SupplierId};
    use crate::ground::quantity::LengthUnit;
    use crate::stem_order::samples;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn at(day_text: &str, time: &str) -> Deadline {
        Deadline { day: day(day_text), time: time.parse().unwrap() }
    }

    /// An event on Saturday the 16th of May 2026.
    fn event() -> Event {
        Event {
            set_up_time: "15:00".parse().ok(),
            start_time: "18:00".parse().ok(),
            ..samples::event(1, "Supper", "2026-05-16")
        }
    }

    fn orders() -> Orders {
        let order = OrderBy {
            closes: at("2026-05-13", "11:00"),
            supplier_id: SupplierId(1),
            supplier: "Polder".into(),
            delivery: day("2026-05-14"),
            materials: vec!["Rose".into()],
        };
        Orders { by: vec![order], unserved: Vec::new() }
    }

    fn next(event: &Event, open: (usize, usize), quoted: Quoted, now: Deadline) -> Option<NextStep> {
        let formats = Formats {
            currency: iso_currency::Currency::EUR,
            length_unit: LengthUnit::Inch,
            date_style: DateStyle::DayMonthYear,
        };
        let (pieces, open_counts) = open;
        let (orders, first_bench) = (orders(), Some(day("2026-05-15")));
        let (quoted, orders) = (&quoted, &orders);
        let arrivals = &Arrivals::default();
        next_step(&Known { event, pieces, open_counts, quoted, arrivals, orders, first_bench, now, formats })
    }

    fn what(open: (usize, usize), quoted: Quoted, now: (&str, &str)) -> String {
        next(&event(), open, quoted, at(now.0, now.1)).unwrap().what
    }

    const SENT: Quoted = Quoted::Sent {
        number: 2,
        on: Day(jiff::civil::date(2026, 5, 1)),
        valid_until: Some(Day(jiff::civil::date(2026, 5, 8))),
    };
    const BOOKED: Quoted = Quoted::Accepted { on: Day(jiff::civil::date(2026, 5, 3)), newer: None };

    #[test]
    fn the_first_thing_that_is_not_done_is_next() {
        let early = ("2026-05-04", "09:00");
        assert_eq!(what((0, 0), Quoted::NotSent, early), "Say which pieces stand where");
        assert_eq!(what((3, 2), Quoted::NotSent, early), "Settle 2 open counts");
        assert_eq!(what((3, 0), Quoted::NotSent, early), "Send the quote");
        assert_eq!(what((3, 0), SENT, early), "Wait for their answer");
        assert_eq!(
            what((3, 0), SENT, ("2026-05-09", "09:00")),
            "The quote held until Fri 8 May 2026: send it anew"
        );
        assert_eq!(what((3, 1), BOOKED, early), "Settle 1 open count");
    }

    #[test]
    fn what_is_booked_is_ordered_made_loaded_and_closed() {
        assert_eq!(what((3, 0), BOOKED, ("2026-05-13", "11:00")), "Order by Wed 13 May 2026, 11:00");
        assert_eq!(what((3, 0), BOOKED, ("2026-05-13", "11:01")), "At the bench from Fri 15 May 2026");
        assert_eq!(what((3, 0), BOOKED, ("2026-05-16", "08:00")), "Pull and load for Sat 16 May 2026, 15:00");
        let closing = next(&event(), (3, 0), BOOKED, at("2026-05-17", "08:00")).unwrap();
        assert_eq!((closing.what.as_str(), closing.path.as_str()), ("Close it", "/events/1/close-out"));
    }

    #[test]
    fn a_closed_order_is_said_while_nothing_is_booked() {
        let late = next(&event(), (3, 0), SENT, at("2026-05-14", "08:00")).unwrap();
        assert_eq!(late.also, "Orders closed on Wed 13 May 2026: ring Polder.");
        let unsent = next(&event(), (3, 0), Quoted::NotSent, at("2026-05-14", "08:00")).unwrap();
        assert_eq!(
            (unsent.also.as_str(), unsent.by),
            ("Orders closed on Wed 13 May 2026: ring Polder.", None)
        );
    }

    #[test]
    fn a_later_version_without_an_answer_is_said() {
        let newer = Newer { version: QuoteVersionId(7), number: 3, note: None, on: day("2026-05-03") };
        let quoted = |newer| Quoted::Accepted { on: day("2026-05-03"), newer: Some(newer) };
        let step = next(&event(), (3, 0), quoted(newer), at("2026-05-04", "09:00")).unwrap();
        assert_eq!(step.what, "Version 3 waits for their answer");
        let step =
            next(&event(), (3, 0), quoted(Newer { note: Some(1), ..newer }), at("2026-05-04", "09:00"));
        let step = step.unwrap();
        assert_eq!(
            (step.what.as_str(), step.path.as_str()),
            ("Change note 1 waits for their answer", "/quote-versions/7/change-note")
        );
        assert_eq!(
            step.also,
            "It went out on Sun 3 May 2026. Then: Order by Wed 13 May 2026, 11:00. From Polder, for the delivery of Thu 14 May 2026."
        );
        assert_eq!(step.by, Some(at("2026-05-13", "11:00")));
    }

    #[test]
    fn a_declined_quote_asks_for_another() {
        let declined = Quoted::Declined { number: 2, on: day("2026-05-03") };
        let step = next(&event(), (3, 0), declined, at("2026-05-04", "09:00")).unwrap();
        assert!(step.what.starts_with("Version 2 was declined"), "{}", step.what);
    }

    #[test]
    fn what_has_ended_has_no_next_step() {
        let over = Event { ended: Some((day("2026-05-01"), Ending::Lost)), ..event() };
        assert_eq!(next(&over, (3, 0), BOOKED, at("2026-05-04", "09:00")), None);
    }

    #[test]
    fn what_was_ordered_arrives() {
        let placed = samples::placed_order(vec![samples::placed_line(10, &[(1, 60)])]);
        let arrivals = &Arrivals::of(crate::ground::ids::EventId(1), &[placed]);
        let (event, orders, first_bench) = (&event(), &Orders::default(), Some(day("2026-05-15")));
        let formats = crate::studio::Studio::new_book().formats;
        let (pieces, open_counts, quoted) = (3, 0, &BOOKED);
        let next = |now| {
            next_step(&Known {
                event,
                pieces,
                open_counts,
                quoted,
                arrivals,
                orders,
                first_bench,
                now,
                formats,
            })
        };
        let step = next(at("2026-05-12", "09:00")).unwrap();
        assert_eq!(
            (step.what.as_str(), step.path.as_str()),
            ("Stems arrive on Thu 14 May 2026", "/orders/12")
        );
        assert_eq!(step.also, "N°\u{a0}12 from Alder Wholesale.");
        assert_eq!(next(at("2026-05-15", "07:00")).unwrap().what, "At the bench from Fri 15 May 2026");
    }
}
