//! The program itself, started as a person starts it.

use std::io::Write;
use std::process::{Command, Stdio};
use std::{fs, net};

use jiff::tz::TimeZone;
use trug::clock::Clock;

use crate::machine::Machine;

#[cfg(unix)]
#[test]
fn the_demo_serves_and_says_where() {
    let machine = Machine::new();
    let served = machine.serve(&["demo", "--port", "0"]);
    assert!(served.said.contains("all of it invented"), "{}", served.said);
    let page = served.get("/clients");
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("Imke Sorrell"), "{page}");
    // Asked to end, it takes its book with it.
    let left = || fs::read_dir(&machine.0).unwrap().count();
    assert_eq!(left(), 1);
    let mut served = served;
    let asked = Command::new("kill").arg(served.child.id().to_string()).status().unwrap();
    assert!(asked.success() && served.child.wait().unwrap().success());
    assert_eq!(left(), 0);
}

#[test]
fn a_book_goes_out_and_comes_in_again() {
    let machine = Machine::new();
    let (demo, other, out) = (machine.at("demo"), machine.at("other"), machine.at("out"));
    machine.demo_book(&demo);
    assert!(machine.says(&["export", &out, "--data", &demo]).contains("README.txt"));
    assert!(machine.refuses(&["export", &out, "--data", &demo]).contains("not empty"));
    assert!(machine.says(&["import", &out, "--data", &other]).contains("rows were read"));
    let again = machine.at("again");
    machine.says(&["export", &again, "--data", &other]);
    assert_eq!(
        fs::read(format!("{out}/piece.csv")).unwrap(),
        fs::read(format!("{again}/piece.csv")).unwrap()
    );
    let said = machine.refuses(&["import", &out, "--data", &other]);
    assert!(said.contains("is not empty") && said.contains("--replace"), "{said}");
    let said = machine.says(&["import", &out, "--data", &other, "--replace"]);
    assert!(said.contains("before-import"), "{said}");
    assert_eq!(fs::read_dir(format!("{other}/backups")).unwrap().count(), 1);
}

#[test]
fn a_refused_import_changes_nothing() {
    let machine = Machine::new();
    let (demo, out) = (machine.at("demo"), machine.at("out"));
    machine.demo_book(&demo);
    machine.says(&["export", &out, "--data", &demo]);
    fs::write(format!("{out}/client.csv"), "nonsense").unwrap();
    let before = fs::read(format!("{demo}/studio.trug")).unwrap();
    assert!(machine.refuses(&["import", &out, "--data", &demo, "--replace"]).contains("client.csv, row 1"));
    assert!(machine.says(&["check", "--data", &demo]).contains("is whole"));
    assert_eq!(before, fs::read(format!("{demo}/studio.trug")).unwrap());
    assert!(
        machine
            .refuses(&["import", &machine.at("nowhere"), "--data", &machine.at("new")])
            .contains("no folder")
    );
}

#[test]
fn a_backup_is_restored_and_the_old_book_kept() {
    let machine = Machine::new();
    let (demo, copy) = (machine.at("demo"), machine.at("copy.trug"));
    machine.demo_book(&demo);
    assert!(machine.says(&["backup", &copy, "--data", &demo]).contains("the copy is whole"));
    assert!(machine.refuses(&["backup", &copy, "--data", &demo]).contains("is there already"));
    assert!(machine.says(&["backup", "--data", &demo]).contains("backups"));
    // Damage: the book is overwritten by something else.
    fs::write(format!("{demo}/studio.trug"), "not a book any more".repeat(500)).unwrap();
    assert!(machine.refuses(&["check", "--data", &demo]).contains("not a Trug book, or it is damaged"));
    assert!(machine.refuses(&["serve", "--port", "0", "--data", &demo]).contains("trug restore"));
    let said = machine.says(&["restore", &copy, "--data", &demo]);
    assert!(said.contains("before-restore"), "{said}");
    assert!(machine.says(&["check", "--data", &demo]).contains("is whole"));
}

#[test]
fn only_a_whole_book_is_restored() {
    let machine = Machine::new();
    let (demo, copy) = (machine.at("demo"), machine.at("copy.trug"));
    machine.demo_book(&demo);
    machine.says(&["backup", &copy, "--data", &demo]);
    let mut bytes = fs::read(&copy).unwrap();
    // A hole in the middle: the header stays, pages are lost.
    let half = bytes.len() / 2;
    bytes[half..half + 20_000].fill(0x5a);
    fs::write(machine.at("hole.trug"), bytes).unwrap();
    fs::write(machine.at("text.trug"), "hello").unwrap();
    // What a full stick leaves behind.
    fs::write(machine.at("empty.trug"), "").unwrap();
    for wrong in ["hole.trug", "text.trug", "empty.trug", "missing.trug", "."] {
        let said = machine.refuses(&["restore", &machine.at(wrong), "--data", &demo]);
        assert!(said.contains("Nothing was changed"), "{said}");
    }
    assert!(machine.says(&["check", "--data", &demo]).contains("is whole"));
}

#[test]
fn a_book_in_use_is_not_replaced() {
    let machine = Machine::new();
    let (demo, copy) = (machine.at("demo"), machine.at("copy.trug"));
    let served = machine.serve(&["demo", "--port", "0", "--data", &demo]);
    assert!(served.get("/clients").contains("Imke"));
    machine.says(&["backup", &copy, "--data", &demo]);
    assert!(machine.refuses(&["restore", &copy, "--data", &demo]).contains("is in use"));
    assert!(served.get("/clients").contains("Imke"));
}

#[test]
fn what_stands_in_the_way_is_said_in_a_sentence() {
    let machine = Machine::new();
    for words in [["export", "out"].as_slice(), &["backup"], &["check"]] {
        let words: Vec<&str> = words.iter().copied().chain(["--data", "empty"]).collect();
        assert!(machine.refuses(&words).contains("There is no book at"), "{words:?}");
    }
    let taken = net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let said = machine.refuses(&["serve", "--data", "new", "--port", &port]);
    assert!(said.contains(&format!("Port {port} is taken")), "{said}");
    assert!(!machine.0.join("new").exists(), "nothing is begun where the port is taken");
    fs::write(machine.0.join("file"), "").unwrap();
    let said = machine.refuses(&["serve", "--port", "0", "--data", "file/inside"]);
    assert!(said.contains("cannot be opened"), "{said}");
}

#[test]
fn the_weekends_papers_are_written_in_every_form() {
    let machine = Machine::new();
    let demo = machine.at("demo");
    machine.demo_book(&demo);
    // The demo's Saturday, whose two events are planned in no time even by a program that is not optimised.
    let today = Clock::Machine.today(&TimeZone::UTC);
    let saturday = today.monday().plus(if today.weekday_index() < 2 { 5 } else { 12 }).to_string();
    let days = ["--from", &saturday, "--to", &saturday, "--data", &demo];
    for paper in ["order", "prep", "pull"] {
        let text = machine.says(&[&[paper], days.as_slice()].concat());
        assert!(text.contains("Sorrell–Wray wedding") && text.contains("Toxic or irritating"), "{text}");
        let json = machine.says(&[&[paper, "--format", "json"], days.as_slice()].concat());
        let json: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert!(json.is_object() || json.is_array());
        let csv = machine.says(&[&[paper, "--format", "csv"], days.as_slice()].concat());
        let rows = csv::Reader::from_reader(csv.as_bytes()).records().map(Result::unwrap).count();
        assert!(rows > 10, "{csv}");
    }
}

#[test]
fn a_sent_quote_is_written_as_a_file() {
    let machine = Machine::new();
    machine.demo_book("book");
    let folder = machine.at("book");
    let pdf = machine.run(&["quote", "1", "--data", &folder]);
    assert!(
        pdf.status.success() && pdf.stdout.starts_with(b"%PDF-1.7"),
        "{}",
        String::from_utf8_lossy(&pdf.stderr)
    );
    let html = machine.says(&["quote", "1", "--version", "1", "--format", "html", "--data", &folder]);
    assert!(html.starts_with("<!doctype html>") && html.contains("version 1"));
    let refused = machine.refuses(&["quote", "1", "--version", "99", "--data", &folder]);
    assert!(refused.contains("no version 99"), "{refused}");
    machine.refuses(&["quote", "9999", "--data", &folder]);
}

#[test]
fn papers_of_no_day_are_refused_in_a_sentence() {
    let machine = Machine::new();
    let demo = machine.at("demo");
    machine.demo_book(&demo);
    let said = machine.refuses(&["pull", "--data", &demo, "--from", "2001-01-01", "--to", "2001-01-07"]);
    assert!(said.contains("There is no event from 2001-01-01 to 2001-01-07"), "{said}");
    let said = machine.refuses(&["pull", "--data", &demo, "--from", "2001-01-07", "--to", "2001-01-01"]);
    assert!(said.contains("is before the first"), "{said}");
    let output = machine.run(&["pull", "--data", &demo, "--from", "7 January"]);
    assert!(!output.status.success());
    assert!(String::from_utf8_lossy(&output.stderr).contains("write the day as year, month and day"));
}

/// Two packs of roses and the fee; peonies are not to be had.
const ORDER: &str = r#"{"name": "Friday",
    "suppliers": [{"id": "Lark", "fee": 500, "min_order": 0, "dates": [3]}],
    "offers": [{"supplier": "Lark", "material": "rose", "size": 25, "price": 1500}],
    "requirements": [{"event": "supper", "accepts": ["rose"], "stems": 43, "earliest": 2, "latest": 3},
                     {"event": "supper", "accepts": ["peony"], "stems": 5, "earliest": 2, "latest": 3}]}"#;

#[test]
fn an_order_in_a_file_is_planned() {
    let machine = Machine::new();
    fs::write(machine.at("order.json"), ORDER).unwrap();
    let one: serde_json::Value = serde_json::from_str(&machine.says(&["plan", "order.json"])).unwrap();
    assert_eq!((&one["name"], &one["cost"], &one["proven"]), (&"Friday".into(), &3_500.into(), &true.into()));
    assert_eq!((&one["fees"], &one["lower_bound"], &one["gap"]), (&500.into(), &3_500.into(), &0.into()));
    let delivery = &one["deliveries"][0];
    assert_eq!((&delivery["supplier"], &delivery["date"]), (&"Lark".into(), &3.into()));
    assert_eq!((&delivery["lines"][0]["offer"], &delivery["lines"][0]["packs"]), (&0.into(), &2.into()));
    assert_eq!(
        (&one["unmet"][0]["requirement"], &one["unmet"][0]["reason"]),
        (&1.into(), &"no_offer".into())
    );
    assert!(one["seconds"].is_f64());
    fs::write(machine.at("orders.json"), format!("[{ORDER}, {ORDER}]")).unwrap();
    let list = machine.says(&["plan", "orders.json", "--seconds", "2"]);
    assert_eq!(serde_json::from_str::<Vec<serde_json::Value>>(&list).unwrap().len(), 2);
}

#[test]
fn an_order_comes_from_the_standard_input_too() {
    let machine = Machine::new();
    let mut child =
        machine.command(&["plan", "-"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(ORDER.as_bytes()).unwrap();
    let said = String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap();
    assert!(said.contains("\"cost\": 3500"), "{said}");
}

#[test]
fn an_order_that_makes_no_sense_is_refused_in_a_sentence() {
    let machine = Machine::new();
    assert!(machine.refuses(&["plan", "nowhere.json"]).contains("nowhere.json cannot be read"));
    for (from, to, why) in [
        ("{\"name\"", "{\"name", "not a problem in the form expected"),
        ("\"fee\": 500", "\"fee\": -500", "Friday: an amount of supplier \"Lark\" is below 0"),
        ("\"stems\": 43", "\"stems\": -43", "requirement 0 has stems below 0"),
        ("\"size\": 25", "\"size\": 0", "offer 0 has a size below 1"),
        (
            "{\"supplier\": \"Lark\"",
            "{\"supplier\": \"Wren\"",
            "offer 0 names supplier \"Wren\", which is not there",
        ),
    ] {
        fs::write(machine.at("order.json"), ORDER.replace(from, to)).unwrap();
        let said = machine.refuses(&["plan", "order.json"]);
        assert!(said.contains(why), "{said}");
    }
}
