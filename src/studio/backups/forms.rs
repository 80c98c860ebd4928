//! The form of the second place.

use std::path::Path;

use serde::Deserialize;

use super::Place;
use crate::ground::formats::Formats;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// The second place, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PlaceForm {
    /// The version that was seen.
    pub version: String,
    /// The folder, or nothing.
    pub folder: String,
}

impl PlaceForm {
    /// The form filled in from the book.
    #[must_use]
    pub fn of(place: &Place) -> PlaceForm {
        PlaceForm { version: place.version.to_string(), folder: place.folder.clone() }
    }

    /// Reads the form: the folder, which must be another than the one beside the book, or a message.
    pub fn parse(&self, beside_the_book: &Path, formats: &Formats) -> Result<String, FieldErrors> {
        let mut c = Checker::new(formats);
        let folder = c.line("folder", &self.folder);
        let folder = c.done(folder)?;
        let path = Path::new(&folder);
        let refuse = |message: &str| Err(FieldErrors::one("folder", message));
        if folder.is_empty() {
            return Ok(folder);
        }
        if !path.is_absolute() {
            return refuse("Write the whole path of the folder, from the root or the drive's letter.");
        }
        if path == beside_the_book || is_one_of_ours(path, beside_the_book) {
            return refuse("Backups lie in that folder already. A second place is of use on another disk.");
        }
        Ok(folder)
    }

    /// What differs from what somebody else saved meanwhile.
    #[must_use]
    pub fn differences(&self, theirs: &PlaceForm) -> Vec<Difference> {
        differences(&[("Second place", &self.folder, &theirs.folder)])
    }
}

/// Whether a folder is, by whatever way it is named, the one of the backups or the book's own.
fn is_one_of_ours(folder: &Path, beside_the_book: &Path) -> bool {
    let ours = [Some(beside_the_book), beside_the_book.parent()];
    let Ok(folder) = folder.canonicalize() else { return false };
    ours.into_iter().flatten().any(|own| own.canonicalize().is_ok_and(|own| own == folder))
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::PlaceForm;
    use crate::studio::Studio;

    #[test]
    fn a_second_place_is_another_folder_by_its_whole_path() {
        let formats = Studio::new_book().formats;
        let parse = |folder: &str| {
            let form = PlaceForm { version: "0".into(), folder: folder.into() };
            form.parse(Path::new("/book/backups"), &formats)
        };
        assert_eq!(parse(" ").unwrap(), "");
        assert_eq!(parse(" /media/stick ").unwrap(), "/media/stick");
        let (book, folder) = (std::env::temp_dir(), std::env::temp_dir().join("."));
        let form = PlaceForm { version: "0".into(), folder: folder.display().to_string() };
        assert!(form.parse(&book.join("backups"), &formats).is_err(), "the book's own folder");
        assert!(
            parse("stick").is_err() && parse("/book/backups").is_err() && parse("/book/backups/").is_err()
        );
    }
}
