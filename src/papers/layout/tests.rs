use proptest::prelude::*;

use super::*;
use crate::papers::sheet::{Cell, Fact, Group, Head, Part, Row, Section, Sum, Table};

fn sheet(sections: Vec<Section>) -> Sheet {
    Sheet {
        title: "Quote 2, North wedding".into(),
        dated: "2026-05-04".parse().unwrap(),
        head: Head {
            name: "Studio".into(),
            heading: "Quote, version 2".into(),
            from: vec!["1 Yard".into()],
            logo: None,
        },
        facts: vec![Fact::new("For", ["Ada North".to_owned()])],
        sections,
    }
}

fn row(name: &str, note: &str) -> Row {
    let cells = ["14", "€86.00", "€1,204.00"].map(Cell::figure).to_vec();
    Row { name: name.into(), notes: vec![note.into()], picture: None, cells }
}

fn table(rows: Vec<Row>) -> Sheet {
    let table = Table {
        caption: "Flowers".into(),
        unseen_caption: false,
        heads: ["What", "Count", "Each", "Price"].map(str::to_owned).to_vec(),
        groups: vec![Group { heading: "Long room".into(), rows }],
        sums: vec![Sum::new("Lines", "€1.00".into()), Sum::total("Total", "€2.00".into())],
    };
    sheet(vec![Section { heading: String::new(), parts: vec![Part::Table(table)] }])
}

fn words(page: &[Placed]) -> Vec<&str> {
    let mut words = Vec::new();
    for placed in page {
        if let Drawn::Text(shaped, _) = &placed.drawn {
            words.push(shaped.text.trim_end());
        }
    }
    words
}

/// Nothing stands outside the free edges, nothing over another line of its own column.
fn stands_well(laid: &Laid) {
    for page in &laid.pages {
        for placed in page {
            assert!(placed.x >= SIDE - 100 && placed.x < laid.size.0 - SIDE, "{placed:?}");
            if placed.leaf.is_some() {
                assert!(placed.y >= ABOVE && placed.y <= laid.size.1 - BELOW, "{placed:?}");
            }
        }
    }
}

#[test]
fn a_short_paper_is_one_page_with_its_number() {
    let laid = lay(&table(vec![row("Low bowl", "White roses")]), Paper::A4);
    assert_eq!(laid.pages.len(), 1);
    let words = words(&laid.pages[0]);
    for word in [
        "Studio",
        "Quote, version 2",
        "Ada North",
        "Low bowl",
        "White roses",
        "€1,204.00",
        "€2.00",
        "Page 1 of 1",
    ] {
        assert!(words.contains(&word), "{word} in {words:?}");
    }
    assert_eq!(
        laid.marks.iter().map(|mark| mark.title.as_str()).collect::<Vec<_>>(),
        ["Quote, version 2", "Flowers"]
    );
    stands_well(&laid);
}

#[test]
fn a_long_table_repeats_its_head_and_keeps_its_sums_with_a_row() {
    for rows in 14..60 {
        let laid = lay(&table((0..rows).map(|n| row(&format!("Piece {n}"), "")).collect()), Paper::Letter);
        stands_well(&laid);
        for (place, page) in laid.pages.iter().enumerate() {
            let words = words(page);
            assert!(words.contains(&format!("Page {} of {}", place + 1, laid.pages.len()).as_str()));
            assert!(words.contains(&"Each"), "the head stands on page {place}: {words:?}");
            assert!(words.iter().any(|word| word.starts_with("Piece ")), "no sum stands alone: {words:?}");
        }
        let last = words(laid.pages.last().unwrap());
        assert!(last.contains(&"Lines") && last.contains(&"Total"), "sums stay together: {last:?}");
    }
}

#[test]
fn a_row_is_not_broken_unless_it_is_longer_than_a_page() {
    let note = "white roses in stone ".repeat(40);
    let laid = lay(&table((0..20).map(|_| row("Low bowl", &note)).collect()), Paper::A4);
    for page in &laid.pages {
        let mut of_row = std::collections::HashMap::<usize, usize>::new();
        for leaf in page.iter().filter_map(|placed| placed.leaf) {
            *of_row.entry(leaf).or_default() += 1;
        }
        let long: Vec<_> = of_row.values().filter(|lines| **lines > 3).collect();
        assert!(long.windows(2).all(|two| two[0] == two[1]), "every note is whole: {long:?}");
    }
    let laid = lay(&table(vec![row("Low bowl", &"white roses ".repeat(2_000))]), Paper::A4);
    assert!(laid.pages.len() > 2);
    stands_well(&laid);
}

#[test]
fn a_heading_stays_with_its_words() {
    for lines in 30..60 {
        let long = Section::words("", &"a line\n".repeat(lines)).unwrap();
        let terms = Section::words("Terms", "Flowers are a natural product.\nColours vary.").unwrap();
        let laid = lay(&sheet(vec![long, terms]), Paper::A4);
        let page = laid.pages.iter().find(|page| words(page).contains(&"Terms")).unwrap();
        assert!(words(page).contains(&"Flowers are a natural product."));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn every_row_stands_on_some_page(
        names in prop::collection::vec("\\PC{0,40}", 0..40),
        note in "(\\PC|\n){0,200}",
        amount in "[€$][0-9]{1,9}[.][0-9]{2}",
    ) {
        let rows = names.iter().map(|name| Row {
            name: name.clone(),
            notes: vec![note.clone()],
            picture: None,
            cells: vec![Cell::figure("1"), Cell::words(note.chars().take(30).collect::<String>()), Cell::figure(amount.clone())],
        });
        let laid = lay(&table(rows.collect()), Paper::Letter);
        stands_well(&laid);
        let seen = laid.pages.iter().flat_map(|page| words(page)).filter(|word| *word == amount).count();
        prop_assert_eq!(seen, names.len());
    }
}
