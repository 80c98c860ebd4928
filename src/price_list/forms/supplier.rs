//! The supplier's form.

use serde::Deserialize;

use super::super::Supplier;
use super::super::entries::NewSupplier;
use crate::ground::dates::{TimeOfDay, Weekdays};
use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct SupplierForm {
    pub version: String,
    pub name: String,
    pub contact: String,
    pub email: String,
    pub phone: String,
    pub account: String,
    /// The numbers of the weekdays that are ticked, 0 for Monday.
    pub weekday: Vec<String>,
    pub cutoff_days: String,
    pub cutoff_time: String,
    pub delivery_fee: String,
    pub fee_waived_over: String,
    pub least_order: String,
    pub note: String,
}

impl SupplierForm {
    /// An empty form with its defaults.
    #[must_use]
    pub fn blank() -> SupplierForm {
        SupplierForm { cutoff_days: "1".into(), cutoff_time: "12:00".into(), ..SupplierForm::default() }
    }

    /// The form filled in from a supplier.
    #[must_use]
    pub fn of(s: &Supplier, formats: &Formats) -> SupplierForm {
        let form = SupplierForm::of_new(&NewSupplier::from(s), formats);
        SupplierForm { version: s.version.to_string(), ..form }
    }

    /// The form that yields this supplier.
    #[must_use]
    pub fn of_new(s: &NewSupplier, formats: &Formats) -> SupplierForm {
        let amount =
            |amount: Money| if amount.is_zero() { String::new() } else { formats.money_input(amount) };
        SupplierForm {
            version: String::new(),
            name: s.name.clone(),
            contact: s.contact.clone(),
            email: s.email.clone(),
            phone: s.phone.clone(),
            account: s.account.clone(),
            weekday: (0..7_u8).filter(|i| s.delivery_weekdays.has_index(*i)).map(|i| i.to_string()).collect(),
            cutoff_days: s.cutoff_days.to_string(),
            cutoff_time: s.cutoff_time.to_string(),
            delivery_fee: amount(s.delivery_fee),
            fee_waived_over: s.fee_waived_over.map(|over| formats.money_input(over)).unwrap_or_default(),
            least_order: amount(s.least_order),
            note: s.note.clone(),
        }
    }

    /// The field of a name, of those that hold one text.
    pub(super) fn slot(&mut self, field: &str) -> Option<&mut String> {
        Some(match field {
            "name" => &mut self.name,
            "contact" => &mut self.contact,
            "email" => &mut self.email,
            "phone" => &mut self.phone,
            "account" => &mut self.account,
            "cutoff_days" => &mut self.cutoff_days,
            "cutoff_time" => &mut self.cutoff_time,
            "delivery_fee" => &mut self.delivery_fee,
            "fee_waived_over" => &mut self.fee_waived_over,
            "least_order" => &mut self.least_order,
            "note" => &mut self.note,
            _ => return None,
        })
    }

    /// Reads the form: a supplier, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<NewSupplier, FieldErrors> {
        let mut c = Checker::new(formats);
        let email = c.line("email", &self.email);
        if !email.is_empty() && !email.contains('@') {
            c.refuse("email", "An email address has an @ in it.");
        }
        let new = NewSupplier {
            name: c.name("name", &self.name, "the supplier's name"),
            contact: c.line("contact", &self.contact),
            email,
            phone: c.line("phone", &self.phone),
            account: c.line("account", &self.account),
            delivery_weekdays: Weekdays(bits("weekday", &self.weekday, 7, &mut c)),
            cutoff_days: self.parse_cutoff_days(&mut c),
            cutoff_time: self.parse_cutoff_time(&mut c),
            delivery_fee: c.money_or_zero("delivery_fee", &self.delivery_fee),
            fee_waived_over: c.money_or_none("fee_waived_over", &self.fee_waived_over),
            least_order: c.money_or_zero("least_order", &self.least_order),
            note: c.text("note", &self.note),
        };
        c.done(new)
    }

    fn parse_cutoff_days(&self, c: &mut Checker) -> i64 {
        let days = self.cutoff_days.trim().parse::<i64>().ok().filter(|days| (0..=60).contains(days));
        days.unwrap_or_else(|| {
            c.refuse(
                "cutoff_days",
                "Write how many days before the delivery orders close: 0 for the same day, at most 60.",
            );
            0
        })
    }

    fn parse_cutoff_time(&self, c: &mut Checker) -> TimeOfDay {
        let time = self.cutoff_time.trim().parse::<TimeOfDay>().ok();
        time.unwrap_or_else(|| {
            c.refuse("cutoff_time", "Write the hour until which orders are taken, such as 11:00.");
            TimeOfDay(jiff::civil::time(12, 0, 0, 0))
        })
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &SupplierForm) -> Vec<Difference> {
        let days = |form: &SupplierForm| weekday_names(&form.weekday);
        differences(&[
            ("Name", &self.name, &theirs.name),
            ("Contact", &self.contact, &theirs.contact),
            ("Email", &self.email, &theirs.email),
            ("Phone", &self.phone, &theirs.phone),
            ("Account", &self.account, &theirs.account),
            ("Delivers on", &days(self), &days(theirs)),
            ("Orders close, days before", &self.cutoff_days, &theirs.cutoff_days),
            ("Orders close at", &self.cutoff_time, &theirs.cutoff_time),
            ("Delivery fee", &self.delivery_fee, &theirs.delivery_fee),
            ("No fee from", &self.fee_waived_over, &theirs.fee_waived_over),
            ("Least order", &self.least_order, &theirs.least_order),
            ("Note", &self.note, &theirs.note),
        ])
    }
}

fn weekday_names(indices: &[String]) -> String {
    let name =
        |index: &String| crate::ground::dates::WEEKDAYS_SHORT.get(index.parse::<usize>().ok()?).copied();
    indices.iter().filter_map(name).collect::<Vec<_>>().join(" ")
}

/// The set of ticked boxes, numbered from 0.
pub(super) fn bits(field: &str, ticked: &[String], count: u32, c: &mut Checker) -> i64 {
    let mut set = 0;
    for raw in ticked {
        match raw.parse::<u32>() {
            Ok(index) if index < count => set |= 1_i64 << index,
            _ => c.refuse(field, "Choose among the boxes of the list."),
        }
    }
    set
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn form() -> SupplierForm {
        SupplierForm { name: "Marsh Lane Growers".into(), ..SupplierForm::blank() }
    }

    fn parsed(form: &SupplierForm) -> Result<NewSupplier, FieldErrors> {
        form.parse(&Studio::new_book().formats)
    }

    #[test]
    fn weekdays_become_bits() {
        let form = SupplierForm { weekday: vec!["0".into(), "4".into()], ..form() };
        assert_eq!(parsed(&form).unwrap().delivery_weekdays, Weekdays(0b1_0001));
    }

    #[test]
    fn no_weekday_is_a_supplier_one_fetches_from() {
        assert_eq!(parsed(&form()).unwrap().delivery_weekdays, Weekdays(0));
    }

    #[test]
    fn nonsense_is_named_field_by_field() {
        let form = SupplierForm {
            cutoff_days: "-1".into(),
            cutoff_time: "25:61".into(),
            delivery_fee: "1.234".into(),
            weekday: vec!["7".into()],
            email: "nowhere".into(),
            ..form()
        };
        let errors = parsed(&form).unwrap_err();
        for field in ["cutoff_days", "cutoff_time", "delivery_fee", "weekday", "email"] {
            assert!(errors.of(field).is_some(), "{field}");
        }
    }
}
