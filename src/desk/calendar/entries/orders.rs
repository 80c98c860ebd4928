//! Entries of buying: when orders close, what is due if they go out, what comes of those that were placed.

use std::collections::BTreeMap;

use jiff::ToSpan;

use super::Known;
use crate::desk::calendar::{Entry, Kind, Standing, When};
use crate::desk::deadlines::OrderBy;
use crate::desk::outlook::Outlook;
use crate::ground::dates::Day;
use crate::ground::ids::SupplierId;
use crate::stem_order::placing::{PlacedDelivery, PlacedLine};

/// An order that is not placed yet, with the events that wait for it.
type Waiting<'a> = BTreeMap<(Day, SupplierId), Vec<(&'a Outlook, &'a OrderBy)>>;

fn waiting<'a>(known: &Known<'a>) -> Waiting<'a> {
    let mut waiting = Waiting::new();
    for outlook in known.outlooks {
        for order in &outlook.orders.by {
            waiting.entry((order.delivery, order.supplier_id)).or_default().push((outlook, order));
        }
    }
    waiting
}

/// When orders close, one entry a supplier and delivery.
pub(super) fn cut_offs(known: &Known) -> Vec<Entry> {
    let entry = |((delivery, supplier), orders): (_, Vec<(&Outlook, &OrderBy)>)| {
        let (_, first) = orders.first()?;
        let until = first.closes.day.0.to_datetime(first.closes.time.0);
        Some(Entry {
            uid: format!("order-{supplier}-{delivery}"),
            kind: Kind::CutOff,
            when: When::Hours { from: until.saturating_sub(30.minutes()), until },
            summary: format!(
                "Order from {} by {}, for {}",
                first.supplier,
                first.closes.time,
                known.formats.weekday(delivery)
            ),
            location: String::new(),
            description: for_whom(&orders),
            path: asked_for(&orders),
            standing: Standing::Firm,
            sequence: 0,
        })
    };
    waiting(known).into_iter().filter_map(entry).collect()
}

/// What is due if the order goes out.
pub(super) fn due(known: &Known) -> Vec<Entry> {
    let entry = |((delivery, supplier), orders): ((Day, SupplierId), Vec<(&Outlook, &OrderBy)>)| {
        let (_, first) = orders.first()?;
        Some(Entry {
            uid: format!("due-{supplier}-{delivery}"),
            kind: Kind::Delivery,
            when: When::day(delivery),
            summary: format!("Stems due from {}, not ordered yet", first.supplier),
            location: String::new(),
            description: for_whom(&orders),
            path: asked_for(&orders),
            standing: Standing::Tentative,
            sequence: 0,
        })
    };
    waiting(known).into_iter().filter_map(entry).collect()
}

fn for_whom(orders: &[(&Outlook, &OrderBy)]) -> String {
    let line = |(outlook, order): &(&Outlook, &OrderBy)| {
        format!("{}: {}", outlook.event.name, order.materials.join(", "))
    };
    orders.iter().map(line).collect::<Vec<_>>().join("\n")
}

fn asked_for(orders: &[(&Outlook, &OrderBy)]) -> String {
    let asked: Vec<String> =
        orders.iter().map(|(outlook, _)| format!("event={}", outlook.event.id)).collect();
    format!("/stem-order?{}", asked.join("&"))
}

/// A delivery of a placed order.
pub(super) fn placed(delivery: &PlacedDelivery) -> Entry {
    let lines = delivery.lines.iter().filter(|line| line.expected_packs() > 0).map(packs);
    Entry {
        uid: format!("delivery-{}", delivery.id),
        kind: Kind::Delivery,
        when: When::day(delivery.day),
        summary: format!("Delivery from {}", delivery.supplier),
        location: String::new(),
        description: lines.collect::<Vec<_>>().join("\n"),
        path: format!("/receiving/{}", delivery.id),
        standing: Standing::Firm,
        sequence: 0,
    }
}

/// `6 × bunch of 10, Rose, white`
fn packs(line: &PlacedLine) -> String {
    let looks = if line.looks.is_empty() { String::new() } else { format!(", {}", line.looks) };
    format!("{} × {} of {}, {}{looks}", line.expected_packs(), line.pack_name, line.pack_size, line.name)
}
