//! The forms of the kit and of an event's extras.

use std::collections::BTreeSet;

use serde::Deserialize;

use super::room::Measured;
use super::{KitItem, KitKind, PullExtra};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::KitItemId;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// More than this of one thing is a slip of the finger.
const MOST: i64 = 100_000;

/// The kit as typed: one of each column a row.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct KitForm {
    pub version: String,
    pub kit_id: Vec<String>,
    pub name: Vec<String>,
    pub kind: Vec<String>,
    pub quantity: Vec<String>,
    pub per_pieces: Vec<String>,
    pub weight: Vec<String>,
    pub litres: Vec<String>,
}

/// One row of the kit's grid.
#[derive(Debug, Clone, Default)]
pub struct KitRow {
    pub place: usize,
    pub id: String,
    pub name: String,
    pub kind: String,
    pub quantity: String,
    pub per_pieces: String,
    pub weight: String,
    pub litres: String,
}

impl KitForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(version: i64, items: &[KitItem], formats: &Formats) -> KitForm {
        KitForm {
            version: version.to_string(),
            kit_id: items.iter().map(|item| item.id.map_or_else(String::new, |id| id.to_string())).collect(),
            name: items.iter().map(|item| item.name.clone()).collect(),
            kind: items.iter().map(|item| item.kind.code().into()).collect(),
            quantity: items.iter().map(|item| item.quantity.to_string()).collect(),
            per_pieces: items
                .iter()
                .map(|item| item.per_pieces.map_or_else(String::new, |per| per.to_string()))
                .collect(),
            weight: items.iter().map(|item| weight_input(item.measured, *formats)).collect(),
            litres: items.iter().map(|item| litres_input(item.measured, *formats)).collect(),
        }
    }

    /// The rows with three empty ones behind them.
    #[must_use]
    pub fn rows(&self) -> Vec<KitRow> {
        (0..self.name.len() + 3).map(|place| self.row(place)).collect()
    }

    fn row(&self, place: usize) -> KitRow {
        let at = |column: &[String]| column.get(place).cloned().unwrap_or_default();
        KitRow {
            place,
            id: at(&self.kit_id),
            name: at(&self.name),
            kind: at(&self.kind),
            quantity: at(&self.quantity),
            per_pieces: at(&self.per_pieces),
            weight: at(&self.weight),
            litres: at(&self.litres),
        }
    }

    /// Reads the form: the whole kit, or every message. A row without a name is left out.
    pub fn parse(&self, formats: &Formats) -> Result<Vec<KitItem>, FieldErrors> {
        let mut c = Checker::new(formats);
        let (mut items, mut names) = (Vec::new(), BTreeSet::new());
        for row in (0..self.name.len()).map(|place| self.row(place)) {
            let field = |cell: &str| format!("kit-{}-{cell}", row.place);
            let new = row.id.trim().is_empty();
            if row.name.trim().is_empty() && (row.quantity.trim().is_empty() || !new) {
                continue;
            }
            let name = c.name(&field("name"), &row.name, "what is taken along");
            if !name.is_empty() && !names.insert(name.to_lowercase()) {
                c.refuse(field("name"), format!("\u{201c}{name}\u{201d} stands in the kit twice."));
            }
            items.push(KitItem {
                id: row.id.parse::<KitItemId>().ok(),
                name,
                kind: c.pick(&field("kind"), &row.kind),
                quantity: c.whole(&field("quantity"), &row.quantity, 1..=MOST),
                per_pieces: c.whole_or_none(&field("per"), &row.per_pieces, 1..=MOST),
                measured: measured(&mut c, (&field("weight"), &row.weight), (&field("litres"), &row.litres)),
            });
        }
        c.done(items)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &KitForm) -> Vec<Difference> {
        differences(&[("Kit", &self.in_words(), &theirs.in_words())])
    }

    fn in_words(&self) -> String {
        let rows = self.rows().into_iter().filter(|row| !row.name.trim().is_empty());
        let words = rows.map(|row| {
            let per = match row.per_pieces.trim() {
                "" => String::new(),
                per => format!(" for each {per} pieces"),
            };
            let said = |typed: &str, unit: &str| match typed.trim() {
                "" => String::new(),
                typed => format!(", {typed}{unit}"),
            };
            let measured = said(&row.weight, "") + &said(&row.litres, " l");
            format!("{} {}{per}{measured}", row.quantity, row.name)
        });
        words.collect::<Vec<_>>().join("; ")
    }
}

impl KitRow {
    /// Whether a kind is chosen in this row: a new row begins as a tool.
    #[must_use]
    pub fn is_kind(&self, code: &str) -> bool {
        code == if self.kind.is_empty() { KitKind::Tool.code() } else { &self.kind }
    }
}

/// An extra as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct ExtraForm {
    pub name: String,
    pub quantity: String,
    pub place: String,
    pub note: String,
    pub weight: String,
    pub litres: String,
}

impl ExtraForm {
    /// Reads the form: an extra, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<PullExtra, FieldErrors> {
        let mut c = Checker::new(formats);
        let extra = PullExtra {
            id: None,
            name: c.name("name", &self.name, "what else is needed"),
            quantity: c.whole("quantity", &self.quantity, 1..=MOST),
            place: c.line("place", &self.place),
            note: c.line("note", &self.note),
            measured: measured(&mut c, ("weight", &self.weight), ("litres", &self.litres)),
        };
        c.done(extra)
    }
}

fn measured(c: &mut Checker, weight: (&str, &str), litres: (&str, &str)) -> Measured {
    let filled = |raw: &str| !raw.trim().is_empty();
    Measured {
        weight: c.weight_or_none(weight.0, weight.1),
        litres: filled(litres.1).then(|| c.quantity(litres.0, litres.1)),
    }
}

fn weight_input(measured: Measured, formats: Formats) -> String {
    measured.weight.map_or_else(String::new, |weight| formats.weight_input(weight))
}

fn litres_input(measured: Measured, formats: Formats) -> String {
    measured.litres.map_or_else(String::new, |litres| formats.quantity(litres))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    #[test]
    fn rows_without_a_name_are_left_out_and_wrong_ones_all_named() {
        let column = |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>();
        let formats = Studio::new_book().formats;
        let form = KitForm {
            version: "1".into(),
            kit_id: column(&["7", "8", "", "", ""]),
            name: column(&["Knife", "", "", "Mister", "knife"]),
            kind: column(&["tool", "tool", "tool", "tool", "magic"]),
            quantity: column(&["2", "1", "", "0", "1"]),
            per_pieces: column(&["", "", "", "20", "-4"]),
            weight: column(&["", "", "", "", "heavy"]),
            litres: column(&["2.5", "", "", "", "0"]),
        };
        let errors = form.parse(&formats).unwrap_err();
        let at = |field| errors.of(field).is_some();
        assert!(
            at("kit-3-quantity") && at("kit-4-name") && at("kit-4-kind") && at("kit-4-per"),
            "{errors:?}"
        );
        assert!(at("kit-4-weight") && at("kit-4-litres"), "{errors:?}");
        assert_eq!(errors.list().len(), 6);
        let good = KitForm { quantity: column(&["2"]), name: column(&["Knife"]), ..form };
        let items = good.parse(&formats).unwrap();
        assert_eq!((items.len(), items[0].id, items[0].quantity), (1, Some(KitItemId(7)), 2));
        assert_eq!(items[0].measured.litres.map(crate::ground::quantity::Quantity::raw), Some(2_500));
    }
}
