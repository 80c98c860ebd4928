//! Which names of the list are near one that is not in it, for "did you mean". Pure.

/// At most so many names are offered.
pub const OFFERED: usize = 3;

/// The names nearest to what was typed, nearest first: those that hold it or are held by it, then those within a few
/// slips of the finger (one for each started three letters, at most three). Letter case does not count.
///
/// ```
/// use trug::price_list::near_names::near;
/// let list = ["Rose, ivory", "Rose, blush", "Raffia"];
/// assert_eq!(near("rose ivoy", list), ["Rose, ivory"]);
/// assert_eq!(near("rose", list), ["Rose, ivory", "Rose, blush"]);
/// assert!(near("wire", list).is_empty());
/// ```
#[must_use]
pub fn near<'a>(typed: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let typed: Vec<char> = folded(typed).chars().take(120).collect();
    if typed.is_empty() {
        return Vec::new();
    }
    let most = typed.len().div_ceil(3).min(3);
    let mut found: Vec<(usize, &str)> =
        names.into_iter().filter_map(|name| Some((distance(&typed, &folded(name), most)?, name))).collect();
    found.sort_by_key(|(off, _)| *off);
    found.into_iter().take(OFFERED).map(|(_, name)| name).collect()
}

fn folded(name: &str) -> String {
    name.to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// 0 where one holds the other, else the number of slips, if they are few.
fn distance(typed: &[char], name: &str, most: usize) -> Option<usize> {
    let text: String = typed.iter().collect();
    if name.contains(&text) || (name.len() > 3 && text.contains(name)) {
        return Some(0);
    }
    let name: Vec<char> = name.chars().collect();
    if name.len().abs_diff(typed.len()) > most {
        return None;
    }
    Some(slips(typed, &name)).filter(|slips| *slips <= most)
}

/// Letters to add, drop or change (Levenshtein distance).
fn slips(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.iter().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for (j, other) in b.iter().enumerate() {
            let changed = corner + usize::from(letter != other);
            corner = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_is_near() {
        assert_eq!(near("eucaliptus", ["Eucalyptus", "Euonymus"]), ["Eucalyptus"]);
    }

    #[test]
    fn nothing_typed_is_near_nothing() {
        assert!(near(" -- ", ["Rose"]).is_empty());
        assert!(near(&"x".repeat(10_000), ["Rose"]).is_empty());
    }

    #[test]
    fn three_at_most() {
        assert_eq!(near("rose", ["Rose a", "Rose b", "Rose c", "Rose d"]).len(), 3);
    }
}
