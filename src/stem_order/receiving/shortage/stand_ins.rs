//! What could stand in for what is missing: allowed substitutes and spares that are free, and what can still be had.

use std::collections::BTreeSet;

use super::supply::Supply;
use super::{Came, Lack, PartNeed, of_event};
use crate::ground::dates::Day;
use crate::ground::ids::MaterialId;
use crate::stem_order::calendar::LocalTime;
use crate::stem_order::weekend::{OnHand, Weekend};
use crate::stem_order::windows::still_keeps;

/// A delivery that can still be had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chance {
    /// From whom.
    pub supplier: String,
    /// When it would come.
    pub day: Day,
    /// Until when it must be ordered.
    pub order_by: LocalTime,
}

/// Where free stems are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spot {
    /// In packs that came whole: promised to nobody.
    Over,
    /// Spares of an event, here.
    Spares(String),
    /// Spares of an event, still to come.
    SparesToCome(String),
    /// In the cooler or on the shelf, as last counted.
    OnHand,
}

impl Spot {
    fn words(&self, count: i64) -> String {
        match self {
            Spot::Over => format!("{count} over in whole packs"),
            Spot::Spares(event) => format!("{count} spare of {event}"),
            Spot::SparesToCome(event) => format!("{count} spare of {event}, still to come"),
            Spot::OnHand => format!("{count} on hand, as last counted"),
        }
    }
}

/// A way to fill the gap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StandIn {
    /// Free stems of the material itself, or of an allowed substitute.
    Free {
        /// Of what.
        material: MaterialId,
        /// Its name.
        name: String,
        /// Whether it is a substitute.
        substitute: bool,
        /// Where they are, and how many.
        spots: Vec<(Spot, i64)>,
    },
    /// More can be ordered in time.
    TopUp {
        /// Of what.
        material: MaterialId,
        /// Its name.
        name: String,
        /// From whom, and when.
        chance: Chance,
    },
}

impl StandIn {
    /// How many are free; 0 for what has to be ordered.
    #[must_use]
    pub fn count(&self) -> i64 {
        match self {
            StandIn::Free { spots, .. } => spots.iter().map(|(_, count)| count).sum(),
            StandIn::TopUp { .. } => 0,
        }
    }

    /// Where the free ones are, in words.
    #[must_use]
    pub fn where_words(&self) -> String {
        match self {
            StandIn::Free { spots, .. } => {
                spots.iter().map(|(spot, count)| spot.words(*count)).collect::<Vec<_>>().join("; ")
            }
            StandIn::TopUp { .. } => String::new(),
        }
    }
}

/// What could stand in for what an event lacks of a material: the material itself, then its substitutes by name, then
/// what can still be had.
pub(super) fn stand_ins(
    came: &Came<'_>,
    needs: &[PartNeed<'_>],
    supply: &Supply,
    lack: &Lack<'_>,
) -> Vec<StandIn> {
    let own = lack.material;
    let open = || lack.parts.iter().filter(|(_, missing)| *missing > 0).map(|(part, _)| *part);
    let mut accepted: Vec<MaterialId> = open()
        .flat_map(|part| &part.part.substitutes)
        .copied()
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    accepted.sort_by_key(|id| name(came.weekend, *id).to_lowercase());
    accepted.insert(0, own);
    let free = accepted.iter().filter_map(|material| {
        let spots = spots(came, needs, supply, *material);
        let name = name(came.weekend, *material);
        (!spots.is_empty()).then_some(StandIn::Free {
            material: *material,
            name,
            substitute: *material != own,
            spots,
        })
    });
    let latest = open().filter_map(|part| part.part.window.as_ref().ok()).map(|window| window.latest).min();
    let top_ups = accepted.iter().filter_map(|material| {
        let chances = came.chances.get(material)?;
        let in_time = |chance: &&Chance| latest.is_none_or(|latest| chance.day <= latest);
        let chance = chances.iter().find(in_time)?.clone();
        Some(StandIn::TopUp { material: *material, name: name(came.weekend, *material), chance })
    });
    free.chain(top_ups).collect()
}

/// Where stems of a material are free: over in packs, spares of events beyond what their pieces need, on hand.
fn spots(came: &Came<'_>, needs: &[PartNeed<'_>], supply: &Supply, material: MaterialId) -> Vec<(Spot, i64)> {
    let mut spots = vec![(Spot::Over, supply.over(material))];
    for (other, event) in came.weekend.events.iter().enumerate() {
        let need: i64 = of_event(needs, other, material).map(|need| need.stems).sum();
        let with_spares: i64 = of_event(needs, other, material).map(|need| need.part.stems).sum();
        let have = supply.at(event.event.id, material);
        // What goes beyond need and spares was bought in the place of something else.
        let free = (have.total().min(with_spares) - need).max(0);
        let here = free.min((have.here + have.reserved - need).max(0));
        spots.push((Spot::Spares(event.event.name.clone()), here));
        spots.push((Spot::SparesToCome(event.event.name.clone()), free - here));
    }
    spots.push((Spot::OnHand, on_hand(came.weekend, material)));
    spots.retain(|(_, count)| *count > 0);
    spots
}

/// What lies in stock that nobody has reserved and that keeps for all these events.
fn on_hand(weekend: &Weekend, id: MaterialId) -> i64 {
    let (Some(material), Some(lots)) = (weekend.material(id), weekend.on_hand.get(&id)) else { return 0 };
    let keeps = |lot: &&OnHand| {
        weekend.events.iter().all(|event| still_keeps(material, lot.arrived_on, event.event.day))
    };
    lots.iter().filter(keeps).map(OnHand::unclaimed).sum()
}

fn name(weekend: &Weekend, id: MaterialId) -> String {
    weekend.material(id).map_or_else(String::new, |material| material.name.clone())
}
