//! A material's losses as pages show them: what was counted, from whom, and what it means for a need of 100.

use sqlx::SqliteConnection;

use super::super::learned::{Counted, Learned, LossBasis, Tally};
use super::super::store::{self, SupplierCounts};
use super::super::{LossRule, RuleOf};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::MaterialId;
use crate::ground::quantity::Share;
use crate::price_list::{self, Material};
use crate::stem_order::spares::{Spare, SpareRules, spares};
use crate::studio::Studio;

/// The need for which a page says what a rate means.
const NEED: i64 = 100;

/// One material's losses.
pub(super) struct Rate {
    pub(super) material: Material,
    pub(super) rule: LossRule,
    /// Whatever the studio fixed.
    pub(super) counted: Counted,
    pub(super) since: Option<Day>,
    pub(super) suppliers: Vec<SupplierRate>,
    usual: Share,
    basis: LossBasis,
    spare: Spare,
    formats: Formats,
}

/// What one supplier's stems say by themselves.
pub(super) struct SupplierRate {
    pub(super) name: String,
    pub(super) counted: Counted,
    basis: LossBasis,
    formats: Formats,
}

impl SupplierRate {
    pub(super) fn rate(&self) -> String {
        self.formats.share(self.basis.rate())
    }

    pub(super) fn words(&self) -> String {
        self.counted.words(&self.formats)
    }
}

impl Rate {
    fn of(material: Material, rule: LossRule, counts: &[SupplierCounts], studio: &Studio) -> Rate {
        let usual = material.loss.unwrap_or(studio.loss);
        let tallies: Vec<Tally> = counts.iter().map(|counts| counts.tally).collect();
        let learned = Learned { counted: Counted::of(&tallies), overruled: rule.overruled };
        let rules = SpareRules { learned: [(material.id, learned)].into(), ..SpareRules::from(studio) };
        let suppliers = counts.iter().zip(&tallies).map(|(counts, tally)| {
            let counted = Counted::of(std::slice::from_ref(tally));
            let name = if counts.supplier.is_empty() { "Not known from whom" } else { &counts.supplier };
            SupplierRate {
                name: name.to_owned(),
                counted,
                basis: LossBasis::Counted { usual, counted },
                formats: studio.formats,
            }
        });
        Rate {
            suppliers: suppliers.collect(),
            since: counts.iter().map(|counts| counts.since).min(),
            counted: learned.counted,
            basis: rules.basis(&material),
            spare: spares(&material, NEED, &rules),
            formats: studio.formats,
            usual,
            rule,
            material,
        }
    }

    /// What is lost usually, as the price list says.
    pub(super) fn usual(&self) -> String {
        let whose = if self.material.loss.is_none() { ", the studio's usual" } else { "" };
        format!("{}{whose}", self.formats.share(self.usual))
    }

    /// The share that is reckoned with on average.
    pub(super) fn rate(&self) -> String {
        self.formats.share(self.basis.rate())
    }

    /// That share, for the price list.
    pub(super) fn share(&self) -> Share {
        self.basis.rate()
    }

    /// The sum behind the rate.
    pub(super) fn rate_working(&self) -> String {
        let (usual, stems) = (self.formats.share(self.usual), self.counted.total());
        match self.basis {
            LossBasis::Usual(_) => format!("{usual} lost usually; nothing was counted yet"),
            LossBasis::Overruled(fixed) => {
                let fixed = self.formats.share(fixed);
                if stems == 0 {
                    return format!("{fixed}, fixed by the studio; nothing was counted");
                }
                format!(
                    "{fixed}, fixed by the studio; the counts ({}) are left out",
                    self.counted.words(&self.formats)
                )
            }
            LossBasis::Counted { counted, .. } => format!(
                "{}: {} lost of {stems}, and what is usually lost ({usual}) counts as much as 60 stems more",
                counted.words(&self.formats),
                counted.lost
            ),
        }
    }

    /// How many are ordered for a need of 100.
    pub(super) fn for_hundred(&self) -> i64 {
        NEED.saturating_add(self.spare.count)
    }

    /// The sum behind them.
    pub(super) fn for_hundred_working(&self) -> String {
        self.spare.working(NEED, &self.formats)
    }

    /// A word for where the rate comes from.
    pub(super) fn standing(&self) -> (&'static str, &'static str) {
        match self.basis {
            LossBasis::Usual(_) => ("", "Not counted yet"),
            LossBasis::Counted { .. } => ("done", "Learned"),
            LossBasis::Overruled(_) => ("off", "Fixed by the studio"),
        }
    }

    /// Since when counts speak.
    pub(super) fn since_words(&self) -> String {
        match (self.since, self.rule.counted_from) {
            (Some(first), None) => format!("since {}", self.formats.day(first)),
            (Some(_), Some(from)) => format!("from {} on", self.formats.day(from)),
            (None, Some(from)) => format!("nothing yet from {} on", self.formats.day(from)),
            (None, None) => "nothing yet".into(),
        }
    }
}

/// The losses of these materials, in their order, in three reads however many there are.
pub(super) async fn rates(
    connection: &mut SqliteConnection,
    studio: &Studio,
    ids: &[MaterialId],
) -> Result<Vec<Rate>, sqlx::Error> {
    let mut materials = price_list::store::materials(connection, ids).await?;
    let counts = store::counts(connection, ids).await?;
    let rules: Vec<RuleOf> = store::rules(connection, ids).await?;
    let rates = ids.iter().filter_map(|id| {
        let material = materials.remove(id)?;
        let rule = rules.iter().find(|of| of.material == *id).map(|of| of.rule).unwrap_or_default();
        let own: Vec<SupplierCounts> =
            counts.iter().filter(|counts| counts.tally.material == *id).cloned().collect();
        Some(Rate::of(material, rule, &own, studio))
    });
    Ok(rates.collect())
}
