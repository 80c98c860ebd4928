//! Killed in the middle of writing: what was acknowledged is there, nothing is there by half.
//! `TRUG_KILLS=300 cargo test --test app killed` is the long form.

#![cfg(unix)]

use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use sqlx::Connection;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use trug::config::BOOK_FILE;
use trug::db::files;

use crate::machine::{Machine, answer_to};

/// So many people write at once.
const WRITERS: u64 = 4;

fn kills() -> u64 {
    std::env::var("TRUG_KILLS").map_or(12, |kills| kills.parse().unwrap())
}

/// An event and its new client: two rows, written together.
fn form_of(number: u64) -> String {
    format!("client=Client+{number}&new_client=yes&name=Event+{number}&day=2099-05-09")
}

fn write_until_it_dies(address: &str, next: &AtomicU64, acknowledged: &Mutex<Vec<u64>>) {
    loop {
        let number = next.fetch_add(1, Ordering::Relaxed);
        match answer_to(address, "POST", "/events", &form_of(number)) {
            Ok(answer) if answer.starts_with("HTTP/1.1 303") => acknowledged.lock().unwrap().push(number),
            Ok(answer) if !answer.is_empty() => panic!("refused: {answer}"),
            // Dead: nothing was promised.
            _ => return,
        }
    }
}

fn wait_for_more_than(many: usize, acknowledged: &Mutex<Vec<u64>>) {
    let begun = Instant::now();
    while acknowledged.lock().unwrap().len() <= many {
        assert!(begun.elapsed() < Duration::from_mins(1), "nothing is written");
        thread::sleep(Duration::from_millis(1));
    }
}

/// The numbers of a table's rows, in order.
async fn numbers_in(book: &Path, table: &str) -> Vec<u64> {
    let mut connection =
        SqliteConnection::connect_with(&SqliteConnectOptions::new().filename(book).read_only(true))
            .await
            .unwrap();
    let names: Vec<String> =
        sqlx::query_scalar(sqlx::AssertSqlSafe(format!("SELECT name FROM {table} ORDER BY name")))
            .fetch_all(&mut connection)
            .await
            .unwrap();
    let mut numbers: Vec<u64> =
        names.iter().map(|name| name.split(' ').nth(1).unwrap().parse().unwrap()).collect();
    numbers.sort_unstable();
    numbers
}

#[tokio::test]
async fn nothing_acknowledged_is_lost_when_the_program_is_killed() {
    let machine = Machine::new();
    let data = machine.at("data");
    let next = Arc::new(AtomicU64::new(1));
    let acknowledged = Arc::new(Mutex::new(Vec::new()));
    for round in 0..kills() {
        let mut served = machine.serve(&["serve", "--port", "0", "--data", &data]);
        let before = acknowledged.lock().unwrap().len();
        let writers: Vec<_> = (0..WRITERS)
            .map(|_| {
                let (address, next, acknowledged) = (served.address(), next.clone(), acknowledged.clone());
                thread::spawn(move || write_until_it_dies(&address, &next, &acknowledged))
            })
            .collect();
        // Later in each round, so that starting, first writes and full load are all hit: every fourth time as it starts, else
        // after the first write, however busy the machine is.
        if round % 4 != 0 {
            wait_for_more_than(before, &acknowledged);
        }
        thread::sleep(Duration::from_millis(5 + round * 37 % 150));
        served.child.kill().unwrap();
        served.child.wait().unwrap();
        for writer in writers {
            writer.join().unwrap();
        }
    }
    let book = machine.0.join("data").join(BOOK_FILE);
    files::check(&book).await.unwrap();
    let kept = numbers_in(&book, "event").await;
    assert_eq!(
        kept,
        numbers_in(&book, "client").await,
        "an event without its client, or the other way round"
    );
    let acknowledged = acknowledged.lock().unwrap();
    assert!(acknowledged.len() * 4 >= usize::try_from(kills()).unwrap() * 3, "hardly anything was written");
    let lost: Vec<u64> = acknowledged.iter().copied().filter(|number| !kept.contains(number)).collect();
    assert!(lost.is_empty(), "lost {lost:?} of {}", acknowledged.len());
    let mut once = kept.clone();
    once.dedup();
    assert_eq!(once, kept, "written twice");
}
