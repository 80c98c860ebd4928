//! What is charged for pieces that did not come back whole: broken and missing × the price of replacing one.
//! Listed for the invoice, which the accounts make of them.
//!
//! May import: this room's types, `ground`, `price_list`'s guard for cells, `csv`.

use std::collections::HashMap;
use std::hash::BuildHasher;

use super::Count;
use crate::events::Event;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::ground::money::Money;
use crate::price_list::Material;
use crate::price_list::file::escape::guarded;

/// What is charged for one material.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Charge {
    /// Which.
    pub id: MaterialId,
    /// Its name.
    pub material: String,
    /// How many are broken.
    pub broken: i64,
    /// How many are lost.
    pub missing: i64,
    /// For each.
    pub each: Money,
    /// (broken + missing) × each.
    pub amount: Money,
}

impl Charge {
    /// `2 broken + 1 missing × €18.00`.
    #[must_use]
    pub fn working(&self, formats: &Formats) -> String {
        let lost = match (self.broken, self.missing) {
            (broken, 0) => format!("{broken} broken"),
            (0, missing) => format!("{missing} missing"),
            (broken, missing) => format!("({broken} broken + {missing} missing)"),
        };
        format!("{lost} × {} = {}", formats.money(self.each), formats.money(self.amount))
    }
}

/// What is charged for an event's count, by the material's name: nothing unless the studio says so.
#[must_use]
pub fn charges<S: BuildHasher>(count: &Count, materials: &HashMap<MaterialId, Material, S>) -> Vec<Charge> {
    let lost =
        count.lines.iter().filter(|line| count.charged && line.lost() > 0 && !line.charge_each.is_zero());
    let charge = |line: &super::CountedLine| Charge {
        id: line.material,
        material: materials.get(&line.material).map_or_else(String::new, |material| material.name.clone()),
        broken: line.broken,
        missing: line.missing,
        each: line.charge_each,
        amount: line.charge_each.times(line.lost()),
    };
    let mut charges: Vec<Charge> = lost.map(charge).collect();
    charges.sort_by_cached_key(|charge| charge.material.to_lowercase());
    charges
}

/// All charges together.
#[must_use]
pub fn total(charges: &[Charge]) -> Money {
    charges.iter().map(|charge| charge.amount).sum()
}

/// The charges as CSV (RFC 4180), amounts as plain numbers.
///
/// # Errors
/// What the CSV writer cannot write, which plain text never makes it say.
pub fn csv(event: &Event, charges: &[Charge], formats: &Formats) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let amount = format!("amount, {}", formats.currency.code());
    writer.write_record(["event", "day", "client", "material", "broken", "missing", "each", &amount])?;
    for charge in charges {
        writer.write_record([
            guarded(&event.name),
            event.day.to_string(),
            guarded(&event.client_name),
            guarded(&charge.material),
            charge.broken.to_string(),
            charge.missing.to_string(),
            formats.money_input(charge.each),
            formats.money_input(charge.amount),
        ])?;
    }
    writer.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pull_list::loans::CountedLine;
    use crate::stem_order::samples;
    use crate::studio::Studio;

    fn line(material: i64, (broken, missing): (i64, i64), each: i64) -> CountedLine {
        let (material, charge_each) = (MaterialId(material), Money::from_minor(each));
        CountedLine { material, taken: 10, back: 10 - broken - missing, broken, missing, charge_each }
    }

    fn count(charged: bool) -> Count {
        let lines =
            vec![line(1, (2, 1), 1_800), line(2, (0, 0), 900), line(3, (0, 2), 50), line(4, (1, 0), 0)];
        let on = "2026-05-18".parse().unwrap();
        Count { version: 1, on, by: String::new(), charged, note: String::new(), lines }
    }

    fn materials() -> HashMap<MaterialId, Material> {
        let names = [(1, "Urn"), (2, "Bowl"), (3, "=Bud vase"), (4, "Plinth")];
        names.into_iter().map(|(id, name)| (MaterialId(id), samples::vessel(id, name))).collect()
    }

    #[test]
    fn only_what_is_lost_and_has_a_price_is_charged_and_only_if_the_studio_says_so() {
        assert_eq!(charges(&count(false), &materials()), []);
        let charged = charges(&count(true), &materials());
        let formats = Studio::new_book().formats;
        let said: Vec<String> = charged.iter().map(|charge| charge.working(&formats)).collect();
        assert_eq!(said, ["2 missing × €0.50 = €1.00", "(2 broken + 1 missing) × €18.00 = €54.00"]);
        assert_eq!(total(&charged), Money::from_minor(5_500));
    }

    #[test]
    fn the_file_is_safe_in_a_spreadsheet() {
        let event = samples::event(1, "Wedding, large", "2026-05-16");
        let formats = Studio::new_book().formats;
        let file = csv(&event, &charges(&count(true), &materials()), &formats).unwrap();
        let text = String::from_utf8(file).unwrap();
        assert!(
            text.starts_with("event,day,client,material,broken,missing,each,\"amount, EUR\"\r\n"),
            "{text}"
        );
        assert!(text.contains("\"Wedding, large\",2026-05-16,Ada,'=Bud vase,0,2,0.50,1.00\r\n"), "{text}");
    }
}
