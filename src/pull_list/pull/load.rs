//! The water that fills an event's vessels three quarters (C9): each vessel's, and all of it together.

use rust_decimal::{Decimal, RoundingStrategy};

use crate::price_list::{Material, MaterialKind};
use crate::pull_list::vessel_water::{Water, needs_two_people, water_in_cylinder};

/// How full a vessel is filled: three quarters of its height. Common practice, no published source.
pub const VESSEL_FILL: Decimal = Decimal::from_parts(75, 0, 0, false, 2);

/// How much of the vessels' water goes along to top them up, for what slops on the way and what flowers drink until guests
/// come: a quarter. Our own assumption, no published source.
pub const TOP_UP: Decimal = Decimal::from_parts(25, 0, 0, false, 2);

/// The water of all vessels whose inner measures are known.
#[derive(Default)]
pub(super) struct Load {
    litres: Decimal,
    kilograms: Decimal,
    workings: Vec<String>,
}

impl Load {
    /// Adds so many vessels; gives what to note at them, and whether one filled is for two people.
    pub(super) fn add(&mut self, vessel: &Material, count: i64) -> Option<(String, bool)> {
        let water = water_in(vessel)?;
        self.litres += water.litres * Decimal::from(count);
        self.kilograms += water.kilograms * Decimal::from(count);
        let litres = shown(water.litres);
        self.workings.push(format!("{count} × {litres} l ({})", vessel.name));
        Some((format!("{litres} litres each, three quarters full"), needs_two_people(water.kilograms)))
    }

    /// Whole litres, kilograms, and the sum in words; none without a known vessel.
    pub(super) fn total(&self) -> Option<(i64, String, String)> {
        let litres = i64::try_from(self.litres.ceil()).ok().filter(|litres| *litres > 0)?;
        let working = format!("{} = {} litres, rounded up", self.workings.join(" + "), shown(self.litres));
        Some((litres, self.kilograms.ceil().to_string(), working))
    }

    /// Whole litres that go along to top up.
    pub(super) fn top_up(&self) -> i64 {
        i64::try_from((self.litres * TOP_UP).ceil()).unwrap_or(0)
    }
}

/// The water that fills one vessel three quarters; none of what is no vessel or was not measured.
pub(crate) fn water_in(vessel: &Material) -> Option<Water> {
    if vessel.kind != MaterialKind::Vessel {
        return None;
    }
    let (diameter, height) = vessel.inner_diameter.zip(vessel.inner_height)?;
    water_in_cylinder(diameter.um(), height.um(), VESSEL_FILL).ok()
}

/// Litres to a tenth, small ones to a hundredth, up.
fn shown(litres: Decimal) -> String {
    let places = if litres < Decimal::ONE { 2 } else { 1 };
    litres.round_dp_with_strategy(places, RoundingStrategy::AwayFromZero).normalize().to_string()
}
