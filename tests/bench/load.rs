//! A full studio: fifty people click for five minutes on the book of ten years, a fifth of it writes.
//! `cargo bench --bench load` is the whole of it, `cargo bench --bench load -- 20` twenty seconds. Prints how long the clicks
//! took, by page; fails only where an answer is not the one expected. Its short form is among the tests (`tests/app/load.rs`).

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a bench fails by panicking")]

mod book;
#[path = "load/people.rs"]
mod people;
mod program;

use std::time::Duration;

use book::{Folder, order_of_twelve};
use people::{Crowd, Heard, click};
use trug::clock::Clock;
use trug::config::BOOK_FILE;
use trug::ten_years;

/// Between two clicks a person looks at the page for two seconds on the whole.
const PAUSE: Duration = Duration::from_secs(2);
const PEOPLE: u64 = 50;
/// Memory is looked at so often.
const PARTS: u32 = 10;

fn pages() -> Vec<(&'static str, String)> {
    let mut pages: Vec<(&str, String)> = [
        ("this week", "/"),
        ("reminders", "/reminders"),
        ("events, coming", "/events"),
        ("events, all, found", "/events?when=all&q=wedding"),
        ("an event", "/events/3000"),
        ("its form", "/events/3000/edit"),
        ("its pieces", "/events/3000/pieces"),
        ("its quote", "/events/3000/quote"),
        ("its prep", "/prep?event=3000"),
        ("its freshness", "/events/3000/freshness"),
        ("its pull list", "/events/3000/pull-list"),
        ("its load sheet", "/events/3000/load"),
        ("its account", "/events/3000/account"),
        ("clients", "/clients"),
        ("recipes", "/recipes"),
        ("a recipe", "/recipes/9"),
        ("materials", "/materials"),
        ("a material", "/materials/2"),
        ("the bench plan", "/prep/plan"),
        ("accounts", "/accounts"),
        ("settings", "/settings"),
        ("search", "/search?q=rose"),
    ]
    .map(|(name, path)| (name, path.to_owned()))
    .into();
    pages.push(("need and order, 12 events", order_of_twelve()));
    pages
}

fn main() {
    let seconds = std::env::args().find_map(|word| word.parse::<u64>().ok()).unwrap_or(300);
    let folder = Folder::new();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let rows = runtime.block_on(ten_years::make(&folder.0.join(BOOK_FILE), 1, Clock::Machine)).unwrap();
    let (program, _) = program::start(&folder.0);
    let pages = pages();
    for (_, path) in &pages {
        program.get(path);
    }
    println!(
        "{PEOPLE} people, {seconds} s, a book of {rows} rows. Memory after every page once: {}.",
        program.memory()
    );
    let lasts = Duration::from_secs(seconds) / PARTS;
    let mut heard = Heard::default();
    for part in 1..=PARTS {
        let first = u64::from(part) * PEOPLE;
        heard =
            heard.and(click(&program.address, &pages, Crowd { first, people: PEOPLE, lasts, pause: PAUSE }));
        println!("After part {part} of {PARTS}: {} clicks, memory {}.", heard.clicks(), program.memory());
    }
    tell(heard, seconds);
    drop(program);
    drop(folder);
}

fn tell(mut heard: Heard, seconds: u64) {
    let (clicks, writes) = (heard.clicks() as u64, heard.writes() as u64);
    println!(
        "\n{clicks} clicks, {} a second, {} % of them writes.",
        clicks / seconds.max(1),
        writes * 100 / clicks.max(1)
    );
    println!("{:<27} {:>7} {:>9} {:>9} {:>9}", "click", "times", "median", "p99", "longest");
    for (kind, took) in &mut heard.took {
        took.sort_unstable();
        let at = |per_cent: usize| took[(took.len() * per_cent / 100).min(took.len() - 1)];
        println!("{kind:<27} {:>7} {:>9.1?} {:>9.1?} {:>9.1?}", took.len(), at(50), at(99), at(100));
    }
    println!("Wrong answers: {} (aim none).", heard.wrong.len());
    assert!(heard.wrong.is_empty(), "{:?}", &heard.wrong[..heard.wrong.len().min(3)]);
}
