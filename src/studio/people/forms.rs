//! The forms of a person, and of one's own passphrase.

use serde::Deserialize;

use super::passphrase::{self, Weak};
use super::{NAME_LENGTH, NewPerson, Person, Role};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// A person, as typed. A passphrase never goes back to the page.
#[derive(Clone, Default, Deserialize)]
#[serde(default)]
pub struct PersonForm {
    /// The version that was seen.
    pub version: String,
    /// Their name.
    pub name: String,
    /// What they may.
    pub role: String,
    /// The first passphrase of a new person.
    pub passphrase: String,
}

/// A new passphrase, as typed, with the present one where it is one's own.
#[derive(Default, Deserialize)]
#[serde(default)]
pub struct PassphraseForm {
    /// The present one.
    pub present: String,
    /// The new one.
    pub passphrase: String,
}

impl PersonForm {
    /// The form of somebody new: most are at the bench.
    #[must_use]
    pub fn blank() -> PersonForm {
        PersonForm { role: Role::Bench.code().into(), ..PersonForm::default() }
    }

    /// The form filled in from the book.
    #[must_use]
    pub fn of(person: &Person) -> PersonForm {
        PersonForm {
            version: person.version.to_string(),
            name: person.name.clone(),
            role: person.role.code().into(),
            passphrase: String::new(),
        }
    }

    /// Reads name and role.
    pub fn parse(&self, formats: &Formats) -> Result<NewPerson, FieldErrors> {
        let mut c = Checker::new(formats);
        let name = c.name("name", &self.name, "the name they log in with");
        if name.chars().count() > NAME_LENGTH {
            c.refuse("name", format!("Write at most {NAME_LENGTH} letters."));
        }
        let role = c.pick("role", &self.role);
        c.done(NewPerson { name, role })
    }

    /// Reads a new person with their passphrase, and collects what is wrong with either.
    pub fn parse_new(&self, formats: &Formats, studio: &str) -> Result<(NewPerson, String), FieldErrors> {
        let person = self.parse(formats);
        let passphrase = read_passphrase("passphrase", &self.passphrase, &[&self.name, studio]);
        match (person, passphrase) {
            (Ok(person), Ok(passphrase)) => Ok((person, passphrase)),
            (Err(mut errors), Err(more)) => {
                for (field, message) in more.list() {
                    errors.add(field, message);
                }
                Err(errors)
            }
            (Err(errors), Ok(_)) | (Ok(_), Err(errors)) => Err(errors),
        }
    }

    /// What differs from what somebody else saved meanwhile.
    #[must_use]
    pub fn differences(&self, theirs: &PersonForm) -> Vec<Difference> {
        let label =
            |code: &str| Role::from_code(code).map_or(code.to_owned(), |role| role.label().to_owned());
        differences(&[("Name", &self.name, &theirs.name), ("Role", &label(&self.role), &label(&theirs.role))])
    }
}

/// A new passphrase as it is hashed, or why it is not taken.
pub fn read_passphrase(field: &str, typed: &str, names: &[&str]) -> Result<String, FieldErrors> {
    let mut all = names.to_vec();
    all.push("trug");
    passphrase::checked(typed, &all).map_err(|weak: Weak| FieldErrors::one(field, weak.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    #[test]
    fn everything_that_is_wrong_is_said_at_once() {
        let form = PersonForm { role: "boss".into(), passphrase: "short".into(), ..PersonForm::default() };
        let errors = form.parse_new(&Studio::new_book().formats, "Fern & Foil").unwrap_err();
        assert!(["name", "role", "passphrase"].iter().all(|field| errors.of(field).is_some()), "{errors:?}");
    }

    #[test]
    fn a_person_has_a_name_that_is_not_too_long_and_a_role() {
        let formats = Studio::new_book().formats;
        let form = PersonForm { name: "  Mia  Thorne ".into(), ..PersonForm::blank() };
        assert_eq!(form.parse(&formats).unwrap(), NewPerson { name: "Mia Thorne".into(), role: Role::Bench });
        let long = PersonForm { name: "x".repeat(41), ..PersonForm::blank() };
        assert!(long.parse(&formats).unwrap_err().of("name").is_some());
    }
}
