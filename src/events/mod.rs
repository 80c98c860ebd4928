//! Events from enquiry to close: date, venue, places, pieces and their counts. May import `ground`, `db`, `web`, `studio`, `price_list`, `recipes`, `clients`.

pub mod pages;
