//! Freshness at the hour (C8): how many days of vase life are left at the end of an event, and whether a flower is open by
//! then. **An estimate, never a promise:** handling, water and variety matter as much as temperature.
//!
//! One way for all: arrival → (opening, out of the cooler) → cooler → bench → finished pieces → van → venue ([`way`]), each
//! stretch with its hours and its temperature ([`temperatures`], a setting; the hours are those of the event's work). Each
//! uses up a share of life along the material's curve ([`curve`], [`ageing`]); [`estimate`] adds them up, [`lives`] does so
//! for every fresh material of every event, [`mending`] says what would help. Sheets, pages and papers show the same.
//!
//! May import: `ground`, the stages before, prep's event work and, in [`lives`] and [`mending`], its plan.

pub mod ageing;
pub mod curve;
pub mod estimate;
pub mod forms;
pub mod lives;
pub mod mending;
pub mod pages;
pub mod store;
pub mod temperatures;
pub mod way;

pub use curve::{FreshnessError, LifeCurve, Point, Stretch};
