//! Materials, suppliers and what each asks for each pack; price history; import and export. May import `ground`, `db`, `web`, `studio`.

pub mod pages;
