//! The short form of `cargo bench --bench load`: some people click on the book of ten years for a few seconds, a fifth of it
//! writes. No time is asserted: no answer is wrong, and every write is there.

#[path = "../bench/load/people.rs"]
mod people;

use std::time::Duration;

use people::{Crowd, click};

use crate::machine::Machine;

const PAGES: [(&str, &str); 8] = [
    ("events", "/events"),
    ("an event", "/events/3000"),
    ("its quote", "/events/3000/quote"),
    ("its pull list", "/events/3000/pull-list"),
    ("clients", "/clients"),
    ("a recipe", "/recipes/9"),
    ("materials", "/materials"),
    ("search", "/search?q=rose"),
];

#[test]
fn a_crowd_gets_no_wrong_answer_and_loses_no_write() {
    let machine = Machine::new();
    let data = machine.at("data");
    machine.says(&["ten-years", &data]);
    let served = machine.serve(&["serve", "--port", "0", "--data", &data]);
    let pages = PAGES.map(|(name, path)| (name, path.to_owned()));
    // The first visitor of a page waits for what the others find remembered.
    for (_, path) in &pages {
        assert!(served.get(path).starts_with("HTTP/1.1 200"), "{path}");
    }
    let crowd =
        Crowd { first: 0, people: 12, lasts: Duration::from_secs(6), pause: Duration::from_millis(150) };
    let heard = click(&served.address(), &pages, crowd);
    assert!(heard.wrong.is_empty(), "{:?}", &heard.wrong[..heard.wrong.len().min(3)]);
    assert!(
        heard.clicks() > 50 && heard.writes() > 5,
        "{} clicks, {} writes",
        heard.clicks(),
        heard.writes()
    );
    let callers = heard.took["write: a new event"].len();
    let listed = served.get("/events?when=all&q=Event+0+1");
    assert!(callers > 0 && listed.contains("Event 0 1"), "the first person's first event");
}
