//! The bench's days before the events: what arrives, what is conditioned, cut and made. May import the stages before it.

pub mod estimate;
pub mod freshness;
pub mod pages;
pub mod plan;
pub mod store;

use crate::ground::choice::choices;

choices! {
    /// The kinds of bench work, in the order in which a day does them.
    Step {
        /// What comes through the door.
        Arrive "arrive" "Arrives"
        /// Strip, re-cut, stand in water.
        Condition "condition" "Condition"
        /// Vessels, ribbon, wire.
        Dress "dress" "Dress vessels, cut ribbon"
        /// Foliage and stems to length.
        Cut "cut" "Cut"
        /// The pieces.
        Make "make" "Make"
    }
}
