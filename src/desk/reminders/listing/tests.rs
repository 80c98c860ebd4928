use proptest::prelude::*;

use super::*;
use crate::desk::standing::Newer;
use crate::events::Ending;
use crate::ground::ids::{InvoiceId, QuoteVersionId};
use crate::ground::money::Money as Amount;
use crate::stem_order::samples;
use crate::studio::Studio;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn at(day_of: &str, time: &str) -> Deadline {
    Deadline { day: day(day_of), time: time.parse().unwrap() }
}

fn order(closes: Deadline) -> Orders {
    let by = OrderBy {
        closes,
        supplier_id: SupplierId(1),
        supplier: "Polder".into(),
        delivery: closes.day.plus(2),
        materials: vec!["Rose".into(), "Stock".into(), "Myrtle".into()],
    };
    Orders { by: vec![by], unserved: Vec::new() }
}

const BOOKED: Quoted = Quoted::Accepted { on: Day(jiff::civil::date(2026, 3, 1)), newer: None };

fn known<'a>(event: &'a Event, quoted: &'a Quoted, orders: Option<&'a Orders>) -> KnownEvent<'a> {
    KnownEvent { event, quoted, open_counts: 2, orders }
}

fn list(events: &[KnownEvent], money: &Money, now: Deadline) -> Vec<Reminder> {
    let known = Known {
        events,
        money,
        loans: &[(EventId(7), "Old fair".into(), day("2026-05-03"))],
        clients: &BTreeMap::from([(ClientId(1), "Ada North".to_owned())]),
        rules: Rules::USUAL,
        now,
        formats: Studio::new_book().formats,
    };
    reminders(&known)
}

fn whats(list: &[Reminder]) -> Vec<&str> {
    list.iter().map(|one| one.what.as_str()).collect()
}

#[test]
fn an_order_that_closes_today_comes_before_money_that_is_late() {
    let event = samples::event(1, "Wedding", "2026-05-16");
    let orders = order(at("2026-05-12", "11:00"));
    let owed = Owed {
        invoice_id: InvoiceId(4),
        number: "44".into(),
        client_id: ClientId(1),
        event_id: None,
        due_on: day("2026-03-01"),
        open: Amount::from_minor(41_200),
    };
    let money = Money { owed: vec![owed], ..Money::default() };
    let events = [known(&event, &BOOKED, Some(&orders))];
    let said = list(&events, &money, at("2026-05-12", "09:00"));
    assert_eq!(
        whats(&said),
        [
            "Order from Polder by 11:00",
            "Ask Ada North for €412.00, invoice 44",
            "Count the loans of Old fair",
            "Confirm 2 counts for Wedding",
        ]
    );
    assert!(said[0].why.starts_with("Rose, Stock and more for Wedding"), "{}", said[0].why);
    // At noon it is missed; after three days nobody asks any more, nor the day before.
    let first = |day: &str, time: &str| list(&events, &Money::default(), at(day, time))[0].what.clone();
    assert_eq!(first("2026-05-12", "12:00"), "Polder’s orders closed on Tue 12 May 2026, 11:00");
    assert_eq!(first("2026-05-11", "09:00"), "Count the loans of Old fair");
    assert_eq!(first("2026-05-16", "09:00"), "Count the loans of Old fair");
}

#[test]
fn past_and_called_off_events_do_not_nag() {
    let mut event = samples::event(1, "Wedding", "2026-05-16");
    let orders = order(at("2026-05-12", "11:00"));
    let sent = Quoted::Sent { number: 1, on: day("2026-04-01"), valid_until: None };
    let only_loans = |event: &Event, quoted: &Quoted, now| {
        list(&[known(event, quoted, Some(&orders))], &Money::default(), now).len() == 1
    };
    assert!(!only_loans(&event, &sent, at("2026-05-12", "09:00")));
    assert!(only_loans(&event, &sent, at("2026-05-17", "09:00")));
    assert!(only_loans(&event, &BOOKED, at("2026-05-17", "09:00")));
    event.ended = Some((day("2026-05-01"), Ending::Cancelled));
    assert!(only_loans(&event, &sent, at("2026-05-12", "09:00")));
    assert!(only_loans(&event, &BOOKED, at("2026-05-12", "09:00")));
}

/// Nobody is asked again about what was declined, nor about a change that no longer waits.
#[test]
fn what_was_declined_is_not_asked_about() {
    let event = samples::event(1, "Wedding", "2026-05-16");
    let asked = |standing: &crate::quotes::Standing| {
        let quoted = Quoted::from(standing);
        let one = KnownEvent { open_counts: 0, ..known(&event, &quoted, None) };
        whats(&list(&[one], &Money::default(), at("2026-05-12", "09:00"))).len() == 2
    };
    let sent = crate::quotes::Standing {
        number: 2,
        version_id: QuoteVersionId(2),
        sent_on: day("2026-04-01"),
        total: Amount::from_minor(100),
        valid_until: None,
        accepted: None,
        declined_on: None,
        note: None,
    };
    assert!(asked(&sent));
    let declined = crate::quotes::Standing { declined_on: Some(day("2026-04-03")), ..sent.clone() };
    assert!(!asked(&declined));
    let accepted = crate::quotes::Accepted {
        number: 1,
        version_id: QuoteVersionId(1),
        total: Amount::from_minor(90),
        on: day("2026-03-02"),
        by: "Ada".into(),
    };
    let note =
        crate::quotes::Standing { accepted: Some(accepted), note: Some((1, QuoteVersionId(1))), ..sent };
    assert!(asked(&note));
    assert!(!asked(&crate::quotes::Standing { declined_on: Some(day("2026-04-03")), ..note.clone() }));
    assert!(!asked(&crate::quotes::Standing { note: Some((1, QuoteVersionId(9))), ..note }), "overtaken");
}

fn waiting_version() -> Newer {
    Newer { version: QuoteVersionId(3), number: 3, note: Some(1), on: day("2026-05-01") }
}

#[test]
fn a_change_that_waits_is_asked_about() {
    let event = samples::event(1, "Wedding", "2026-05-16");
    let changed = Quoted::Accepted { on: day("2026-03-01"), newer: Some(waiting_version()) };
    let waiting = KnownEvent { open_counts: 0, ..known(&event, &changed, None) };
    let what = |now| whats(&list(&[waiting], &Money::default(), now)).len();
    assert_eq!((what(at("2026-05-05", "09:00")), what(at("2026-05-06", "09:00"))), (1, 2), "after five days");
}

proptest! {
    /// None is lost and none is shown twice: put off or open, by their marks; and the worst come first.
    #[test]
    fn each_is_open_or_put_off(ages in proptest::collection::vec((0_i64..60, proptest::option::of(-5_i64..9)), 0..9)) {
        let today = day("2026-05-12");
        let owed = |(id, (age, _)): (i64, &(i64, Option<i64>))| Owed {
            invoice_id: InvoiceId(id),
            number: id.to_string(),
            client_id: ClientId(1),
            event_id: None,
            due_on: today.plus(-age),
            open: Amount::from_minor(100),
        };
        let money = Money { owed: (1..).zip(&ages).map(owed).collect(), ..Money::default() };
        let all = list(&[], &money, at("2026-05-12", "09:00"));
        prop_assert!(all.is_sorted_by_key(|one| (one.pressing, one.day)));
        let mut marks = BTreeMap::new();
        for (id, (age, again)) in (1..).zip(&ages) {
            if let Some(again) = again {
                let key = format!("invoice-{id}{}", if *age > 0 { "-overdue" } else { "" });
                let mark = Mark { key: key.clone(), on: today, by: String::new(), again_on: today.plus(*again) };
                marks.insert(key, mark);
            }
        }
        let sorted = sorted(all.clone(), marks, today);
        let hidden = ages.iter().filter(|(_, again)| again.is_some_and(|again| again > 0)).count();
        prop_assert_eq!((sorted.open.len(), sorted.put_off.len()), (all.len() - hidden, hidden));
    }
}
