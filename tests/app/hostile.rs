//! The short form of the fuzz targets: each body of `tests/fuzz/bodies.rs` over its seeds, as they are and mutated.

use std::fs;
use std::path::Path;

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::{Config, TestRunner};

#[path = "../fuzz/bodies.rs"]
#[expect(unreachable_pub, reason = "public to the fuzz targets")]
mod bodies;

type Body = fn(&[u8]);

/// Each body with its name and how many mutations it is tried on.
const BODIES: [(&str, Body, u32); 6] = [
    ("csv", bodies::csv, 400),
    ("sheet", bodies::sheet, 400),
    ("picture", bodies::picture, 60),
    ("days", bodies::days, 5_000),
    ("numbers", bodies::numbers, 5_000),
    ("whole_book", bodies::whole_book, 200),
];

/// What is put into an input.
const NASTY: [&[u8]; 28] = [
    b"\0",
    b"\xff",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"\r",
    b"\n",
    b"\"",
    b"'",
    b",",
    b";",
    b"<",
    b"&#0;",
    b"&lol;",
    b"]]>",
    b"-",
    b"=",
    b"%",
    b"9999999999999999999999999999",
    b"1e308",
    b"NaN",
    b"-0",
    b"9999-12-31",
    b"\xe2\x80\xae",
    b"\xef\xbc\x91",
    b"<!DOCTYPE x [<!ENTITY a \"aa\">]>",
    b"../../",
    b"\xed\xa0\x80",
    b"uniqueCount=\"4294967295\"",
];

/// One change of an input.
#[derive(Debug, Clone)]
enum Mutation {
    Flip(Index, u8),
    Cut(Index, Index),
    Double(Index, Index),
    Splice(Index, Index, Index),
    Insert(Index, Index),
}

fn mutation() -> impl Strategy<Value = Mutation> {
    let index = any::<Index>;
    prop_oneof![
        (index(), 1..=u8::MAX).prop_map(|(at, bits)| Mutation::Flip(at, bits)),
        (index(), index()).prop_map(|(from, to)| Mutation::Cut(from, to)),
        (index(), index()).prop_map(|(from, to)| Mutation::Double(from, to)),
        (index(), index(), index()).prop_map(|(seed, from, at)| Mutation::Splice(seed, from, at)),
        (index(), index()).prop_map(|(what, at)| Mutation::Insert(what, at)),
    ]
}

/// Two places, in order; the second at most 200 bytes behind.
fn span(bytes: &[u8], from: Index, to: Index) -> (usize, usize) {
    let from = from.index(bytes.len() + 1);
    (from, (from + to.index(201)).min(bytes.len()))
}

fn mutate(bytes: &mut Vec<u8>, seeds: &[Vec<u8>], mutation: &Mutation) {
    match mutation {
        Mutation::Flip(at, bits) if !bytes.is_empty() => {
            let at = at.index(bytes.len());
            bytes[at] ^= bits;
        }
        Mutation::Flip(..) => {}
        Mutation::Cut(from, to) => {
            let (from, to) = span(bytes, *from, *to);
            bytes.drain(from..to);
        }
        Mutation::Double(from, to) => {
            let (from, to) = span(bytes, *from, *to);
            let part = bytes[from..to].repeat(3);
            bytes.splice(from..from, part);
        }
        Mutation::Splice(seed, from, at) => {
            let other = &seeds[seed.index(seeds.len())];
            let (from, to) = span(other, *from, *at);
            let at = at.index(bytes.len() + 1);
            bytes.splice(at..at, other[from..to].iter().copied());
        }
        Mutation::Insert(what, at) => {
            let at = at.index(bytes.len() + 1);
            bytes.splice(at..at, NASTY[what.index(NASTY.len())].iter().copied());
        }
    }
}

#[track_caller]
fn holds(name: &str) {
    let (_, body, cases) = BODIES.into_iter().find(|(known, ..)| *known == name).unwrap();
    let seeds = bodies::seeds(name);
    for input in seeds.iter().map(Vec::as_slice).chain(NASTY).chain([b"".as_slice()]) {
        body(input);
    }
    let config = Config { cases, failure_persistence: None, max_shrink_iters: 200, ..Config::default() };
    let input = (any::<Index>(), vec(mutation(), 1..6));
    let tried = TestRunner::new(config).run(&input, |(seed, mutations)| {
        let mut bytes = seeds[seed.index(seeds.len())].clone();
        for mutation in &mutations {
            mutate(&mut bytes, &seeds, mutation);
        }
        body(&bytes);
        Ok(())
    });
    tried.unwrap_or_else(|failed| panic!("{name}: {failed}"));
}

#[test]
fn a_price_list_may_be_anything() {
    holds("csv");
}

#[test]
fn a_spreadsheet_may_be_anything() {
    holds("sheet");
}

#[test]
fn a_picture_may_be_anything() {
    holds("picture");
}

#[test]
fn days_and_times_may_be_anything() {
    holds("days");
}

#[test]
fn numbers_may_be_anything() {
    holds("numbers");
}

#[test]
fn a_books_files_may_be_anything() {
    holds("whole_book");
    bodies::tidy_up();
}

#[test]
#[ignore = "writes what the long form starts from, into tests/fuzz/corpus"]
fn seeds_are_written() {
    for (name, ..) in BODIES {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus").join(name);
        fs::create_dir_all(&folder).unwrap();
        for (at, seed) in bodies::seeds(name).iter().enumerate() {
            fs::write(folder.join(format!("seed-{at}")), seed).unwrap();
        }
    }
}
