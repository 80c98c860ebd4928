use proptest::prelude::*;

use super::*;
use crate::stem_order::samples;
use crate::studio::Studio;

fn known() -> HashMap<MaterialId, Material> {
    let bowl = samples::vessel(7, "Bowl");
    HashMap::from([(bowl.id, bowl)])
}

fn form(cells: &[[&str; 5]]) -> CountForm {
    let column = |at: usize| cells.iter().map(|row| row[at].to_owned()).collect::<Vec<_>>();
    CountForm {
        version: "0".into(),
        counted_on: "2026-05-18".into(),
        charged: "no".into(),
        material_id: column(0),
        taken: column(1),
        back: column(2),
        broken: column(3),
        missing: column(4),
        ..CountForm::default()
    }
}

fn parse(form: &CountForm) -> Result<NewCount, FieldErrors> {
    form.parse(&known(), &Studio::new_book().formats)
}

#[test]
fn rows_left_empty_are_not_counted_yet() {
    let count = parse(&form(&[["7", "14", "12", "", "1"], ["7", "3", "", " ", ""]])).unwrap();
    let line = NewCountLine { material: MaterialId(7), taken: 14, back: 12, broken: 0, missing: 1 };
    assert_eq!(count.lines, [line]);
}

#[test]
fn every_wrong_cell_is_named() {
    let wrong = form(&[
        ["7", "14", "13", "1", "1"],
        ["7", "14", "", "2", ""],
        ["9", "14", "14", "", ""],
        ["7", "0", "-1", "x", "1.5"],
    ]);
    let errors = parse(&wrong).unwrap_err();
    let at = |field: &str| errors.of(field).unwrap_or_else(|| panic!("{field}: {errors:?}"));
    assert_eq!(at("count-0-back"), "That makes 15, but only 14 went out.");
    assert!(at("count-1-back").contains("0 if none"));
    assert!(at("count-2-taken").contains("not lent"));
    for cell in ["taken", "back", "broken", "missing"] {
        at(&format!("count-3-{cell}"));
    }
    assert!(parse(&form(&[["7", "14", "", "", ""]])).is_err(), "nothing is counted");
    assert!(parse(&CountForm { charged: "perhaps".into(), ..form(&[["7", "1", "1", "", ""]]) }).is_err());
}

proptest! {
    #[test]
    fn no_more_comes_back_than_went_out(taken in 1_i64..60, back in 0_i64..40, broken in 0_i64..20, missing in 0_i64..20) {
        let cells = [taken, back, broken, missing].map(|number| number.to_string());
        let row = ["7", &cells[0], &cells[1], &cells[2], &cells[3]];
        match parse(&form(&[row])) {
            Ok(count) => {
                let line = count.lines[0];
                prop_assert!(line.back + line.broken + line.missing <= line.taken);
            }
            Err(_) => prop_assert!(back + broken + missing > taken),
        }
    }
}
