use std::collections::BTreeMap;

use rust_decimal::Decimal;

use super::*;
use crate::desk::arrivals::Arrivals;
use crate::desk::deadlines::{Deadline, OrderBy, Orders};
use crate::desk::standing::{Quoted, Standing as Word};
use crate::events::{CountRule, Ending, Piece};
use crate::ground::ids::{ClientId, EventId, PieceId, PlaceId, RecipeId, SupplierId};
use crate::ground::quantity::Quantity;
use crate::stem_order::placing::AnswerKind;
use crate::stem_order::samples::{answered, placed_line, placed_order};
use crate::studio::Studio;

fn event(id: i64, day: &str) -> Event {
    Event {
        id: EventId(id),
        version: 3,
        client_id: ClientId(1),
        client_name: "Imke Sorrell".into(),
        name: format!("Event {id}"),
        day: day.parse().unwrap(),
        set_up_time: None,
        start_time: None,
        end_time: None,
        strike_time: None,
        venue: "Tithe Barn".into(),
        venue_address: "Mill Lane 2\nSallowby".into(),
        venue_contact: "Greer, 0123 456".into(),
        guests: Some(90),
        tables: None,
        seats: None,
        budget: Some(crate::ground::money::Money::from_minor(123_456)),
        note: "Ring the mother first".into(),
        enquired_on: "2026-01-02".parse().unwrap(),
        ended: None,
    }
}

fn outlook(event: Event, orders: Vec<OrderBy>, quoted: Quoted) -> Outlook {
    let made = event.day.plus(-1);
    Outlook {
        event,
        pieces: Vec::new(),
        arrivals: Arrivals::default(),
        orders: Orders { by: orders, unserved: Vec::new() },
        bench: BTreeMap::from([(made, Decimal::from(90))]),
        quoted,
        quote: None,
        standing: Word { word: "Booked".into(), shape: "done" },
        next: None,
    }
}

fn order_by(delivery: &str, closes: (&str, &str), materials: &[&str]) -> OrderBy {
    OrderBy {
        closes: Deadline { day: closes.0.parse().unwrap(), time: closes.1.parse().unwrap() },
        supplier_id: SupplierId(7),
        supplier: "Polder".into(),
        delivery: delivery.parse().unwrap(),
        materials: materials.iter().map(|name| (*name).to_owned()).collect(),
    }
}

fn all(outlooks: &[Outlook], called_off: &[Event], deliveries: &[PlacedDelivery]) -> Vec<Entry> {
    let formats = Studio::new_book().formats;
    let known = Known { outlooks, called_off, deliveries, loans: None, work: &HashMap::new(), formats };
    entries(&known, Covered { from: "2026-05-01".parse().unwrap(), to: "2026-05-31".parse().unwrap() })
}

fn of<'a>(entries: &'a [Entry], uid: &str) -> &'a Entry {
    entries.iter().find(|entry| entry.uid == uid).unwrap_or_else(|| panic!("no {uid} in {entries:#?}"))
}

#[test]
fn an_event_lasts_from_set_up_to_strike_or_all_day() {
    let mut late = event(1, "2026-05-16");
    late.set_up_time = "09:00".parse().ok();
    late.end_time = "23:00".parse().ok();
    late.strike_time = "00:30".parse().ok();
    let mut hardly_known = event(2, "2026-05-17");
    hardly_known.start_time = "14:00".parse().ok();
    let accepted = Quoted::Accepted { on: "2026-03-01".parse().unwrap(), newer: None };
    let outlooks = [outlook(late, Vec::new(), accepted), outlook(hardly_known, Vec::new(), Quoted::NotSent)];
    let entries = all(&outlooks, &[], &[]);
    let (first, second) = (of(&entries, "event-1"), of(&entries, "event-2"));
    let until = "2026-05-17T00:30".parse().unwrap();
    assert_eq!(first.when, When::Hours { from: "2026-05-16T09:00".parse().unwrap(), until });
    assert_eq!((first.standing, first.sequence), (Standing::Firm, 2));
    assert_eq!(second.when, When::day("2026-05-17".parse().unwrap()));
    assert_eq!(second.standing, Standing::Tentative);
    assert_eq!(second.description, "For Imke Sorrell\nStart 14:00\n90 guests");
    assert_eq!(second.location, "Tithe Barn, Mill Lane 2, Sallowby");
}

#[test]
fn nobody_reads_money_notes_or_telephone_numbers() {
    let order = placed_order(vec![placed_line(10, &[(1, 60)])]);
    let valid_until = "2026-05-10".parse().ok();
    let sent = Quoted::Sent { number: 2, on: "2026-04-01".parse().unwrap(), valid_until };
    let outlooks = [outlook(
        event(1, "2026-05-16"),
        vec![order_by("2026-05-14", ("2026-05-12", "11:00"), &["Rose"])],
        sent,
    )];
    let text = format!("{:?}", all(&outlooks, &[event(3, "2026-05-09")], &order.deliveries));
    for private in ["1234", "Ring the mother", "0123", "Greer"] {
        assert!(!text.contains(private), "{private} in {text}");
    }
}

#[test]
fn an_order_for_two_events_closes_once() {
    let closes = ("2026-05-12", "11:00");
    let outlooks = [
        outlook(
            event(1, "2026-05-16"),
            vec![order_by("2026-05-14", closes, &["Rose", "Stock"])],
            Quoted::NotSent,
        ),
        outlook(event(2, "2026-05-17"), vec![order_by("2026-05-14", closes, &["Rose"])], Quoted::NotSent),
    ];
    let entries = all(&outlooks, &[], &[]);
    let cut_off = of(&entries, "order-7-2026-05-14");
    assert_eq!(
        cut_off.when,
        When::Hours { from: "2026-05-12T10:30".parse().unwrap(), until: "2026-05-12T11:00".parse().unwrap() }
    );
    assert_eq!(cut_off.description, "Event 1: Rose, Stock\nEvent 2: Rose");
    assert_eq!(cut_off.path, "/stem-order?event=1&event=2");
    let due = of(&entries, "due-7-2026-05-14");
    assert_eq!((due.when, due.standing), (When::day("2026-05-14".parse().unwrap()), Standing::Tentative));
    assert_eq!(entries.iter().filter(|entry| entry.kind == Kind::CutOff).count(), 1);
}

#[test]
fn only_what_still_comes_of_an_order_is_a_delivery() {
    let order = placed_order(vec![placed_line(10, &[(1, 60)])]);
    let entries = all(&[], &[], &order.deliveries);
    let delivery = of(&entries, &format!("delivery-{}", order.deliveries[0].id));
    assert_eq!(delivery.when, When::day(order.deliveries[0].day));
    let gone = placed_order(vec![answered(placed_line(10, &[(1, 60)]), AnswerKind::Cancelled, 0, 500)]);
    assert_eq!(all(&[], &[], &gone.deliveries), []);
}

#[test]
fn a_bench_day_sums_what_is_made_on_it() {
    let outlooks = [
        outlook(event(1, "2026-05-16"), Vec::new(), Quoted::NotSent),
        outlook(event(2, "2026-05-16"), Vec::new(), Quoted::NotSent),
    ];
    let entries = all(&outlooks, &[], &[]);
    let bench = of(&entries, "bench-2026-05-15");
    assert_eq!(bench.summary, "Bench: 3 h of making");
    assert_eq!(bench.description, "Event 1: 1 h 30 min\nEvent 2: 1 h 30 min");
}

#[test]
fn the_van_leaves_and_comes_back_where_the_hours_are_known() {
    let mut supper = event(1, "2026-05-16");
    supper.set_up_time = "10:00".parse().ok();
    supper.strike_time = "23:00".parse().ok();
    let mut outlook = outlook(supper, Vec::new(), Quoted::NotSent);
    assert!(
        !all(&[outlook.clone()], &[], &[]).iter().any(|entry| entry.uid.starts_with("van")),
        "nothing to bring"
    );
    outlook.pieces = vec![piece(20)];
    let entries = all(&[outlook.clone()], &[], &[]);
    let hours =
        |from: &str, until: &str| When::Hours { from: from.parse().unwrap(), until: until.parse().unwrap() };
    // 20 pieces, 2 people: 20 min of loading, 30 of driving, 20 of striking.
    assert_eq!(of(&entries, "van-leaves-1").when, hours("2026-05-16T09:10", "2026-05-16T10:00"));
    assert_eq!(of(&entries, "van-back-1").when, hours("2026-05-16T23:00", "2026-05-16T23:50"));
    assert!(
        of(&entries, "van-back-1")
            .description
            .ends_with("By usual figures for load, drive, set, strike, crew")
    );
    outlook.event.strike_time = None;
    let entries = all(&[outlook], &[], &[]);
    assert!(!entries.iter().any(|entry| entry.uid == "van-back-1"), "nobody knows when");
}

fn piece(count: i64) -> Piece {
    Piece {
        id: PieceId(1),
        event_id: EventId(1),
        place_id: PlaceId(1),
        place: "Long room".into(),
        recipe_id: RecipeId(1),
        recipe: "Low centre".into(),
        rule: CountRule::Number,
        count: Quantity::whole(count),
        note: String::new(),
    }
}

#[test]
fn what_was_called_off_keeps_its_name_and_is_struck() {
    let mut gone = event(4, "2026-05-20");
    gone.ended = Some(("2026-05-02".parse().unwrap(), Ending::Cancelled));
    let entries = all(&[], &[gone], &[]);
    assert_eq!((entries.len(), of(&entries, "event-4").standing), (1, Standing::CalledOff));
}

#[test]
fn a_quote_ends_only_while_it_waits() {
    let sent = |valid_until: Option<&str>| Quoted::Sent {
        number: 2,
        on: "2026-04-01".parse().unwrap(),
        valid_until: valid_until.map(|day| day.parse().unwrap()),
    };
    let ends = |quoted| {
        let entries = all(&[outlook(event(1, "2026-05-16"), Vec::new(), quoted)], &[], &[]);
        entries.iter().find(|entry| entry.kind == Kind::Quote).map(|entry| entry.when)
    };
    assert_eq!(ends(sent(Some("2026-05-08"))), Some(When::day("2026-05-08".parse().unwrap())));
    assert_eq!(ends(sent(None)), None);
    assert_eq!(ends(Quoted::Accepted { on: "2026-05-01".parse().unwrap(), newer: None }), None);
}

#[test]
fn what_lies_outside_the_days_is_left_out() {
    let entries = all(&[outlook(event(1, "2026-06-01"), Vec::new(), Quoted::NotSent)], &[], &[]);
    // The event is in June, its bench day still in May.
    assert_eq!(entries.iter().map(|entry| entry.uid.as_str()).collect::<Vec<_>>(), ["bench-2026-05-31"]);
}
