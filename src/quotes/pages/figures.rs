//! The figures beside each row of the grid, ready to be shown.

use crate::ground::formats::Formats;
use crate::ground::money::Money;
use crate::quotes::draft::Row;
use crate::quotes::pricing::{Priced, PricedLine};
use crate::quotes::words;
use crate::studio::Studio;

/// What stands beside a row.
#[derive(Debug, Clone, Default)]
pub(super) struct Figures {
    /// The computed price, with the sum behind it.
    pub computed: Option<(String, String)>,
    /// Whether a price is typed over it.
    pub typed: bool,
    /// Why there is no computed price.
    pub missing: Vec<String>,
    /// What is left of it.
    pub margin: Option<String>,
    /// What the line comes to, with the sum behind it.
    pub line: Option<(String, String)>,
    /// What is still open, if the line is in no total.
    pub open: Option<String>,
}

/// The figures of a row; none where nothing could be read.
pub(super) fn of_row(priced: &Priced, row: Row, studio: &Studio) -> Option<Figures> {
    let line = priced.lines.iter().find(|line| line.line.row == row)?;
    let f = &studio.formats;
    let computed = line.computed.as_ref().filter(|_| line.missing.is_empty());
    Some(Figures {
        computed: computed.map(|computed| (f.money(computed.price), words::working(computed, studio))),
        typed: line.line.typed.is_some(),
        missing: line.missing.clone(),
        margin: line.margin.map(|margin| words::margin(&margin, f)),
        line: line
            .total
            .map(|total| (f.money(total.net()), line_working(line, total.full, total.discount, *f))),
        open: open(line),
    })
}

fn open(line: &PricedLine) -> Option<String> {
    if line.line.made.count.is_none() {
        return Some(format!("{} Not in the total.", line.line.made.words));
    }
    line.price.is_none().then(|| "Not in the total".to_owned())
}

fn line_working(line: &PricedLine, full: Money, discount: Money, f: Formats) -> String {
    let price = f.money(line.price.unwrap_or_default());
    let count = line.line.made.count.unwrap_or_default();
    let sum = format!("{count} × {price} = {}", f.money(full));
    let sum = if discount.is_zero() { sum } else { format!("{sum}, less {}", f.money(discount)) };
    let counted = &line.line.made.words;
    if counted.ends_with("in all") || line.line.recipe.is_none() { sum } else { format!("{counted}; {sum}") }
}
