//! Feast days against two general calendar libraries (`fixtures/feast-days.csv` names them beside each row).

use trug::stem_order::closed_days::feasts::proposed;

#[test]
fn every_movable_feast_falls_on_its_day() {
    let mut reader = csv::Reader::from_reader(include_str!("../fixtures/feast-days.csv").as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 10);
    for row in &rows {
        let days = proposed(format!("{}-01-01", &row[0]).parse().unwrap());
        for (column, name) in
            [(1, "Easter Sunday"), (2, "Mothering Sunday"), (3, "Mother's Day"), (4, "Thanksgiving")]
        {
            let found = days.iter().find(|day| day.name == name).unwrap();
            assert_eq!(found.day.to_string(), row[column], "{name} {}", &row[0]);
        }
    }
}
