//! The material's form.

use serde::Deserialize;

use super::super::entries::NewMaterial;
use super::super::{Care, Material, MaterialKind};
use crate::ground::caution::{Caution, Cautions};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::SupplierId;
use crate::ground::quantity::{Length, Share};
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct MaterialForm {
    pub version: String,
    pub name: String,
    pub kind: String,
    pub colour: String,
    pub grade: String,
    pub unit: String,
    pub head_class: String,
    pub usable_length: String,
    pub loss: String,
    pub preferred_supplier: String,
    pub inner_height: String,
    pub inner_diameter: String,
    /// `yes` where it comes back.
    pub loaned: String,
    pub owned: String,
    pub loan_fee: String,
    pub spare_per: String,
    pub conditioning_minutes: String,
    pub hydrate_hours: String,
    pub opening_days: String,
    pub holding_days: String,
    pub storage_celsius: String,
    pub vase_days: String,
    pub cut_keeps_hours: String,
    pub care_source: String,
    /// The names of the cautions that are ticked.
    pub cautions: Vec<String>,
    pub note: String,
    /// Which row of the care table fills in the care; never kept.
    pub care_row: String,
    /// Whose form it is, where care is filled in; empty for a new material.
    pub id: String,
}

impl MaterialForm {
    /// An empty form with its defaults.
    #[must_use]
    pub fn blank() -> MaterialForm {
        MaterialForm {
            kind: MaterialKind::Flower.code().into(),
            unit: "stem".into(),
            loaned: "no".into(),
            spare_per: "20".into(),
            care_source: "own".into(),
            ..MaterialForm::default()
        }
    }

    /// The form filled in from a material.
    #[must_use]
    pub fn of(m: &Material, formats: &Formats) -> MaterialForm {
        let form = MaterialForm::of_new(&NewMaterial::from(m), formats);
        MaterialForm { version: m.version.to_string(), ..form }
    }

    /// The form that yields this material.
    #[must_use]
    pub fn of_new(m: &NewMaterial, formats: &Formats) -> MaterialForm {
        let length = |length: Option<Length>| length.map(|l| exact_length(l, *formats)).unwrap_or_default();
        let form = MaterialForm {
            name: m.name.clone(),
            kind: m.kind.code().into(),
            colour: m.colour.clone(),
            grade: m.grade.clone(),
            unit: m.unit.code().into(),
            head_class: m.head_class.map(Choice::code).unwrap_or_default().into(),
            usable_length: length(m.usable_length),
            loss: m.loss.map(|loss| formats.share_input(loss)).unwrap_or_default(),
            preferred_supplier: m.preferred_supplier_id.map(|id| id.to_string()).unwrap_or_default(),
            inner_height: length(m.inner_height),
            inner_diameter: length(m.inner_diameter),
            loaned: if m.loaned { "yes" } else { "no" }.into(),
            owned: above_nothing(m.owned),
            loan_fee: if m.loan_fee.is_zero() { String::new() } else { formats.money_input(m.loan_fee) },
            spare_per: m.spare_per.to_string(),
            cautions: m.cautions.list().into_iter().map(|caution| caution.name().to_owned()).collect(),
            note: m.note.clone(),
            ..MaterialForm::default()
        };
        form.with_care(&m.care)
    }

    /// The field of a name, of those that hold one text.
    pub(super) fn slot(&mut self, field: &str) -> Option<&mut String> {
        Some(match field {
            "name" => &mut self.name,
            "kind" => &mut self.kind,
            "colour" => &mut self.colour,
            "grade" => &mut self.grade,
            "unit" => &mut self.unit,
            "head_class" => &mut self.head_class,
            "usable_length" => &mut self.usable_length,
            "loss" => &mut self.loss,
            "preferred_supplier" => &mut self.preferred_supplier,
            "inner_height" => &mut self.inner_height,
            "inner_diameter" => &mut self.inner_diameter,
            "loaned" => &mut self.loaned,
            "owned" => &mut self.owned,
            "loan_fee" => &mut self.loan_fee,
            "spare_per" => &mut self.spare_per,
            "conditioning_minutes" => &mut self.conditioning_minutes,
            "hydrate_hours" => &mut self.hydrate_hours,
            "opening_days" => &mut self.opening_days,
            "holding_days" => &mut self.holding_days,
            "storage_celsius" => &mut self.storage_celsius,
            "vase_days" => &mut self.vase_days,
            "cut_keeps_hours" => &mut self.cut_keeps_hours,
            "care_source" => &mut self.care_source,
            "note" => &mut self.note,
            _ => return None,
        })
    }

    /// The same form with other care data.
    #[must_use]
    pub fn with_care(self, care: &Care) -> MaterialForm {
        let or_empty = |number: Option<i64>| number.map(|n| n.to_string()).unwrap_or_default();
        MaterialForm {
            conditioning_minutes: above_nothing(care.conditioning_minutes),
            hydrate_hours: above_nothing(care.hydrate_hours),
            opening_days: above_nothing(care.opening_days),
            holding_days: or_empty(care.holding_days),
            storage_celsius: or_empty(care.storage_celsius),
            vase_days: or_empty(care.vase_days),
            cut_keeps_hours: or_empty(care.cut_keeps_hours),
            care_source: care.source.code().into(),
            ..self
        }
    }

    /// Reads the form: a material, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<NewMaterial, FieldErrors> {
        let mut c = Checker::new(formats);
        let new = NewMaterial {
            name: c.name("name", &self.name, "the material's name"),
            kind: c.pick("kind", &self.kind),
            colour: c.line("colour", &self.colour),
            grade: c.line("grade", &self.grade),
            unit: c.pick("unit", &self.unit),
            head_class: c.pick_or_none("head_class", &self.head_class),
            usable_length: c.length_or_none("usable_length", &self.usable_length),
            loss: self.parse_loss(&mut c),
            preferred_supplier_id: self.parse_preferred(&mut c),
            inner_height: c.length_or_none("inner_height", &self.inner_height),
            inner_diameter: c.length_or_none("inner_diameter", &self.inner_diameter),
            loaned: self.loaned == "yes",
            owned: c.whole_or_none("owned", &self.owned, 0..=1_000_000).unwrap_or(0),
            loan_fee: c.money_or_zero("loan_fee", &self.loan_fee),
            spare_per: c.whole_or_none("spare_per", &self.spare_per, 0..=10_000).unwrap_or(0),
            care: self.parse_care(&mut c),
            cautions: self.parse_cautions(&mut c),
            note: c.text("note", &self.note),
        };
        refuse_half_loans(&mut c, &new);
        c.done(new)
    }

    fn parse_loss(&self, c: &mut Checker) -> Option<Share> {
        let loss = c.share_or_none("loss", &self.loss)?;
        if loss.raw() > 900_000 {
            c.refuse(
                "loss",
                "A usual loss is at most 90 %; of what is lost more often nothing can be planned.",
            );
        }
        Some(loss)
    }

    fn parse_preferred(&self, c: &mut Checker) -> Option<SupplierId> {
        let raw = self.preferred_supplier.trim();
        if raw.is_empty() {
            return None;
        }
        let id = raw.parse().ok();
        if id.is_none() {
            c.refuse("preferred_supplier", "Choose one of the suppliers, or none.");
        }
        id
    }

    fn parse_care(&self, c: &mut Checker) -> Care {
        Care {
            conditioning_minutes: c
                .whole_or_none("conditioning_minutes", &self.conditioning_minutes, 0..=600)
                .unwrap_or(0),
            hydrate_hours: c.whole_or_none("hydrate_hours", &self.hydrate_hours, 0..=240).unwrap_or(0),
            opening_days: c.whole_or_none("opening_days", &self.opening_days, 0..=30).unwrap_or(0),
            holding_days: c.whole_or_none("holding_days", &self.holding_days, 0..=400),
            storage_celsius: c.whole_or_none("storage_celsius", &self.storage_celsius, -10..=40),
            vase_days: c.whole_or_none("vase_days", &self.vase_days, 0..=400),
            cut_keeps_hours: c.whole_or_none("cut_keeps_hours", &self.cut_keeps_hours, 1..=720),
            source: c.pick("care_source", &self.care_source),
        }
    }

    fn parse_cautions(&self, c: &mut Checker) -> Cautions {
        let mut ticked = Vec::new();
        for name in &self.cautions {
            match Caution::ALL.into_iter().find(|caution| caution.name() == name) {
                Some(caution) => ticked.push(caution),
                None => c.refuse("cautions", "Choose among the cautions of the list."),
            }
        }
        Cautions::of(&ticked)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &MaterialForm) -> Vec<Difference> {
        let (ours, others) = (self.cautions.join(", "), theirs.cautions.join(", "));
        differences(&[
            ("Name", &self.name, &theirs.name),
            ("Kind", &self.kind, &theirs.kind),
            ("Colour", &self.colour, &theirs.colour),
            ("Grade", &self.grade, &theirs.grade),
            ("Counted by", &self.unit, &theirs.unit),
            ("Head", &self.head_class, &theirs.head_class),
            ("Usable length", &self.usable_length, &theirs.usable_length),
            ("Usual loss", &self.loss, &theirs.loss),
            ("Preferred supplier", &self.preferred_supplier, &theirs.preferred_supplier),
            ("Inner height", &self.inner_height, &theirs.inner_height),
            ("Inner diameter", &self.inner_diameter, &theirs.inner_diameter),
            ("Comes back", &self.loaned, &theirs.loaned),
            ("Owned", &self.owned, &theirs.owned),
            ("Loan fee", &self.loan_fee, &theirs.loan_fee),
            ("One spare for each", &self.spare_per, &theirs.spare_per),
            ("Conditioning", &self.conditioning_minutes, &theirs.conditioning_minutes),
            ("Hours in water", &self.hydrate_hours, &theirs.hydrate_hours),
            ("Days to open", &self.opening_days, &theirs.opening_days),
            ("Days in storage", &self.holding_days, &theirs.holding_days),
            ("Storage temperature", &self.storage_celsius, &theirs.storage_celsius),
            ("Days in a vase", &self.vase_days, &theirs.vase_days),
            ("Hours once cut", &self.cut_keeps_hours, &theirs.cut_keeps_hours),
            ("Care from", &self.care_source, &theirs.care_source),
            ("Cautions", &ours, &others),
            ("Note", &self.note, &theirs.note),
        ])
    }
}

/// A length in the studio's unit where that says it exactly, else in millimetres, so that no save shifts it.
fn exact_length(length: Length, formats: Formats) -> String {
    let text = formats.length_input(length);
    if formats.read_length(&text) == Ok(length) {
        return text;
    }
    format!("{} mm", rust_decimal::Decimal::new(length.um(), 3).normalize())
}

fn above_nothing(number: i64) -> String {
    if number == 0 { String::new() } else { number.to_string() }
}

fn refuse_half_loans(c: &mut Checker, new: &NewMaterial) {
    let can_return = matches!(
        new.kind,
        MaterialKind::Vessel | MaterialKind::Stand | MaterialKind::Candle | MaterialKind::Mechanics
    );
    if new.loaned && !can_return {
        c.refuse("loaned", "Only a vessel, a stand, a candle or mechanics can come back.");
    }
    if !new.loaned && !new.loan_fee.is_zero() {
        c.refuse(
            "loan_fee",
            "Only what comes back has a loan fee: choose \u{201c}comes back\u{201d}, or leave this empty.",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::quantity::LengthUnit;
    use crate::studio::Studio;

    fn form() -> MaterialForm {
        MaterialForm { name: "  Rose,   ivory ".into(), ..MaterialForm::blank() }
    }

    fn parsed(form: &MaterialForm) -> Result<NewMaterial, FieldErrors> {
        form.parse(&Studio::new_book().formats)
    }

    #[test]
    fn a_blank_form_with_a_name_is_a_flower_by_the_stem() {
        let expected =
            NewMaterial::named("Rose, ivory", MaterialKind::Flower, super::super::super::Unit::Stem);
        assert_eq!(parsed(&form()), Ok(expected));
    }

    #[test]
    fn each_slip_is_named_at_its_field() {
        for (field, form) in [
            ("name", MaterialForm { name: " ".into(), ..form() }),
            ("name", MaterialForm { name: "x".repeat(121), ..form() }),
            ("kind", MaterialForm { kind: "Flower".into(), ..form() }),
            ("usable_length", MaterialForm { usable_length: "0".into(), ..form() }),
            ("loss", MaterialForm { loss: "90.0001".into(), ..form() }),
            ("owned", MaterialForm { owned: "-1".into(), ..form() }),
            ("loaned", MaterialForm { loaned: "yes".into(), ..form() }),
            ("loan_fee", MaterialForm { loan_fee: "1".into(), ..form() }),
            ("spare_per", MaterialForm { spare_per: "1000000000".into(), ..form() }),
            ("cut_keeps_hours", MaterialForm { cut_keeps_hours: "0".into(), ..form() }),
            ("preferred_supplier", MaterialForm { preferred_supplier: "one".into(), ..form() }),
            ("cautions", MaterialForm { cautions: vec!["Dragons".into()], ..form() }),
        ] {
            assert!(parsed(&form).unwrap_err().of(field).is_some(), "{field}: {form:?}");
        }
    }

    #[test]
    fn a_length_typed_in_another_unit_is_not_shifted_by_a_save() {
        let formats = Formats { length_unit: LengthUnit::Inch, ..Studio::new_book().formats };
        let typed = MaterialForm { inner_height: "14 cm".into(), inner_diameter: "5.5".into(), ..form() };
        let new = typed.parse(&formats).unwrap();
        let again = MaterialForm::of_new(&new, &formats);
        assert_eq!((again.inner_height.as_str(), again.inner_diameter.as_str()), ("140 mm", "5.5"));
        assert_eq!(again.parse(&formats), Ok(new));
    }
}
