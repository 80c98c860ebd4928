//! The country codes against the list of the IANA time zone database (`fixtures/countries.csv`, source in the file).

use std::collections::BTreeSet;

use trug::accounts::countries::codes;

#[test]
fn the_countries_are_those_of_iso_3166() {
    let file = include_str!("../fixtures/countries.csv");
    let listed: BTreeSet<&str> = file.lines().filter(|line| !line.starts_with('#')).collect();
    assert_eq!(listed.len(), 249);
    assert_eq!(codes().collect::<BTreeSet<_>>(), listed);
}
