//! What an acceptance and a decline are read by: both are an answer to a version, given on a day.

use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::quotes::Version;
use crate::web::forms::Checker;

/// The day of an answer: not before the version was sent, and not still to come. `answered` is what they did to it:
/// "accepted".
pub(super) fn day_of_answer(
    (c, formats): (&mut Checker, &Formats),
    (field, typed): (&str, &str),
    (version, today): (&Version, Day),
    answered: &str,
) -> Day {
    let on = c.day(field, typed);
    let could_be_read = typed.parse::<Day>().is_ok_and(|typed| typed == on);
    if could_be_read && on < version.sent_on {
        let sent = formats.day(version.sent_on);
        c.refuse(field, format!("It was sent on {sent}; it cannot have been {answered} before."));
    }
    if on > today {
        c.refuse(field, "That day is still to come. Write the day on which they said so.");
    }
    on
}
