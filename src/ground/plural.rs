//! What several of a thing are called: `bunches`, `boxes`, `trays`. May import: nothing.

/// The name of so many of a thing.
///
/// ```
/// use trug::ground::plural::plural;
/// assert_eq!(plural("case", 1), "case");
/// assert_eq!(plural("case", 2), "cases");
/// assert_eq!(plural("bunch", 2), "bunches");
/// assert_eq!(plural("tray", 0), "trays");
/// assert_eq!(plural("country bunch, lily", 2), "country bunch, lilies");
/// ```
#[must_use]
pub fn plural(name: &str, count: i64) -> String {
    if count == 1 {
        return name.to_owned();
    }
    let hisses = ["s", "x", "z", "ch", "sh"].iter().any(|end| name.ends_with(end));
    let before_y = name.strip_suffix('y').filter(|rest| !rest.ends_with(['a', 'e', 'i', 'o', 'u']));
    match before_y.filter(|rest| !rest.is_empty()) {
        Some(rest) => format!("{rest}ies"),
        None if hisses => format!("{name}es"),
        None => format!("{name}s"),
    }
}
