//! People who click: each asks for one page after another and pauses in between; every fifth click is a write. Shared by
//! the bench (`tests/bench/load.rs`) and its short form among the tests.

use std::collections::BTreeMap;
use std::io::{self, Read, Write};
use std::net::TcpStream;
use std::thread;
use std::time::{Duration, Instant};

/// How many click, for how long, and how long each looks at a page before the next click.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Crowd {
    /// The first one's number: no two crowds on one book share any.
    pub(crate) first: u64,
    pub(crate) people: u64,
    pub(crate) lasts: Duration,
    pub(crate) pause: Duration,
}

/// What happened: how long each click of a kind took, and what went wrong.
#[derive(Debug, Default)]
pub(crate) struct Heard {
    pub(crate) took: BTreeMap<String, Vec<Duration>>,
    pub(crate) wrong: Vec<String>,
}

impl Heard {
    pub(crate) fn and(mut self, other: Heard) -> Heard {
        for (kind, mut took) in other.took {
            self.took.entry(kind).or_default().append(&mut took);
        }
        self.wrong.extend(other.wrong);
        self
    }

    pub(crate) fn clicks(&self) -> usize {
        self.took.values().map(Vec::len).sum()
    }

    pub(crate) fn writes(&self) -> usize {
        self.took.iter().filter(|(kind, _)| kind.starts_with("write:")).map(|(_, took)| took.len()).sum()
    }
}

/// Lets a crowd click on the pages of a Trug, each person from a place of their own in the list.
pub(crate) fn click(address: &str, pages: &[(&'static str, String)], crowd: Crowd) -> Heard {
    let until = Instant::now() + crowd.lasts;
    thread::scope(|scope| {
        let people: Vec<_> = (crowd.first..crowd.first + crowd.people)
            .map(|number| {
                scope.spawn(move || Person::new(address, number).clicks(pages, (until, crowd.pause)))
            })
            .collect();
        people.into_iter().fold(Heard::default(), |heard, person| heard.and(person.join().unwrap()))
    })
}

/// One person: what she has written down so far, and her own dice.
struct Person<'a> {
    address: &'a str,
    number: u64,
    dice: u64,
    written: u64,
    /// The client she wrote down last, and how often she has saved it.
    client: Option<(String, u64)>,
    heard: Heard,
}

impl Person<'_> {
    fn new(address: &str, number: u64) -> Person<'_> {
        let dice = number.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(1);
        Person { address, number, dice, written: 0, client: None, heard: Heard::default() }
    }

    fn clicks(mut self, pages: &[(&'static str, String)], (until, pause): (Instant, Duration)) -> Heard {
        // Not all at once.
        thread::sleep(pause * self.of(1_000) / 1_000);
        while Instant::now() < until {
            if self.of(5) == 0 {
                self.write();
            } else {
                let at = self.of(u32::try_from(pages.len()).unwrap());
                let (name, path) = &pages[usize::try_from(at).unwrap()];
                self.ask(name, "GET", path, "", "200");
            }
            // Between nothing and twice the pause: as long as the pause on the whole.
            thread::sleep(pause * self.of(2_000) / 1_000);
        }
        self.heard
    }

    /// A new event with its client, a new client, that client again, a tick on the sheet that all share: in turn.
    fn write(&mut self) {
        self.written += 1;
        let (who, nth) = (self.number, self.written);
        match (nth % 4, self.client.take()) {
            (3, Some((path, saved))) => {
                let form = format!("version={}&name=Client+{who}+saved+{saved}&note=again", saved + 1);
                self.ask("write: a client again", "POST", &path, &form, "303");
                self.client = Some((path, saved + 1));
            }
            (1, client) => {
                self.client = client;
                let form =
                    format!("client=Caller+{who}+{nth}&new_client=yes&name=Event+{who}+{nth}&day=2099-05-09");
                self.ask("write: a new event", "POST", "/events", &form, "303");
            }
            (2, _) => {
                let form = format!("name=Client+{who}+{nth}");
                let answer = self.ask("write: a new client", "POST", "/clients", &form, "303");
                self.client = answer.and_then(|answer| Some((location(&answer)?, 0)));
            }
            (_, client) => {
                self.client = client;
                let form = format!(
                    "hand=Person+{who}&back=%2Fprep&seen=-+0+-+line-{who}-{nth}&tick=line-{who}-{nth}"
                );
                self.ask("write: a tick", "POST", "/ticks/sheet-of-all", &form, "303");
            }
        }
    }

    /// Clicks once, and keeps how long it took; an answer of another kind than expected is wrong.
    fn ask(&mut self, kind: &str, method: &str, path: &str, form: &str, expected: &str) -> Option<String> {
        let begun = Instant::now();
        let answer = request(self.address, (method, path, form));
        self.heard.took.entry(kind.to_owned()).or_default().push(begun.elapsed());
        match answer {
            Ok(answer) if answer.starts_with(&format!("HTTP/1.1 {expected}")) => Some(answer),
            Ok(answer) => {
                let head: String = answer.chars().take(300).collect();
                self.heard.wrong.push(format!("{method} {path}: {head}"));
                None
            }
            Err(error) => {
                self.heard.wrong.push(format!("{method} {path}: {error}"));
                None
            }
        }
    }

    /// A number below this by her dice (xorshift): every run clicks alike.
    fn of(&mut self, sides: u32) -> u32 {
        self.dice ^= self.dice << 13;
        self.dice ^= self.dice >> 7;
        self.dice ^= self.dice << 17;
        u32::try_from(self.dice % u64::from(sides)).unwrap()
    }
}

fn location(answer: &str) -> Option<String> {
    let mut lines = answer.lines();
    let header = lines.find(|line| line.to_ascii_lowercase().starts_with("location:"))?;
    header.split_once(':').map(|(_, path)| path.trim().to_owned())
}

/// One request over a connection of its own, and the whole answer.
fn request(address: &str, (method, path, form): (&str, &str, &str)) -> io::Result<String> {
    let mut stream = TcpStream::connect(address)?;
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\
        Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
        form.len()
    )?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer)?;
    Ok(String::from_utf8_lossy(&answer).into_owned())
}
