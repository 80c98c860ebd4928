//! What there is to choose in a quote: for each counted piece the recipes of its set with their prices, and leaving it
//! out where that is allowed.
//!
//! A row of the quote is a group of its own. Rows of one set whose recipes have something that is bought once an event
//! are chosen together, since their price depends on how many are made alike.
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

/// By what the rows of a group are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// As the quote has them.
    AsTheyStand,
    /// All by this recipe.
    Recipe(RecipeId),
    /// Not at all.
    LeftOut,
}

/// A way in which a group's rows can be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// By what.
    pub by: By,
    /// What that is called.
    pub name: String,
    /// Per cent of the piece as designed; 0 left out.
    pub worth: i64,
    /// The price of one, a row each.
    pub prices: Vec<Money>,
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
        let mut shared: HashMap<&str, usize> = HashMap::new();
        for row in priced.lines.iter().enumerate().filter_map(counted) {
            let set = self.set_of(row.recipe);
            if set.len() < 2 && !self.wish(row.piece).may_leave_out {
                continue;
            }
            let Some(name) = set.first().map(|one| one.set.as_str()).filter(|_| self.bought_once(&set))
            else {
                groups.push(vec![row]);
                continue;
            };
            let at = *shared.entry(name).or_insert(groups.len());
            match groups.get_mut(at) {
                Some(group) => group.push(row),
                None => groups.push(vec![row]),
            }
        }
        groups
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

    /// Whether anything in the recipes of a set is bought once an event.
    fn bought_once(&self, set: &[&Alternative]) -> bool {
        set.iter().filter_map(|one| self.costing.piece(one.recipe, 1).ok()).any(|price| {
            let mut uses = price.lines.iter().flat_map(|line| &line.uses);
            uses.any(|used| matches!(used, Use::OncePerEvent { .. }))
        })
    }

    fn group(&self, rows: &[Counted<'_>], unpriced: &mut Vec<(String, String)>) -> Option<Group> {
        let set = self.set_of(rows.first()?.recipe);
        let batch = self.batch(rows, &set);
        let mut ways = vec![self.as_they_stand(rows)];
        for one in set.iter().filter(|one| rows.iter().any(|row| row.recipe != one.recipe)) {
            match self.price(one.recipe, batch) {
                Ok(price) => ways.push(Way {
                    by: By::Recipe(one.recipe),
                    name: one.name.clone(),
                    worth: one.worth,
                    prices: vec![price; rows.len()],
                }),
                Err(why) => unpriced.push((one.name.clone(), why)),
            }
        }
        if rows.iter().all(|row| self.wish(row.piece).may_leave_out) {
            let prices = vec![Money::ZERO; rows.len()];
            ways.push(Way { by: By::LeftOut, name: "Left out".into(), worth: 0, prices });
        }
        let reference = reference(&set).and_then(|one| self.price(one.recipe, batch).ok());
        let rows = rows.iter().map(|row| self.row(row, reference)).collect();
        (ways.len() > 1).then_some(Group { rows, ways })
    }

    /// The rows as they are, worth what they are worth on average.
    fn as_they_stand(&self, rows: &[Counted<'_>]) -> Way {
        let worth = |row: &Counted| {
            self.sets.iter().find(|one| one.recipe == row.recipe).map_or(AS_DESIGNED, |one| one.worth)
        };
        let (sum, count) = rows.iter().map(worth).fold((0, 0), |(sum, count), one| (sum + one, count + 1));
        let mut names: Vec<&str> = rows.iter().map(|row| row.priced.line.name.as_str()).collect();
        names.dedup();
        Way {
            by: By::AsTheyStand,
            name: names.join(", "),
            worth: sum / i64::max(count, 1),
            prices: rows.iter().map(|row| row.price).collect(),
        }
    }

    /// How many are made alike in the event: the group's rows where they are bound together, else the row's recipe
    /// does not care.
    fn batch(&self, rows: &[Counted<'_>], set: &[&Alternative]) -> i64 {
        if self.bought_once(set) {
            return rows.iter().map(|row| row.count).fold(0, i64::saturating_add);
        }
        rows.first().map_or(1, |row| self.draft.batch(row.recipe))
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
