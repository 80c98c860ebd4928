//! C4, the unit part: what one piece costs, by kind, and the price the studio's rules make of it. Plain values in, plain
//! values out; costs are decimals of the minor unit and stay unrounded, the price is rounded once, by the studio's step.
//! May import: `ground`, `recipes`, and the plain values of `price_list` and `studio`.

use std::collections::{BTreeMap, HashMap};

use rust_decimal::{Decimal, RoundingStrategy};

use super::explosion::{ExplosionError, made, wound_length};
use super::{Ingredient, Measure, RecipeBook};
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Share};
use crate::price_list::{CostKind, Material, UnitCost};
use crate::studio::{Labour, LabourRule, Markups, PriceRounding, RoundingDirection, Studio};

/// More of one part than this in a single piece is refused: beyond it a sum could leave the range of a decimal.
pub const MOST_PARTS: Decimal = Decimal::from_parts(10_000_000, 0, 0, false, 0);

/// Everything a price depends on, on one day.
#[derive(Debug, Clone, Copy)]
pub struct Costing<'a> {
    /// The recipes with their parts and materials.
    pub book: &'a RecipeBook,
    /// What one of each material costs that day.
    pub costs: &'a HashMap<MaterialId, UnitCost>,
    /// The share of fresh stems lost where a material says nothing of its own.
    pub usual_loss: Share,
    /// Price ÷ cost, by kind.
    pub markups: Markups,
    /// How labour enters the price.
    pub labour: Labour,
    /// To which step a price is brought.
    pub rounding: PriceRounding,
}

/// What one piece costs and what is asked for it. Amounts are minor units, unrounded but for `price`.
#[derive(Debug, Clone, PartialEq)]
pub struct PiecePrice {
    /// Flowers and foliage, with their loss.
    pub fresh: Decimal,
    /// Vessels, stands, candles that stay with the client.
    pub hard_goods: Decimal,
    /// Mechanics and sundries.
    pub sundries: Decimal,
    /// Loan fees. A fee stands for wear, washing and breakage: it counts as cost and is passed on without a mark-up,
    /// so that a loan neither flatters the margin nor lowers it.
    pub loan: Decimal,
    /// Minutes at the studio's rate.
    pub labour: Decimal,
    /// Labour as it enters the price: the same, or a share of the flowers' price.
    pub labour_asked: Decimal,
    /// Bench minutes of the piece and its parts.
    pub minutes: Decimal,
    /// The working, material by material: by kind, then by name.
    pub lines: Vec<CostLine>,
    /// Materials whose cost is not known and counts as nothing. Each one's line says why.
    pub unpriced: Vec<MaterialId>,
    /// The price before rounding.
    pub computed: Decimal,
    /// The price, by the studio's rounding rule.
    pub price: Money,
}

/// One material's share of a piece's cost: quantity × each ÷ (1 − loss).
#[derive(Debug, Clone, PartialEq)]
pub struct CostLine {
    /// Which material.
    pub material: MaterialId,
    /// To which part of the price it belongs.
    pub kind: CostKind,
    /// How the piece uses it.
    pub uses: Vec<Use>,
    /// Stems, pieces or rolls a piece, before loss.
    pub quantity: Decimal,
    /// What one costs, or its loan fee; nothing where that is not known.
    pub each: Decimal,
    /// The share lost; none but of what wilts.
    pub loss: Share,
    /// What the piece bears of it.
    pub cost: Decimal,
    /// Why the cost is not known, if so.
    pub missing: Option<Missing>,
}

/// One way in which a piece uses a material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// So many whole stems, pieces or rolls.
    Whole {
        /// How many.
        quantity: Decimal,
    },
    /// So many cut pieces, so many from each stem or roll.
    Cut {
        /// How many pieces.
        pieces: Decimal,
        /// How long each.
        length: Length,
        /// floor(usable length ÷ length); none where that is not known or nothing.
        from_one: Option<i64>,
    },
    /// So many for each so many pieces.
    OnePer {
        /// How many.
        quantity: Decimal,
        /// For how many pieces.
        per: i64,
    },
    /// So many an event, borne by all its pieces.
    OncePerEvent {
        /// How many.
        quantity: Decimal,
        /// By how many pieces.
        batch: i64,
    },
}

/// Why a material's cost is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// Nobody offers it that day.
    Price,
    /// It is cut to pieces, but its usable length is not known.
    UsableLength,
    /// A piece is longer than what can be cut from one.
    TooShort,
}

impl<'a> Costing<'a> {
    /// By the studio's settings.
    #[must_use]
    pub fn of(
        studio: &Studio,
        book: &'a RecipeBook,
        costs: &'a HashMap<MaterialId, UnitCost>,
    ) -> Costing<'a> {
        let (markups, labour, rounding) = (studio.markups, studio.labour, studio.rounding);
        Costing { book, costs, usual_loss: studio.loss, markups, labour, rounding }
    }

    /// The cost and price of one piece, priced as one of `batch` in its event (what is bought once an event is
    /// divided among them).
    ///
    /// Fresh stems are grossed up by their loss: quantity ÷ (1 − loss). A cut piece takes 1 ÷ floor(U ÷ L) of a stem or
    /// roll. Price = fresh × its mark-up + hard goods × theirs + sundries × theirs + loan fees + labour, where labour
    /// is minutes × rate or a share of the flowers' price; the cost of labour is minutes × rate always. Then the step.
    /// Law: the price never falls when a cost or a count rises.
    ///
    /// # Errors
    /// A recipe that is a part of itself, that is missing, or that holds more than [`MOST_PARTS`] of a part.
    pub fn piece(&self, recipe: RecipeId, batch: i64) -> Result<PiecePrice, ExplosionError> {
        let counts = made(self.book, &[(recipe, 1)])?;
        if let Some((recipe, _)) = counts.iter().find(|(_, count)| **count > MOST_PARTS) {
            return Err(ExplosionError::too_much(self.book, *recipe));
        }
        let lines = self.lines(&counts, batch.max(1));
        Ok(self.price(lines, self.minutes(&counts)))
    }

    fn minutes(&self, counts: &BTreeMap<RecipeId, Decimal>) -> Decimal {
        let of = |recipe: &RecipeId| self.book.recipes.get(recipe).map(|recipe| recipe.minutes.decimal());
        counts.iter().filter_map(|(recipe, count)| Some(of(recipe)? * *count)).sum()
    }

    fn lines(&self, counts: &BTreeMap<RecipeId, Decimal>, batch: i64) -> Vec<CostLine> {
        let mut uses: HashMap<MaterialId, Vec<Use>> = HashMap::new();
        for (recipe, count) in counts {
            let lines = self.book.recipes.get(recipe).map_or(&[][..], |recipe| &recipe.lines);
            for line in lines {
                let Ingredient::Material(id) = line.ingredient else { continue };
                let Some(material) = self.book.materials.get(&id) else { continue };
                join(uses.entry(id).or_default(), use_of(line.measure, *count, material, batch));
            }
        }
        let mut lines: Vec<(&Material, CostLine)> = uses
            .into_iter()
            .filter_map(|(id, uses)| Some((self.book.materials.get(&id)?, uses)))
            .map(|(material, uses)| (material, self.line(material, uses)))
            .collect();
        lines.sort_by(|(a, one), (b, other)| (one.kind, &a.name, a.id).cmp(&(other.kind, &b.name, b.id)));
        lines.into_iter().map(|(_, line)| line).collect()
    }

    fn line(&self, material: &Material, uses: Vec<Use>) -> CostLine {
        let kind = material.cost_kind();
        let loss =
            if kind == CostKind::Fresh { material.loss.unwrap_or(self.usual_loss) } else { Share::default() };
        let each = match kind {
            CostKind::Loan => Some(material.loan_fee.decimal()),
            _ => self.costs.get(&material.id).map(UnitCost::each),
        };
        let missing = missing(material, &uses).or(each.is_none().then_some(Missing::Price));
        let quantity = uses.iter().map(Use::quantity).sum::<Decimal>();
        let each = each.unwrap_or_default();
        let cost = if missing.is_some() { Decimal::ZERO } else { quantity * each / kept(loss) };
        CostLine { material: material.id, kind, uses, quantity, each, loss, cost, missing }
    }

    fn price(&self, lines: Vec<CostLine>, minutes: Decimal) -> PiecePrice {
        let of = |kind| lines.iter().filter(|line| line.kind == kind).map(|line| line.cost).sum::<Decimal>();
        let (fresh, hard_goods) = (of(CostKind::Fresh), of(CostKind::HardGoods));
        let (sundries, loan) = (of(CostKind::Sundries), of(CostKind::Loan));
        let fresh_asked = fresh * self.markups.fresh.decimal();
        let labour = minutes * self.labour.rate.decimal() / Decimal::from(60);
        let labour_asked = match self.labour.rule {
            LabourRule::Minutes => labour,
            LabourRule::Share => fresh_asked * self.labour.share.decimal(),
        };
        let computed = fresh_asked
            + hard_goods * self.markups.hard_goods.decimal()
            + sundries * self.markups.sundries.decimal()
            + loan
            + labour_asked;
        PiecePrice {
            fresh,
            hard_goods,
            sundries,
            loan,
            labour,
            labour_asked,
            minutes,
            unpriced: lines.iter().filter(|line| line.missing.is_some()).map(|line| line.material).collect(),
            lines,
            computed,
            price: stepped(computed, self.rounding),
        }
    }
}

impl PiecePrice {
    /// What the piece costs the studio: fresh + hard goods + sundries + loan fees + labour.
    #[must_use]
    pub fn cost(&self) -> Decimal {
        self.fresh + self.hard_goods + self.sundries + self.loan + self.labour
    }

    /// (price − cost) ÷ price; none where nothing is asked.
    #[must_use]
    pub fn margin_at(&self, price: Money) -> Option<Decimal> {
        (price > Money::ZERO).then(|| (price.decimal() - self.cost()) / price.decimal())
    }
}

impl Use {
    /// Stems, pieces or rolls a piece takes of it this way; nothing where that cannot be told.
    #[must_use]
    pub fn quantity(&self) -> Decimal {
        match *self {
            Use::Whole { quantity } => quantity,
            Use::Cut { pieces, from_one, .. } => {
                from_one.map_or(Decimal::ZERO, |from_one| pieces / Decimal::from(from_one))
            }
            Use::OnePer { quantity, per } => quantity / Decimal::from(per),
            Use::OncePerEvent { quantity, batch } => quantity / Decimal::from(batch),
        }
    }
}

/// Brings a price to the studio's step: up, or to the nearest with the half up. A step of nothing is one minor unit.
///
/// ```
/// use rust_decimal::Decimal;
/// use trug::ground::money::Money;
/// use trug::recipes::cost::stepped;
/// use trug::studio::{PriceRounding, RoundingDirection};
/// let to_half = |direction| PriceRounding { step: Money::from_minor(50), direction };
/// let computed = Decimal::new(41_201, 1); // 41.201
/// assert_eq!(stepped(computed, to_half(RoundingDirection::Up)), Money::from_minor(4_150));
/// assert_eq!(stepped(computed, to_half(RoundingDirection::Nearest)), Money::from_minor(4_100));
/// ```
#[must_use]
pub fn stepped(minor: Decimal, rounding: PriceRounding) -> Money {
    let step = rounding.step.max(Money::from_minor(1)).decimal();
    // Freed first of what a division of thirds leaves behind, so that 13.90 is not rounded up to 14.
    let steps = minor.round_dp(9) / step;
    let strategy = match rounding.direction {
        RoundingDirection::Up => RoundingStrategy::ToPositiveInfinity,
        RoundingDirection::Nearest => RoundingStrategy::MidpointAwayFromZero,
    };
    Money::rounded(steps.round_dp_with_strategy(0, strategy) * step)
}

/// The share that is kept. A loss beyond nine in ten, which the book refuses, counts as nine in ten.
fn kept(loss: Share) -> Decimal {
    (Decimal::ONE - loss.decimal()).max(Decimal::new(1, 1))
}

fn use_of(measure: Measure, count: Decimal, material: &Material, batch: i64) -> Use {
    match measure {
        Measure::Count { quantity } => Use::Whole { quantity: count * quantity.decimal() },
        Measure::Cut { quantity, length } => cut(count * quantity.decimal(), length, material),
        Measure::Wound { quantity, turns, diameter, ends } => {
            cut(count * quantity.decimal(), wound_length(turns, diameter, ends), material)
        }
        Measure::OnePer { quantity, per: Some(per) } => {
            Use::OnePer { quantity: count * quantity.decimal(), per: per.max(1) }
        }
        Measure::OnePer { quantity, per: None } => {
            Use::OncePerEvent { quantity: quantity.decimal().ceil(), batch }
        }
    }
}

fn cut(pieces: Decimal, length: Length, material: &Material) -> Use {
    let from_one = material.usable_length.map(|usable| usable.um() / length.um().max(1)).filter(|n| *n > 0);
    Use::Cut { pieces, length, from_one }
}

/// Adds a way of use to those of the same kind. What is bought once an event is bought once, however many lines ask.
fn join(uses: &mut Vec<Use>, more: Use) {
    for known in uses.iter_mut() {
        match (known, more) {
            (Use::Whole { quantity }, Use::Whole { quantity: more }) => return *quantity += more,
            (Use::Cut { pieces, length, .. }, Use::Cut { pieces: more, length: other, .. })
                if *length == other =>
            {
                return *pieces += more;
            }
            (Use::OnePer { quantity, per }, Use::OnePer { quantity: more, per: other }) if *per == other => {
                return *quantity += more;
            }
            (Use::OncePerEvent { quantity, .. }, Use::OncePerEvent { quantity: more, .. }) => {
                *quantity = (*quantity).max(more);
                return;
            }
            _ => {}
        }
    }
    uses.push(more);
}

fn missing(material: &Material, uses: &[Use]) -> Option<Missing> {
    let uncut = uses.iter().any(|way| matches!(way, Use::Cut { from_one: None, .. }));
    uncut.then_some(if material.usable_length.is_some() { Missing::TooShort } else { Missing::UsableLength })
}

#[cfg(test)]
pub(crate) mod tests;
