use super::*;
use crate::ground::ids::RecipeId;
use crate::ground::money::Money;
use crate::pull_list::loans::CountedLine;
use crate::stem_order::samples;
use crate::studio::Studio;

const STICK: MaterialId = MaterialId(1);

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn stick(owned: i64) -> Material {
    Material { loaned: true, owned, spare_per: 0, ..samples::vessel(1, "Candlestick") }
}

/// An event whose pieces take two candlesticks each.
fn borrower(id: i64, name: &str, on: &str, pieces: i64) -> Borrower {
    let event = samples::event(id, name, on);
    let pieces = vec![samples::piece(1, pieces)];
    Borrower { event, period: Period::USUAL, pieces, count: None }
}

fn looked_at(borrowers: Vec<Borrower>, owned: i64) -> Bookings {
    let pair = samples::recipe(1, "Pair", &[samples::stems(1, 2_000)]);
    let book = samples::book(vec![pair], vec![stick(owned)]);
    assert!(book.recipes.contains_key(&RecipeId(1)));
    let span = Span { from: day("2026-05-11"), to: day("2026-05-31") };
    let materials = HashMap::from([(STICK, stick(owned))]);
    let inputs = LoanInputs { span, borrowers, book, materials, costs: HashMap::new() };
    bookings(inputs, &Studio::new_book().formats).unwrap()
}

fn count(on: &str, (back, broken, missing): (i64, i64, i64)) -> Count {
    let line = CountedLine { material: STICK, taken: 24, back, broken, missing, charge_each: Money::ZERO };
    Count {
        version: 1,
        on: day(on),
        by: String::new(),
        charged: false,
        note: String::new(),
        lines: vec![line],
    }
}

fn booked(bookings: &Bookings) -> Vec<(String, String, i64)> {
    let stretches = &bookings.materials[0].stretches;
    stretches.iter().map(|at| (at.from.to_string(), at.to.to_string(), at.booked)).collect()
}

#[test]
fn two_events_on_one_day_share_the_shelf() {
    let formats = Studio::new_book().formats;
    let found =
        looked_at(vec![borrower(1, "Wedding", "2026-05-16", 12), borrower(2, "Supper", "2026-05-17", 8)], 38);
    let loans = &found.materials[0];
    assert_eq!(loans.stretches.iter().map(|stretch| stretch.booked).collect::<Vec<_>>(), [24, 40, 16]);
    assert_eq!((loans.most_short(), loans.shortfalls().count()), (2, 1));
    assert_eq!(
        found.shared_shortfalls(EventId(1), &formats),
        [
            "Candlestick: 2 short on Sat 16 May 2026 to Sun 17 May 2026 with Supper. 40 are wanted, the studio owns 38. \
            Hire 2 or buy 2."
        ]
    );
    assert_eq!(found.shortfalls_of(EventId(2), &formats).len(), 1);
}

#[test]
fn one_event_short_by_itself_is_no_shared_shortfall() {
    let formats = Studio::new_book().formats;
    let found = looked_at(vec![borrower(1, "Wedding", "2026-05-16", 12)], 20);
    assert!(found.shared_shortfalls(EventId(1), &formats).is_empty());
    let said = found.shortfalls_of(EventId(1), &formats);
    assert!(said[0].starts_with("Candlestick: 4 short on Fri 15 May 2026 to Sun 17 May 2026. 24 are wanted"));
}

#[test]
fn the_typed_days_hold_and_those_outside_the_span_are_cut_off() {
    let mut early = borrower(1, "Wedding", "2026-05-12", 12);
    early.period = Period { version: 1, leaves_before: 5, returns_after: 0 };
    assert_eq!(booked(&looked_at(vec![early], 38)), [("2026-05-11".into(), "2026-05-12".into(), 24)]);
}

#[test]
fn what_was_counted_back_is_free_and_what_is_still_out_is_not() {
    let counted = |count| Borrower { count: Some(count), ..borrower(1, "Wedding", "2026-05-16", 12) };
    let all = looked_at(vec![counted(count("2026-05-17", (23, 1, 0)))], 37);
    assert_eq!(booked(&all), [("2026-05-15".into(), "2026-05-16".into(), 24)]);
    let some = looked_at(vec![counted(count("2026-05-18", (20, 1, 1)))], 36);
    assert_eq!(
        booked(&some),
        [("2026-05-15".into(), "2026-05-17".into(), 24), ("2026-05-18".into(), "2026-05-31".into(), 2)]
    );
    assert!(!some.loans[0].is_due(day("2026-05-30")), "counted, though not all of it is back");
}

#[test]
fn loans_are_due_once_their_day_has_come_until_they_are_counted_or_the_event_is_closed() {
    let due = |borrower: Borrower, on: &str| looked_at(vec![borrower], 38).loans[0].is_due(day(on));
    let lent = || borrower(1, "Wedding", "2026-05-16", 12);
    assert!(!due(lent(), "2026-05-16") && due(lent(), "2026-05-17"));
    assert!(!due(Borrower { count: Some(count("2026-05-17", (24, 0, 0))), ..lent() }, "2026-05-20"));
    let mut closed = lent();
    closed.event.ended = Some((day("2026-05-18"), crate::events::Ending::Closed));
    assert!(!due(closed, "2026-05-20"));
}

#[test]
fn nothing_is_booked_for_what_was_called_off() {
    let mut off = borrower(1, "Wedding", "2026-05-16", 12);
    off.event.ended = Some((day("2026-05-10"), crate::events::Ending::Cancelled));
    assert_eq!(booked(&looked_at(vec![off], 38)), []);
}

#[test]
fn what_mends_one_stretch_may_not_mend_the_worst() {
    let found = looked_at(
        vec![borrower(1, "Wedding", "2026-05-14", 12), borrower(2, "Supper", "2026-05-20", 14)],
        20,
    );
    let loans = &found.materials[0];
    let said: Vec<String> =
        loans.shortfalls().map(|stretch| loans.proposal(stretch, &Studio::new_book().formats)).collect();
    assert_eq!(said, ["Hire 4, or buy 8 for all days.", "Hire 8 or buy 8."]);
}

#[test]
fn buying_is_proposed_in_whole_packs_at_the_price_list_s_price() {
    let bookings = looked_at(vec![borrower(1, "Supper", "2026-05-16", 12)], 17);
    let mut loans = bookings.materials[0].clone();
    let cost = |pack_size| UnitCost {
        offer_id: crate::ground::ids::OfferId(1),
        supplier_id: crate::ground::ids::SupplierId(1),
        supplier_name: "Meadow & Mill".into(),
        pack_name: "case".into(),
        pack_size,
        pack_price: Money::from_minor(4_800),
        from_day: day("2026-01-01"),
    };
    let formats = Studio::new_book().formats;
    let said = |loans: &MaterialLoans| loans.proposal(&loans.stretches[0], &formats);
    assert_eq!(said(&loans), "Hire 7 or buy 7.");
    loans.cost = Some(cost(6));
    assert_eq!(said(&loans), "Hire 7 or buy 7. Buying costs €96.00: 2 cases of 6 × €48.00 (Meadow & Mill).");
    loans.cost = Some(cost(1));
    assert_eq!(said(&loans), "Hire 7 or buy 7. Buying costs €336.00: 7 × €48.00 (Meadow & Mill).");
}
