//! Whether a version was answered already, for both answers: a declined one may still be accepted, an accepted one is settled.

use crate::ground::formats::Formats;
use crate::quotes::Version;
use crate::web::answer::Trouble;

/// What is to be recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum To {
    Accept,
    Decline,
}

/// `Version 2`, `Change note 1`.
pub(super) fn named(version: &Version) -> String {
    match &version.frozen.change {
        Some(note) => format!("Change note {}", note.number),
        None => format!("Version {}", version.number),
    }
}

/// Refuses a second answer.
pub(super) fn refuse_answered(version: &Version, to: To, formats: Formats) -> Result<(), Trouble> {
    let what = named(version);
    if let Some(acceptance) = &version.acceptance {
        let (by, on) = (&acceptance.by, formats.day(acceptance.on));
        return Err(Trouble::Conflict(format!(
            "{what} was accepted by {by} on {on}: it is answered. What changes since then is sent as a new version."
        )));
    }
    match &version.decline {
        Some(decline) if to == To::Decline => {
            let (by, on) = (&decline.by, formats.day(decline.on));
            Err(Trouble::Conflict(format!(
                "{what} was declined by {by} on {on}: it is answered. Should they think again, record that they accept it."
            )))
        }
        _ => Ok(()),
    }
}
