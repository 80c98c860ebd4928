//! What a session was begun with, in a few words, from what the browser says of itself. Only for its owner to tell sessions
//! apart; nothing rests on it.

const BROWSERS: [(&str, &str); 6] = [
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
];
const SYSTEMS: [(&str, &str); 7] = [
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "Mac"),
    ("CrOS", "Chromebook"),
    ("Linux", "Linux"),
];

/// `Firefox on Android`; `a browser` where nothing is recognised.
///
/// ```
/// use trug::studio::people::device::named;
/// assert_eq!(named("Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0"), "Firefox on Android");
/// assert_eq!(named("<script>"), "a browser");
/// ```
#[must_use]
pub fn named(user_agent: &str) -> String {
    let find = |list: &[(&str, &'static str)]| {
        list.iter().find(|(sign, _)| user_agent.contains(sign)).map(|(_, name)| *name)
    };
    let browser = find(&BROWSERS).unwrap_or("a browser");
    match find(&SYSTEMS) {
        Some(system) => format!("{browser} on {system}"),
        None => browser.to_owned(),
    }
}
