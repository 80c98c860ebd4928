//! Troubles as pages show them: what is missing, whom it touches, what could stand in.

use super::super::shortage::{StandIn, Trouble};
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;

/// One trouble, ready to be told.
pub(super) struct TroubleCard {
    pub(super) trouble: Trouble,
    formats: Formats,
}

/// What could stand in, ready to be told.
pub(super) struct Way {
    pub(super) material: MaterialId,
    pub(super) name: String,
    /// `12 free, allowed instead`.
    pub(super) what: String,
    pub(super) where_words: String,
}

impl TroubleCard {
    pub(super) fn what(&self) -> String {
        self.trouble.what()
    }

    pub(super) fn working(&self) -> String {
        self.trouble.working()
    }

    /// When and for whom.
    pub(super) fn event(&self) -> String {
        format!("{}, {}", self.trouble.event_name, self.formats.weekday(self.trouble.day))
    }

    /// What is free: the material itself first.
    pub(super) fn ways(&self) -> Vec<Way> {
        let free = self.trouble.stand_ins.iter().filter_map(|stand_in| match stand_in {
            StandIn::Free { material, name, substitute, .. } => Some(Way {
                material: *material,
                name: name.clone(),
                what: format!(
                    "{} {}",
                    stand_in.count(),
                    if *substitute { "free, allowed instead" } else { "free" }
                ),
                where_words: stand_in.where_words(),
            }),
            StandIn::TopUp { .. } => None,
        });
        free.collect()
    }

    /// The deliveries with which more could still come.
    pub(super) fn top_ups(&self) -> Vec<String> {
        let day = |day| self.formats.weekday(day);
        let said = self.trouble.stand_ins.iter().filter_map(|stand_in| match stand_in {
            StandIn::TopUp { name, chance, .. } => Some(format!(
                "{name} from {} on {}, if ordered by {} {}",
                chance.supplier,
                day(chance.day),
                day(chance.order_by.day),
                chance.order_by.time
            )),
            StandIn::Free { .. } => None,
        });
        said.collect()
    }

    /// Where a top-up is planned.
    pub(super) fn order_path(&self) -> String {
        let events: Vec<String> =
            self.trouble.together.iter().map(|event| format!("event={event}")).collect();
        format!("/stem-order?{}", events.join("&"))
    }
}

pub(super) fn cards(troubles: Vec<Trouble>, formats: Formats) -> Vec<TroubleCard> {
    troubles.into_iter().map(|trouble| TroubleCard { trouble, formats }).collect()
}
