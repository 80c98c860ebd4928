//! What leaves the door for each event: pieces, vessels, candles, sundries, tools, spares, water; what of it comes back.
//! May import the stages before it.

pub mod forms;
pub mod loading;
pub mod loans;
pub mod pages;
pub mod pull;
pub mod room;
pub mod run_sheet;
pub mod store;
pub mod usual_kit;
pub mod vessel_water;

use room::Measured;
use serde::Serialize;

use crate::ground::choice::choices;
use crate::ground::ids::{KitItemId, PullExtraId};

choices! {
    /// What a kit item is.
    KitKind {
        /// Something to work with, which comes back.
        Tool "tool" "Tool"
        /// Something that is used up.
        Sundry "sundry" "Sundry"
        /// Something to mend with.
        Spare "spare" "Spare"
        /// Something against harm.
        Safety "safety" "Safety"
    }
}

/// Something that goes along to every event, by rule.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct KitItem {
    /// Its identity; none where it is not in the book yet.
    pub id: Option<KitItemId>,
    /// Its name, alone of its kind.
    pub name: String,
    /// What it is.
    pub kind: KitKind,
    /// How many.
    pub quantity: i64,
    /// For each started so many pieces; none is once an event.
    pub per_pieces: Option<i64>,
    /// How heavy and large one is, where that was typed.
    pub measured: Measured,
}

/// Something one event needs beside its pieces and the kit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PullExtra {
    /// Its identity; none where it is not in the book yet.
    pub id: Option<PullExtraId>,
    /// What it is.
    pub name: String,
    /// How many.
    pub quantity: i64,
    /// Where it goes; empty is the event as a whole.
    pub place: String,
    /// What to remember.
    pub note: String,
    /// How heavy and large one is, where that was typed.
    pub measured: Measured,
}
