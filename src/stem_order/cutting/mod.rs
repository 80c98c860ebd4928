//! The cutting list: how many stems of foliage, or rolls of ribbon, wire and tape, the order's cut pieces need.
//!
//! Pieces of all lengths from one material are pooled and laid out together on stock of one usable length. This is the
//! one-dimensional cutting-stock problem, and the answer is the fewest stock pieces in whole numbers, *proven*: a layout
//! is shown together with a lower bound that no layout can beat, and the two meet.
//!
//! The way there, each step only if the one before left a gap:
//! 1. two greedy layouts (`greedy`) against the bound from total length;
//! 2. the Gilmore-Gomory bound (`relaxation`): a price for each length such that no stock piece holds more than a stock
//!    piece's worth. Floating point proposes the prices; the bound is recomputed from them in integers, so it always holds;
//! 3. rounding that relaxation down and laying out the rest again (`rounding`);
//! 4. a search through the patterns whose waste the bound still affords (`search`), limited by a number of nodes.
//!
//! Source: P. C. Gilmore and R. E. Gomory, "A linear programming approach to the cutting-stock problem", Operations
//! Research 9 (1961). The safe bound from unsafe prices: A. A. Farley, Operations Research 38 (1990).
//!
//! May import: nothing of the house. Lengths are whole numbers of one unit (the app uses micrometres).

mod effort;
mod greedy;
mod job;
mod knapsack;
mod plan;
mod relaxation;
mod rounding;
mod search;

use effort::Effort;
use job::Job;
use plan::Plan;

/// Search nodes that [`lay_out`] may spend: some tenths of a second where everything else has failed.
pub const DEFAULT_NODES: u64 = 400_000;

/// More pieces than this in one layout are refused.
pub const MOST_PIECES: u64 = 1_000_000_000;

/// More different lengths than this in one layout are refused.
pub const MOST_LENGTHS: usize = 1_000;

/// A layout of all demanded pieces on stock pieces of one length.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    /// Stock pieces used: the sum of the patterns' times.
    pub stock_pieces: u64,
    /// The cutting list, the most repeated pattern first.
    pub patterns: Vec<Pattern>,
    /// No layout can use fewer stock pieces than this.
    pub lower_bound: u64,
    /// Whether `stock_pieces` is the least possible, that is, equal to `lower_bound`.
    pub proven: bool,
}

/// One way to cut a stock piece, and how many stock pieces are cut so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pattern {
    /// Stock pieces cut by this pattern.
    pub times: u64,
    /// Piece length and how many of it from each stock piece, longest first.
    pub cuts: Vec<(i64, u64)>,
    /// What is left of each stock piece, in the unit of the lengths.
    pub waste: i64,
}

/// Why a layout is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CuttingError {
    /// The stock has no usable length.
    #[error("a stock piece of length {0} cannot be cut")]
    StockNotPositive(i64),
    /// A piece of no length.
    #[error("a piece of length {0} cannot be cut")]
    PieceNotPositive(i64),
    /// A piece that no stock piece can yield.
    #[error("a piece of length {length} is longer than the stock piece of {stock_length}")]
    PieceTooLong {
        /// The piece's length.
        length: i64,
        /// The stock's usable length.
        stock_length: i64,
    },
    /// More than [`MOST_PIECES`].
    #[error("{0} pieces are too many to lay out")]
    TooManyPieces(u64),
    /// More than [`MOST_LENGTHS`].
    #[error("{0} different lengths are too many to lay out")]
    TooManyLengths(usize),
}

/// Lays out `pieces` (length and count) on the fewest stock pieces of `stock_length`.
///
/// All lengths are whole numbers of one unit. Exactly the demanded pieces are laid out, none more. Equal lengths may be
/// listed more than once; counts of zero are ignored. The same input always gives the same layout, in whatever order
/// the pieces are listed. Among the layouts of equal stock it met, the one with the fewest patterns is taken.
///
/// ```
/// use trug::stem_order::cutting::lay_out;
/// // Foliage with 27 usable inches: 40 pieces of 10 in and 60 of 7 in, in micrometres.
/// let inch = 25_400;
/// let layout = lay_out(27 * inch, &[(10 * inch, 40), (7 * inch, 60)])?;
/// assert_eq!((layout.stock_pieces, layout.proven), (34, true)); // separately: 20 + 20
/// assert_eq!(layout.patterns[0].cuts, [(10 * inch, 2), (7 * inch, 1)]);
/// # Ok::<(), trug::stem_order::cutting::CuttingError>(())
/// ```
///
/// # Errors
/// Lengths that are not positive, a piece longer than the stock (named), too many pieces or too many lengths.
pub fn lay_out(stock_length: i64, pieces: &[(i64, u64)]) -> Result<Layout, CuttingError> {
    lay_out_within(stock_length, pieces, DEFAULT_NODES)
}

/// As [`lay_out`], spending at most about `nodes` search nodes. What is not proven by then says so: `proven` is false
/// and `lower_bound` tells how far from the optimum the layout can be.
///
/// # Errors
/// As [`lay_out`].
pub fn lay_out_within(stock_length: i64, pieces: &[(i64, u64)], nodes: u64) -> Result<Layout, CuttingError> {
    let job = Job::read(stock_length, pieces)?;
    let (plan, lower_bound) = fewest(&job, nodes);
    Ok(job.layout(&plan, lower_bound))
}

/// The best plan found and the best bound proven. The search has as many nodes as everything before it.
fn fewest(job: &Job, nodes: u64) -> (Plan, u32) {
    let mut effort = Effort::of(nodes);
    let mut best = greedy::best(job, &job.demand, &mut effort);
    let bound = job.length_bound(&job.demand);
    if best.stock() == bound {
        return (best, bound);
    }
    let relaxed = relaxation::relax(job, &job.demand, &mut effort);
    let bound = bound.max(relaxed.bound);
    if best.stock() > bound {
        rounding::improve(job, &relaxed, bound, &mut best, &mut effort);
    }
    search::close(job, &relaxed, bound, best, nodes)
}

#[cfg(test)]
mod tests;
