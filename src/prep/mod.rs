//! The bench's days before the events: what arrives, what is conditioned, cut and made. May import the stages before it.

pub mod bench_plan;
pub mod event_work;
pub mod forms;
pub mod freshness;
pub mod pages;
pub mod pails;
pub mod plan;
pub mod stations;
pub mod store;

use crate::ground::choice::choices;

choices! {
    /// The kinds of bench work, in the order in which a day does them.
    Step {
        /// What comes through the door is stripped, re-cut and stood in water.
        Condition "condition" "Arrives: condition"
        /// Vessels, ribbon, wire.
        Dress "dress" "Dress vessels, cut ribbon"
        /// Foliage and stems to length.
        Cut "cut" "Cut"
        /// The pieces.
        Make "make" "Make"
    }
}
