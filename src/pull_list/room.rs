//! How heavy and how large on the way is what is not a piece: kit, extras, spares and sundries (C9).
//!
//! What was typed is taken. What was not is taken by its kind, and the load sheet says that it is estimated: from memory, no
//! published source; weigh and measure to be sure.
//!
//! May import: `ground`, kinds of kit.

use serde::Serialize;

use super::KitKind;
use crate::ground::quantity::Quantity;
use crate::ground::weight::Weight;

/// What was typed of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Measured {
    /// How heavy it is.
    pub weight: Option<Weight>,
    /// How many litres of a crate it takes.
    pub litres: Option<Quantity>,
}

/// How heavy and large one is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Room {
    /// How heavy.
    pub weight: Weight,
    /// How many litres of a crate it takes.
    pub litres: Quantity,
    /// Whether any of it is estimated.
    pub estimated: bool,
}

/// One extra where nothing was typed: 500 g, 2 litres.
pub const EXTRA: Room = usual(500, 2_000);
/// One spare, roll or packet of the price list's where nothing was typed: 300 g, half a litre.
pub const SHELF: Room = usual(300, 500);

const fn usual(grams: i64, millilitres: i64) -> Room {
    Room { weight: Weight::from_grams(grams), litres: Quantity::from_raw(millilitres), estimated: true }
}

impl KitKind {
    /// One item of the kind where nothing was typed.
    #[must_use]
    pub const fn usual_room(self) -> Room {
        match self {
            KitKind::Tool | KitKind::Safety => usual(500, 2_000),
            KitKind::Sundry => usual(200, 1_000),
            KitKind::Spare => usual(500, 3_000),
        }
    }
}

impl Measured {
    /// What was typed, and the usual figure for what was not.
    ///
    /// ```
    /// use trug::ground::weight::Weight;
    /// use trug::pull_list::room::{EXTRA, Measured};
    /// let weighed = Measured { weight: Some(Weight::from_grams(20_000)), litres: None };
    /// let room = weighed.or(EXTRA);
    /// assert_eq!((room.weight.grams(), room.litres.raw(), room.estimated), (20_000, 2_000, true));
    /// ```
    #[must_use]
    pub fn or(self, usual: Room) -> Room {
        Room {
            weight: self.weight.unwrap_or(usual.weight),
            litres: self.litres.unwrap_or(usual.litres),
            estimated: self.weight.is_none() || self.litres.is_none(),
        }
    }
}
