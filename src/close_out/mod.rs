//! Close-out (C11): what an event was quoted, planned and did cost, by kind, with price and usage variance; hours; what is
//! left; what to change in the recipes. And the season by month. May import every stage up to `accounts`.
//!
//! # Invariants
//! - What the book knows is computed: orders, answers, counts, left-overs, stock, returns, invoices. Only hours and costs that
//!   stand nowhere else are typed; each save is a row of its own, an undo saves an earlier one again.
//! - Price and usage variance add up to actual − planned to the minor unit, for each line and so for every sum.
//! - What is not known stands as planned and is named; it is never left out silently.
//! - A closing freezes its figures as JSON. Opening the event again is a new row.

pub mod chart;
pub mod figures;
pub mod forms;
pub mod labour;
pub mod materials;
pub mod pages;
pub mod proposals;
pub mod reckoning;
pub mod season;
pub mod store;
pub mod variance;

use serde::{Deserialize, Serialize};

use crate::ground::choice::choices;
use crate::ground::dates::Day;
use crate::ground::ids::RecipeId;
use crate::ground::money::Money;
use crate::price_list::{Material, MaterialKind};

choices! {
    /// What a cost is for.
    Kind {
        /// Cut flowers.
        Flowers "flowers" "Flowers"
        /// Leaves and branches.
        Foliage "foliage" "Foliage"
        /// Vessels, stands, candles that stay with the client.
        HardGoods "hard_goods" "Hard goods"
        /// Mechanics and sundries.
        Sundries "sundries" "Mechanics and sundries"
        /// Wear of what is lent, and what did not come back whole.
        Hire "hire" "Hire and breakage"
        /// Hours.
        Labour "labour" "Labour"
        /// What wholesalers take for delivering.
        Wholesale "wholesale" "Wholesale delivery"
        /// Petrol, tolls, parking.
        Travel "travel" "Travel"
        /// Extra hands, paid by the job.
        Help "help" "Extra help"
        /// Venue's and other fees.
        Fees "fees" "Fees"
        /// Anything else.
        Other "other" "Other"
    }
}

impl Kind {
    /// The kind of a material's cost.
    #[must_use]
    pub fn of(material: &Material) -> Kind {
        match material.kind {
            MaterialKind::Flower => Kind::Flowers,
            MaterialKind::Foliage => Kind::Foliage,
            _ if material.loaned => Kind::Hire,
            MaterialKind::Vessel | MaterialKind::Stand | MaterialKind::Candle => Kind::HardGoods,
            MaterialKind::Mechanics | MaterialKind::Sundry => Kind::Sundries,
        }
    }

    /// Whether it is cut and wilts.
    #[must_use]
    pub fn is_fresh(self) -> bool {
        matches!(self, Kind::Flowers | Kind::Foliage)
    }
}

choices! {
    /// The work of an event.
    Task {
        /// Strip, re-cut, stand in water.
        Condition "condition" "Conditioning"
        /// At the bench.
        Make "make" "Making"
        /// Into the van.
        Load "load" "Loading"
        /// There and back.
        Drive "drive" "Driving"
        /// At the venue.
        SetUp "set_up" "Setting up"
        /// Down again.
        Strike "strike" "Striking"
    }
}

choices! {
    /// What was paid beside goods and hours.
    CostFor {
        /// Petrol, tolls, parking.
        Travel "travel" "Petrol, tolls, parking"
        /// Extra hands, paid by the job.
        Help "help" "Extra help"
        /// Venue's and other fees.
        Fees "fees" "Fees"
        /// Anything else.
        Other "other" "Other"
    }
}

impl CostFor {
    /// The kind it is summed under.
    #[must_use]
    pub fn kind(self) -> Kind {
        match self {
            CostFor::Travel => Kind::Travel,
            CostFor::Help => Kind::Help,
            CostFor::Fees => Kind::Fees,
            CostFor::Other => Kind::Other,
        }
    }
}

/// What was typed about an event.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Typed {
    /// Counts saves; 0 where nothing was typed.
    pub version: i64,
    /// Hours that were worked.
    pub hours: Vec<Hours>,
    /// Costs that stand nowhere else.
    pub costs: Vec<OtherCost>,
}

/// Hours of one person or several at one task.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hours {
    /// At what.
    pub task: Task,
    /// For which pieces, where that was said.
    pub recipe: Option<RecipeId>,
    /// Who, in words.
    pub who: String,
    /// How long.
    pub minutes: i64,
    /// For how much an hour; empty is the studio's rate.
    pub rate: Option<Money>,
}

/// A cost that stands nowhere else.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherCost {
    /// What it was.
    pub what: String,
    /// For what.
    pub kind: CostFor,
    /// What was reckoned with.
    pub planned: Money,
    /// What it came to.
    pub amount: Money,
}

/// That an event was closed or opened again: the latest row of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Closing {
    /// Which row.
    pub id: i64,
    /// When.
    pub on: Day,
    /// The figures as they were, unless it was opened again since.
    pub figures: Option<figures::Figures>,
}

/// The share of a whole in parts per million, for pages.
#[must_use]
pub fn per_million(of: Money, whole: Money) -> Option<i64> {
    let share = (whole > Money::ZERO)
        .then(|| of.decimal() * rust_decimal::Decimal::from(1_000_000) / whole.decimal())?;
    i64::try_from(share.round()).ok()
}

/// Stems of an event's flowers and foliage.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stems {
    /// Bought for it, with its part of what was over, and taken from stock.
    pub bought: i64,
    /// Dead or broken when they came.
    pub lost: i64,
    /// Lost at the bench.
    pub bench: i64,
    /// Left over and thrown away.
    pub thrown: i64,
}

impl Stems {
    /// What was wasted.
    #[must_use]
    pub fn wasted(&self) -> i64 {
        self.lost.saturating_add(self.bench).saturating_add(self.thrown)
    }

    /// What was used: bought less wasted.
    #[must_use]
    pub fn used(&self) -> i64 {
        self.bought.saturating_sub(self.wasted()).max(0)
    }
}
