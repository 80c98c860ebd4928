//! Names near to one that does not exist, so that a message can suggest what was meant.

/// At most `most` of the names that are near to the asked one, the nearest first: those that hold it or are held by it,
/// and those within a third of its letters (Levenshtein's distance, letter case left aside).
///
/// ```
/// use trug::ground::near_names::near;
/// let names = ["Low table centre", "Buttonhole", "Arch, foliage"];
/// assert_eq!(near("low tabel centre", names, 3), ["Low table centre"]);
/// assert_eq!(near("arch", names, 3), ["Arch, foliage"]);
/// assert!(near("corsage", names, 3).is_empty());
/// ```
#[must_use]
pub fn near<'a>(asked: &str, names: impl IntoIterator<Item = &'a str>, most: usize) -> Vec<&'a str> {
    let asked: Vec<char> = letters(asked);
    if asked.is_empty() {
        return Vec::new();
    }
    let mut ranked: Vec<(usize, &str)> =
        names.into_iter().filter_map(|name| Some((rank(&asked, &letters(name))?, name))).collect();
    ranked.sort_unstable();
    ranked.into_iter().take(most).map(|(_, name)| name).collect()
}

/// The names as the end of a message: ` Near to it: “Arch, foliage”.`, or nothing.
#[must_use]
pub fn suggestion(near: &[&str]) -> String {
    if near.is_empty() {
        return String::new();
    }
    let quoted: Vec<String> = near.iter().map(|name| format!("\u{201c}{name}\u{201d}")).collect();
    format!(" Near to it: {}.", quoted.join(", "))
}

/// Lower-case letters, and no more of them than names have.
fn letters(name: &str) -> Vec<char> {
    name.trim().to_lowercase().chars().take(120).collect()
}

fn rank(asked: &[char], name: &[char]) -> Option<usize> {
    let distance = distance(asked, name);
    let allowed = (asked.len().max(name.len()) / 3).max(1);
    let inside = asked.len() >= 3 && holds(name, asked) || name.len() >= 3 && holds(asked, name);
    match (distance <= allowed, inside) {
        (true, _) => Some(distance),
        (false, true) => Some(allowed + 1),
        (false, false) => None,
    }
}

fn holds(whole: &[char], part: &[char]) -> bool {
    whole.windows(part.len()).any(|window| window == part)
}

/// Levenshtein's distance: how many letters are put in, left out or changed.
fn distance(one: &[char], other: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in other.iter().enumerate() {
            let changed = diagonal + usize::from(a != b);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distance_counts_letters() {
        // The textbook pair.
        assert_eq!(distance(&letters("kitten"), &letters("sitting")), 3);
        assert_eq!(distance(&[], &letters("abc")), 3);
    }

    #[test]
    fn nearest_first_and_not_too_many() {
        let names = ["Rose, red", "Rose, white", "Stock", "Rose"];
        assert_eq!(near("Rosa", names, 1), ["Rose"]);
        assert_eq!(near("", names, 5), Vec::<&str>::new());
        assert_eq!(near(&"x".repeat(10_000), names, 5), Vec::<&str>::new());
    }

    #[test]
    fn a_message_quotes_them() {
        assert_eq!(suggestion(&["Stock"]), " Near to it: \u{201c}Stock\u{201d}.");
        assert_eq!(suggestion(&[]), "");
    }
}
