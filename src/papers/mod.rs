//! What goes to a client on paper or as a file: one layout for quotes, change notes, invoices and credit notes, as a page,
//! a PDF and an HTML file that stands alone; the studio's sign; pictures. First of the rooms after the studio, since
//! recipes keep pictures and both quotes and accounts send papers. May import `ground`, `db`, `web`, `studio`.
//!
//! # Invariants
//! - A paper is a [`sheet::Sheet`]: its words and figures are written once, by the room whose document it is. Page, PDF and
//!   HTML file only set them.
//! - The same sheet and paper size give the same bytes: a frozen version's PDF can be made again at any time.
//! - A kept picture or sign is never changed: a new one is a new row, so that what was sent keeps its own.

pub mod layout;
pub mod pages;
pub mod pdf;
pub mod picture;
pub mod sheet;
pub mod store;
