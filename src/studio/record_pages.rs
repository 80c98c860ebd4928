//! Where each record has its page: from an address to the record whose page it is, and back. A record is named as its
//! history is asked for: `client-12`, `kit`. Plain text, no page and no book.

/// Records with a number: what begins their pages' addresses, and what the record is called.
const NUMBERED: &[(&str, &str)] = &[
    ("/events/", "event"),
    ("/clients/", "client"),
    ("/recipes/", "recipe"),
    ("/materials/", "material"),
    ("/losses/", "material"),
    ("/suppliers/", "supplier"),
    ("/offers/", "offer"),
    ("/orders/", "placed_order"),
    ("/stock/", "stock_lot"),
    ("/piece-sets/", "piece_set"),
    ("/closed-days/", "closed_day"),
    ("/settings/people/", "person"),
];

/// Lists that are one record: their page, and what the record is called.
const LISTS: &[(&str, &str)] = &[
    ("/settings", "settings"),
    ("/settings/backups", "backups"),
    ("/settings/logo", "settings"),
    ("/accounts/terms", "account-settings"),
    ("/shifts", "shifts"),
    ("/kit", "kit"),
    ("/crates", "crates-and-vans"),
    ("/closed-days", "closed-days"),
    ("/prep/pails", "pails"),
    ("/prep/temperatures", "temperatures"),
    ("/reminders", "reminder-settings"),
    ("/calendar", "calendar"),
];

/// The record whose page an address is, if it is one's.
///
/// ```
/// use trug::studio::record_pages::of_path;
/// assert_eq!(of_path("/events/12/pieces").as_deref(), Some("event-12"));
/// assert_eq!(of_path("/kit").as_deref(), Some("kit"));
/// assert_eq!(of_path("/closed-days/3").as_deref(), Some("closed-days"));
/// assert_eq!((of_path("/events"), of_path("/events/new")), (None, None));
/// ```
#[must_use]
pub fn of_path(path: &str) -> Option<String> {
    if let Some((_, record)) = LISTS.iter().find(|(page, _)| *page == path) {
        return Some((*record).to_owned());
    }
    let (kind, number) = numbered(path)?;
    Some(if kind == "closed_day" { "closed-days".into() } else { format!("{kind}-{number}") })
}

/// The kind and number of the record below whose address a path lies.
#[must_use]
pub fn numbered(path: &str) -> Option<(&'static str, i64)> {
    NUMBERED.iter().find_map(|(begins, kind)| {
        let number = path.strip_prefix(begins)?.split('/').next()?;
        Some((*kind, number.parse().ok()?))
    })
}

/// The page of a record, if it has one.
///
/// ```
/// use trug::studio::record_pages::page_of;
/// assert_eq!(page_of("client-12").as_deref(), Some("/clients/12"));
/// assert_eq!(page_of("kit").as_deref(), Some("/kit"));
/// assert_eq!(page_of("piece_set-5").as_deref(), Some("/piece-sets"));
/// assert_eq!(page_of("studio-x"), None);
/// ```
#[must_use]
pub fn page_of(record: &str) -> Option<String> {
    if let Some((page, _)) = LISTS.iter().find(|(_, name)| *name == record) {
        return Some((*page).to_owned());
    }
    let (kind, number) = record.rsplit_once('-')?;
    let number: i64 = number.parse().ok()?;
    // Sets are shown together only.
    if kind == "piece_set" {
        return Some("/piece-sets".into());
    }
    let (begins, _) = NUMBERED.iter().find(|(_, name)| *name == kind)?;
    Some(format!("{begins}{number}"))
}

/// Where a POST takes an act back and leads to a page of ours again.
#[must_use]
pub fn undo_path(act: i64, back: &str) -> String {
    let back: String = form_urlencoded::byte_serialize(back.as_bytes()).collect();
    format!("/history/acts/{act}/undoing?back={back}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_undo_leads_back_to_its_page() {
        assert_eq!(
            undo_path(7, "/stem-order?event=1&event=2"),
            "/history/acts/7/undoing?back=%2Fstem-order%3Fevent%3D1%26event%3D2"
        );
    }

    #[test]
    fn pages_and_records_name_each_other() {
        for path in ["/events/1", "/clients/2", "/orders/3", "/stock/4", "/settings", "/kit"] {
            assert_eq!(page_of(&of_path(path).unwrap()).as_deref(), Some(path));
        }
    }
}
