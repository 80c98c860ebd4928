//! What there is to choose in a quote: for each counted piece the recipes of its set with their prices, and leaving it
//! out where that is allowed.
//!
//! A row of the quote is a group of its own. Rows whose recipes have something that is bought once an event are chosen
//! together, those of one set or, in no set, of one recipe, since their price depends on how many are made alike. So what
//! a way promises is what the quote comes to once it is taken.
//!
//! What a piece is worth: its importance × what the reference recipe of its set comes to (that of a worth nearest 100 %), in
//! whole hundreds of minor units rounded up × the worth of the recipe in per cent. So a piece counts by its size in the
//! quote, and "lush" pays where it adds more to the look than to the price.
//!
//! May import: plain values, the quote's draft and prices, `recipes::cost`.

use std::collections::HashMap;

use super::{Alternative, Wish};
use crate::ground::ids::{PieceId, RecipeId};
use crate::ground::money::Money;
use crate::quotes::draft::Draft;
use crate::quotes::pricing::{Priced, PricedLine};
use crate::quotes::totals::line_amount;
use crate::recipes::cost::{Costing, Use};

/// So many rows of a group are left out in every combination.
const MOST_LEFT_OUT: usize = 6;

/// The worth of a recipe that is in no set, in per cent.
pub const AS_DESIGNED: i64 = 100;

/// Rows that are chosen together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The rows, by their place among the draft's lines.
    pub rows: Vec<Row>,
    /// How they may be made; the first is as they stand.
    pub ways: Vec<Way>,
}

/// A row of the quote in which there is something to choose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its place among the draft's lines.
    pub line: usize,
    /// Which piece.
    pub piece: PieceId,
    /// How many.
    pub count: i64,
    /// Importance × size.
    pub weight: i64,
}

/// By what a row is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// As the quote has them.
    AsTheyStand,
    /// By this recipe.
    Recipe(RecipeId),
    /// Not at all.
    LeftOut,
}

/// A way in which a group's rows can be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// One a row.
    pub rows: Vec<Making>,
}

/// How one row is made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Making {
    /// By what.
    pub by: By,
    /// What that is called.
    pub name: String,
    /// Per cent of the piece as designed; 0 left out.
    pub worth: i64,
    /// The price of one.
    pub price: Money,
}

impl Group {
    /// What a way is worth: the sum of weight × worth of its rows.
    #[must_use]
    pub fn worth(&self, way: &Way) -> i64 {
        let rows = self.rows.iter().zip(&way.rows);
        rows.map(|(row, made)| row.weight.saturating_mul(made.worth)).fold(0, i64::saturating_add)
    }
}

/// What can be chosen, and what of it has no price.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Offered {
    /// The groups, in the order of their first rows.
    pub groups: Vec<Group>,
    /// Recipes that cannot be offered, with the reason.
    pub unpriced: Vec<(String, String)>,
}

/// What there is to choose in a priced quote.
#[must_use]
pub fn offered(
    draft: &Draft,
    priced: &Priced,
    costing: &Costing,
    sets: &[Alternative],
    wishes: &[Wish],
) -> Offered {
    let market = Market { draft, costing, sets, wishes };
    let mut offered = Offered::default();
    for rows in market.together(priced) {
        offered.groups.extend(market.group(&rows, &mut offered.unpriced));
    }
    offered
}

/// A row with a count, a price and a recipe.
struct Counted<'a> {
    line: usize,
    piece: PieceId,
    recipe: RecipeId,
    count: i64,
    price: Money,
    priced: &'a PricedLine,
}

struct Market<'a> {
    draft: &'a Draft,
    costing: &'a Costing<'a>,
    sets: &'a [Alternative],
    wishes: &'a [Wish],
}

impl Market<'_> {
    /// The rows in which there is something to choose, those together that must be.
    fn together<'p>(&self, priced: &'p Priced) -> Vec<Vec<Counted<'p>>> {
        let mut groups: Vec<Vec<Counted>> = Vec::new();
        let mut shared: HashMap<Shared, usize> = HashMap::new();
        for row in priced.lines.iter().enumerate().filter_map(counted) {
            let Some(with) = self.shared(row.recipe) else {
                groups.push(vec![row]);
                continue;
            };
            let at = *shared.entry(with).or_insert(groups.len());
            match groups.get_mut(at) {
                Some(group) => group.push(row),
                None => groups.push(vec![row]),
            }
        }
        groups.retain(|rows| rows.iter().any(|row| self.is_open(row)));
        groups
    }

    /// Whether there is something to choose for a row.
    fn is_open(&self, row: &Counted) -> bool {
        self.set_of(row.recipe).len() > 1 || self.wish(row.piece).may_leave_out
    }

    /// With which other rows a recipe's price is bound together, if with any.
    fn shared(&self, recipe: RecipeId) -> Option<Shared> {
        let set = self.set_of(recipe);
        let once = set.iter().map(|one| one.recipe).chain([recipe]).any(|one| self.bought_once(one));
        once.then(|| {
            set.first().map_or(Shared::Recipe(recipe), |one| Shared::Set(one.set.to_ascii_lowercase()))
        })
    }

    fn set_of(&self, recipe: RecipeId) -> Vec<&Alternative> {
        let own = self.sets.iter().find(|one| one.recipe == recipe);
        let Some(own) = own else { return Vec::new() };
        self.sets.iter().filter(|one| one.set.eq_ignore_ascii_case(&own.set)).collect()
    }

    fn wish(&self, piece: PieceId) -> Wish {
        let said = self.wishes.iter().find(|wish| wish.piece == piece);
        said.copied().unwrap_or_else(|| Wish::usual(piece))
    }

    /// Whether anything in a recipe is bought once an event.
    fn bought_once(&self, recipe: RecipeId) -> bool {
        self.costing.piece(recipe, 1).is_ok_and(|price| {
            let mut uses = price.lines.iter().flat_map(|line| &line.uses);
            uses.any(|used| matches!(used, Use::OncePerEvent { .. }))
        })
    }

    fn group(&self, rows: &[Counted<'_>], unpriced: &mut Vec<(String, String)>) -> Option<Group> {
        let set = self.set_of(rows.first()?.recipe);
        let out = self.left_out(rows);
        let mut ways: Vec<Way> = out.iter().filter_map(|out| self.as_they_stand(rows, out)).collect();
        for one in set.iter().filter(|one| rows.iter().any(|row| row.recipe != one.recipe)) {
            // Where every row is left out, no recipe makes any.
            for out in out.iter().filter(|out| out.contains(&false)) {
                match self.by_recipe(one, rows, out) {
                    Ok(way) => ways.push(way),
                    Err(why) => {
                        unpriced.push((one.name.clone(), why));
                        break;
                    }
                }
            }
        }
        let batch = rows.iter().map(|row| row.count).fold(0, i64::saturating_add);
        let reference = reference(&set).and_then(|one| self.price(one.recipe, batch).ok());
        let rows = rows.iter().map(|row| self.row(row, reference)).collect();
        (ways.len() > 1).then_some(Group { rows, ways })
    }

    /// Which rows may be left out together: none first. Every combination of up to [`MOST_LEFT_OUT`] rows, of more all or
    /// none.
    fn left_out(&self, rows: &[Counted<'_>]) -> Vec<Vec<bool>> {
        let may: Vec<usize> = (0..rows.len()).filter(|at| self.wish(rows[*at].piece).may_leave_out).collect();
        let mask = |out: &dyn Fn(usize) -> bool| -> Vec<bool> {
            (0..rows.len()).map(|at| may.iter().position(|one| *one == at).is_some_and(out)).collect()
        };
        if may.len() > MOST_LEFT_OUT {
            return vec![mask(&|_| false), mask(&|_| true)];
        }
        (0_u32..1 << may.len()).map(|bits| mask(&|at| (bits >> at) & 1 == 1)).collect()
    }

    /// The rows as they are, some left out: then those of the same recipe bear what is bought once among fewer.
    fn as_they_stand(&self, rows: &[Counted<'_>], out: &[bool]) -> Option<Way> {
        let gone = |recipe: RecipeId| {
            let gone = rows.iter().zip(out).filter(|(row, out)| **out && row.recipe == recipe);
            gone.map(|(row, _)| row.count).fold(0, i64::saturating_add)
        };
        let mut made = Vec::with_capacity(rows.len());
        for (row, out) in rows.iter().zip(out) {
            let (recipe, fewer) = (row.recipe, gone(row.recipe));
            let price = if *out || fewer == 0 || row.priced.line.typed.is_some() {
                row.price
            } else {
                self.price(recipe, self.draft.batch(recipe) - fewer).ok()?
            };
            let known = self.sets.iter().find(|one| one.recipe == recipe);
            let worth = known.map_or(AS_DESIGNED, |one| one.worth);
            let name = row.priced.line.name.clone();
            made.push(if *out { left_out() } else { Making { by: By::AsTheyStand, name, worth, price } });
        }
        Some(Way { rows: made })
    }

    /// All rows by one recipe, some left out.
    fn by_recipe(&self, one: &Alternative, rows: &[Counted<'_>], out: &[bool]) -> Result<Way, String> {
        let kept = rows.iter().zip(out).filter(|(_, out)| !**out).map(|(row, _)| row.count);
        let price = self.price(one.recipe, kept.fold(0, i64::saturating_add))?;
        let made = Making { by: By::Recipe(one.recipe), name: one.name.clone(), worth: one.worth, price };
        Ok(Way { rows: out.iter().map(|out| if *out { left_out() } else { made.clone() }).collect() })
    }

    fn price(&self, recipe: RecipeId, batch: i64) -> Result<Money, String> {
        let price = self.costing.piece(recipe, batch).map_err(|error| error.to_string())?;
        if price.lines.iter().any(|line| line.missing.is_some()) {
            return Err("something in it has no price that day".into());
        }
        Ok(price.price)
    }

    fn row(&self, row: &Counted<'_>, reference: Option<Money>) -> Row {
        let each = reference.unwrap_or(row.price);
        let full = line_amount(row.count.into(), each.decimal(), 1.into(), Money::ZERO, Money::ZERO);
        let size = full.minor().max(0) / 100 + 1;
        let weight = size.saturating_mul(self.wish(row.piece).importance);
        Row { line: row.line, piece: row.piece, count: row.count, weight }
    }
}

/// What binds the prices of rows together.
#[derive(Debug, PartialEq, Eq, Hash)]
enum Shared {
    Set(String),
    Recipe(RecipeId),
}

fn left_out() -> Making {
    Making { by: By::LeftOut, name: "Left out".into(), worth: 0, price: Money::ZERO }
}

fn counted((line, priced): (usize, &PricedLine)) -> Option<Counted<'_>> {
    let of = &priced.line;
    priced.total?;
    Some(Counted {
        line,
        piece: of.piece?,
        recipe: of.recipe?,
        count: of.made.count?,
        price: priced.price?,
        priced,
    })
}

/// The recipe of a set whose worth is nearest to as designed; the first of several.
fn reference<'a>(set: &[&'a Alternative]) -> Option<&'a Alternative> {
    set.iter().min_by_key(|one| (one.worth - AS_DESIGNED).abs()).copied()
}

#[cfg(test)]
mod tests;
