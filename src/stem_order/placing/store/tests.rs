//! Placed orders on a real book.

use std::path::PathBuf;

use super::*;
use crate::db::Book;
use crate::ground::ids::EventId;
use crate::ground::money::Money;
use crate::stem_order::placing::{AnswerKind, NewPlacement};
use crate::stem_order::samples::placement;

/// A book of its own for one test, with two suppliers, two materials and two events.
struct TestBook(Book, PathBuf);

impl Drop for TestBook {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.1);
    }
}

async fn book(name: &str) -> TestBook {
    let folder = std::env::temp_dir().join(format!("trug-placing-{}-{name}", std::process::id()));
    let book = Book::open(&folder.join("studio.trug")).await.unwrap();
    let mut tx = book.write().await.unwrap();
    for rows in [
        "INSERT INTO client (id, name) VALUES (1, 'Ada')",
        "INSERT INTO supplier (id, name, delivery_weekdays, cutoff_days, cutoff_time, delivery_fee, least_order)
            VALUES (1, 'Alder', 127, 1, '11:00', 1500, 0), (2, 'Brook', 127, 1, '11:00', 1500, 0)",
        "INSERT INTO material (id, name, kind, unit) VALUES (1, 'Rose', 'flower', 'stem'), (2, 'Stock', 'flower', 'stem')",
        "INSERT INTO offer (id, supplier_id, material_id, pack_name, pack_size) VALUES (1, 1, 1, 'bunch', 10), (2, 1, 2, 'bunch', 10),
            (3, 2, 1, 'bunch', 10)",
        "INSERT INTO event (id, client_id, name, day, enquired_on) VALUES (1, 1, 'Supper', '2026-05-15', '2026-01-05'),
            (2, 1, 'Wedding', '2026-05-16', '2026-01-05')",
    ] {
        sqlx::query(rows).execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
    TestBook(book, folder)
}

fn two_lines() -> NewPlacement {
    placement("key", 1, "2026-05-14", &[(1, 1, 10, &[(1, 60), (2, 36)]), (2, 2, 3, &[(2, 30)])])
}

#[tokio::test]
async fn what_is_placed_is_read_back_as_it_was() {
    let book = book("read").await;
    let new = two_lines();
    let mut tx = book.0.write().await.unwrap();
    let ids = place(&mut tx, &new).await.unwrap();
    let [id] = ids.as_slice() else { panic!("{ids:?}") };
    let read = order(&mut tx, *id).await.unwrap().unwrap();
    assert_eq!((read.number, read.placed_on, &read.events), (1, new.placed_on, &new.orders[0].events));
    let [delivered] = read.deliveries.as_slice() else { panic!("{read:?}") };
    assert_eq!(delivered.order_by().time.to_string(), "11:00");
    assert_eq!(
        (delivered.goods(), delivered.expected_goods()),
        (Money::from_minor(6_500), Money::from_minor(6_500))
    );
    for (line, new) in delivered.lines.iter().zip(&new.orders[0].deliveries[0].lines) {
        assert_eq!(
            (line.packs, line.price, &line.shares, &line.name),
            (new.packs, new.price, &new.shares, &new.name)
        );
    }
    assert_eq!(delivery(&mut tx, delivered.id).await.unwrap().as_ref(), Some(delivered));
    assert_eq!(orders_of_events(&mut tx, &[EventId(1)]).await.unwrap(), std::slice::from_ref(&read));
    assert_eq!(orders_of_events(&mut tx, &[EventId(9)]).await.unwrap(), []);
    let on = |day: &str| day.parse::<Day>().unwrap();
    let between = deliveries_between(&mut tx, on("2026-05-14"), on("2026-05-20")).await.unwrap();
    assert_eq!(between, read.deliveries);
    assert_eq!(deliveries_between(&mut tx, on("2026-05-15"), on("2026-05-20")).await.unwrap(), []);
}

#[tokio::test]
async fn one_key_places_one_order_a_supplier() {
    let book = book("once").await;
    let mut tx = book.0.write().await.unwrap();
    let first = place(&mut tx, &two_lines()).await.unwrap();
    assert_eq!(place(&mut tx, &two_lines()).await.unwrap(), first);
    let other = placement("key", 2, "2026-05-12", &[(3, 1, 1, &[(1, 10)])]);
    place(&mut tx, &other).await.unwrap();
    let all = recent(&mut tx, Listed::default(), 0).await.unwrap();
    assert_eq!(all.iter().map(|order| order.number).collect::<Vec<_>>(), [2, 1]);
    let coming = Listed { coming_from: Some("2026-05-13".parse().unwrap()), supplier: None };
    assert_eq!(recent(&mut tx, coming, 0).await.unwrap().len(), 1);
    let with_brook = Listed { coming_from: None, supplier: Some(SupplierId(2)) };
    assert_eq!(recent(&mut tx, with_brook, 0).await.unwrap()[0].supplier, "Supplier 2");
    assert_eq!(recent(&mut tx, Listed::default(), 1).await.unwrap(), []);
}

#[tokio::test]
async fn the_latest_answer_is_what_is_expected() {
    let book = book("answer").await;
    let mut tx = book.0.write().await.unwrap();
    let id = place(&mut tx, &two_lines()).await.unwrap()[0];
    let placed = order(&mut tx, id).await.unwrap().unwrap();
    let line_id = placed.deliveries[0].lines[0].id;
    let now = placed.recorded_at;
    let price = Money::from_minor(450);
    let said = |kind, packs| [NewAnswer { line_id, kind, packs, price }];
    for packs in [9, 8] {
        answer(&mut tx, &said(Some(AnswerKind::Confirmed), packs), "frost", now).await.unwrap();
    }
    let read = order(&mut tx, id).await.unwrap().unwrap();
    let line = &read.deliveries[0].lines[0];
    assert_eq!((line.packs, line.expected_packs(), line.expected_stems()), (10, 8, 80));
    assert_eq!((line.goods(), line.expected_goods()), (Money::from_minor(5_000), Money::from_minor(3_600)));
    assert_eq!(line.expected_shares().iter().map(|share| share.stems).collect::<Vec<_>>(), [50, 30]);
    assert_eq!(read.deliveries[0].lines[1].answer, None); // Taken back, it is as placed again; what was said stays on record.
    answer(&mut tx, &said(None, 10), "", now).await.unwrap();
    assert_eq!(order(&mut tx, id).await.unwrap().unwrap(), placed);
    let said: Vec<_> =
        history(&mut tx, id).await.unwrap().iter().map(|said| (said.kind, said.packs)).collect();
    assert_eq!(said, [(Some(AnswerKind::Confirmed), 9), (Some(AnswerKind::Confirmed), 8), (None, 10)]);
}
