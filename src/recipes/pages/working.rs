//! The sum behind each material's cost, in words.

use std::collections::HashMap;

use super::super::RecipeBook;
use super::super::cost::{CostLine, Missing, Use};
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::price_list::{CostKind, Material, Unit, UnitCost};

/// Why a cost is not known.
pub(super) const fn why(missing: Missing) -> &'static str {
    match missing {
        Missing::Price => "no price today",
        Missing::UsableLength => "no usable length",
        Missing::TooShort => "longer than a stem or roll",
    }
}

/// What the working is written with.
pub(super) struct Words<'a> {
    pub(super) book: &'a RecipeBook,
    pub(super) costs: &'a HashMap<MaterialId, UnitCost>,
    pub(super) formats: Formats,
}

impl Words<'_> {
    pub(super) fn name(&self, id: MaterialId) -> &str {
        self.book.materials.get(&id).map_or("", |material| material.name.as_str())
    }

    /// The sum behind a material's share of the cost.
    pub(super) fn working(&self, line: &CostLine) -> String {
        let Some(material) = self.book.materials.get(&line.material) else { return String::new() };
        let uses: Vec<String> = line.uses.iter().map(|way| self.way(way, material)).collect();
        let uses = uses.join(" + ");
        if let Some(missing) = line.missing {
            return format!("{}: {uses}; {}, so it counts as nothing", material.name, why(missing));
        }
        let formats = self.formats;
        let loss = match line.loss.raw() {
            0 => String::new(),
            _ => format!(" ÷ (1 − {} loss)", formats.share(line.loss)),
        };
        let each = formats.unit_cost(line.each);
        let sum = format!("{}: {uses}{loss} × {each} = {}", material.name, formats.unit_cost(line.cost));
        match (line.kind, self.costs.get(&line.material)) {
            (CostKind::Loan, _) => format!("{sum} (loan fee)"),
            (_, Some(cost)) => format!("{sum} ({})", self.source(cost)),
            (_, None) => sum,
        }
    }

    fn source(&self, cost: &UnitCost) -> String {
        format!(
            "{}: {} of {} at {}, since {}",
            cost.supplier_name,
            cost.pack_name,
            cost.pack_size,
            self.formats.money(cost.pack_price),
            self.formats.day(cost.from_day)
        )
    }

    fn way(&self, way: &Use, material: &Material) -> String {
        let number = |number| self.formats.number(number, 4);
        let one = match material.unit {
            Unit::Stem => "stem",
            Unit::Each => "piece",
            Unit::Roll => "roll",
        };
        let taken = way.quantity();
        match *way {
            Use::Whole { quantity } => number(quantity),
            Use::Cut { pieces, length, from_one: Some(from_one) } => format!(
                "{} of {} at {from_one} from a {one} ({})",
                number(pieces),
                self.formats.length(length),
                number(taken)
            ),
            Use::Cut { pieces, length, from_one: None } => {
                format!("{} of {}", number(pieces), self.formats.length(length))
            }
            Use::OnePer { quantity, per } => format!("{} ÷ {per} ({})", number(quantity), number(taken)),
            Use::OncePerEvent { quantity, batch } => {
                format!("{} an event ÷ {batch} ({})", number(quantity), number(taken))
            }
        }
    }
}
