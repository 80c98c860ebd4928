//! Which pieces lack what is missing, and how many of them that is about.

use std::cmp::Reverse;

use rust_decimal::Decimal;

use super::PartNeed;
use crate::events::{Event, Piece};
use crate::ground::ids::{PieceId, RecipeId};
use crate::ground::largest_remainder::{split, split_by};
use crate::recipes::explosion::{Need, Wanted, need};
use crate::stem_order::weekend::Weekend;

/// A piece that lacks something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Touched {
    /// Which.
    pub piece: PieceId,
    /// What it is.
    pub recipe: RecipeId,
    /// That recipe's name.
    pub name: String,
    /// Where it stands.
    pub place: String,
    /// How many are made.
    pub count: i64,
    /// Whole stems that all of them need.
    pub need: i64,
    /// Whole stems that are missing.
    pub missing: i64,
}

impl Touched {
    /// About how many of them cannot be made as designed: missing × count ÷ need, rounded up.
    ///
    /// ```
    /// use trug::ground::ids::{PieceId, RecipeId};
    /// use trug::stem_order::receiving::shortage::Touched;
    /// let low = Touched { piece: PieceId(1), recipe: RecipeId(1), name: "Low arrangement".into(),
    ///     place: "Long room".into(), count: 14, need: 84, missing: 6 };
    /// assert_eq!(low.about(), 1);
    /// assert_eq!(low.words(), "Low arrangement × 14, Long room: 6 of 84 short, about 1 piece");
    /// ```
    #[must_use]
    pub fn about(&self) -> i64 {
        if self.need <= 0 {
            return self.count;
        }
        let exact = i128::from(self.missing) * i128::from(self.count);
        let about = (exact + i128::from(self.need) - 1) / i128::from(self.need);
        i64::try_from(about).unwrap_or(self.count).min(self.count)
    }

    /// `Low arrangement × 14, Long room: 6 of 84 short, about 1 piece`.
    #[must_use]
    pub fn words(&self) -> String {
        let (about, pieces) = (self.about(), if self.about() == 1 { "piece" } else { "pieces" });
        format!(
            "{} × {}, {}: {} of {} short, about {about} {pieces}",
            self.name, self.count, self.place, self.missing, self.need
        )
    }
}

/// The pieces of an event that lack what is missing, worst first. What is missing of a part is split over the pieces
/// that call for it, in proportion to what each needs.
pub(super) fn touched(
    weekend: &Weekend,
    event: &Event,
    pieces: &[Piece],
    lacks: &[(&PartNeed<'_>, i64)],
) -> Vec<Touched> {
    let mut touched: Vec<Touched> = pieces
        .iter()
        .map(|piece| Touched {
            piece: piece.id,
            recipe: piece.recipe_id,
            name: piece.recipe.clone(),
            place: piece.place.clone(),
            count: event.count_of(piece).unwrap_or(0),
            need: 0,
            missing: 0,
        })
        .collect();
    let called: Vec<_> = touched
        .iter()
        .map(|piece| need(&weekend.book, &[(piece.recipe, piece.count)]).unwrap_or_default())
        .collect();
    for (part, missing) in lacks {
        let wanted = Wanted { material: part.need.material, substitutes: part.part.substitutes.clone() };
        let exact: Vec<Decimal> = called
            .iter()
            .map(|needs| needs.get(&wanted).map_or(Decimal::ZERO, |need| stems_of(need, part)))
            .collect();
        if exact.iter().all(Decimal::is_zero) {
            continue;
        }
        let whole = split(part.stems, &exact);
        let weights: Vec<u64> = whole.iter().map(|stems| u64::try_from(*stems).unwrap_or(0)).collect();
        for ((piece, whole), missing) in touched.iter_mut().zip(whole).zip(split_by(*missing, &weights)) {
            piece.need += whole;
            piece.missing += missing;
        }
    }
    touched.retain(|piece| piece.missing > 0);
    let share = |piece: &Touched| i128::from(piece.missing) * 1_000_000 / i128::from(piece.need.max(1));
    touched.sort_by_key(|piece| Reverse((share(piece), piece.missing)));
    touched
}

/// What a piece needs as stems; its cut pieces by their share of the part's length.
fn stems_of(need: &Need, part: &PartNeed<'_>) -> Decimal {
    let length =
        |need: &Need| need.cuts.iter().map(|(length, count)| length.decimal() * *count).sum::<Decimal>();
    let whole = &part.part.need;
    let cut = part.part.exact - whole.count - whole.once;
    let share = length(need).checked_div(length(whole)).unwrap_or_default();
    need.count + need.once + share * cut
}
