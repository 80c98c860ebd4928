//! A placed order as plain text for a message: short aligned lines that stay aligned in any mail program's fixed type
//! and readable in any other. Greeting and signature are the writer's own.
//!
//! May import `ground` and the room's own types.

use super::{PlacedDelivery, PlacedLine, PlacedOrder};
use crate::ground::formats::Formats;

/// The longest line.
const WIDTH: usize = 72;
/// Width of a column of amounts.
const AMOUNT: usize = 10;
/// Between words that stay on one line; a plain space when all is wrapped.
const KEPT: &str = "\u{a0}";
/// Width of what is before the amounts.
const WORDS: usize = WIDTH - 2 * AMOUNT;
/// Width of the count of packs with the sign behind it.
const PACKS: usize = 8;

/// The order's text, ending with a line end.
pub(super) fn message(order: &PlacedOrder, formats: Formats) -> String {
    let mut lines = vec![format!("Order N° {}, {}", order.number, formats.weekday(order.placed_on))];
    lines.extend(wrapped(&format!("To {}", order.supplier), WIDTH, 0));
    if !order.account.is_empty() {
        lines.extend(wrapped(&format!("Our account: {}", order.account), WIDTH, 0));
    }
    for delivery in &order.deliveries {
        lines.push(String::new());
        lines.extend(delivery_lines(delivery, formats));
    }
    if order.deliveries.len() > 1 {
        lines.push(String::new());
        lines.push(row("Sum of all deliveries", "", &formats.money(order.total())));
    }
    for paragraph in order.note.lines() {
        lines.push(String::new());
        lines.extend(wrapped(paragraph, WIDTH, 0));
    }
    lines.extend(taken_back(order));
    lines.iter().map(|line| line.replace(KEPT, " ").trim_end().to_owned() + "\n").collect()
}

fn delivery_lines(delivery: &PlacedDelivery, formats: Formats) -> Vec<String> {
    let mut lines = vec![
        format!("For delivery on {}", formats.weekday(delivery.day)),
        row("  Packs", "a pack", "amount"),
        "-".repeat(WIDTH),
    ];
    for line in &delivery.lines {
        lines.extend(line_rows(line, formats));
    }
    lines.push("-".repeat(WIDTH));
    lines.push(row("Goods", "", &formats.amount(delivery.goods())));
    lines.push(row("Delivery", "", &formats.amount(delivery.fee)));
    lines.push(row("Sum", "", &formats.money(delivery.goods() + delivery.fee)));
    lines
}

/// A line of the order; a long name goes on below, the amounts stand on the first row.
fn line_rows(line: &PlacedLine, formats: Formats) -> Vec<String> {
    let looks = if line.looks.is_empty() { String::new() } else { format!(", {}", line.looks) };
    let pack = format!("{} of {}", line.pack_name, line.pack_size).replace(' ', KEPT);
    let words = format!("{}{looks}, {pack}", line.name);
    let mut rows = wrapped(&words, WORDS - 1, PACKS).into_iter();
    let first = rows.next().unwrap_or_default();
    let packs = format!("{:>5} x ", line.packs);
    let first = format!("{packs:<PACKS$}{}", first.trim_start());
    let first = row(&first, &formats.amount(line.price), &formats.amount(line.goods()));
    std::iter::once(first).chain(rows).collect()
}

/// What the studio took back since, so that the message can be sent again.
fn taken_back(order: &PlacedOrder) -> Vec<String> {
    let backs = order.lines().filter_map(|line| Some((line, line.left_after_taking_back()?)));
    let mut lines: Vec<String> = backs
        .flat_map(|(line, left)| {
            let (name, pack) = (&line.name, &line.pack_name);
            let words =
                format!("{name}, {pack} of {}: {left} of {} packs are left", line.pack_size, line.packs);
            wrapped(&words, WIDTH, 2)
        })
        .collect();
    if !lines.is_empty() {
        lines.splice(0..0, [String::new(), "Taken back since".to_owned()]);
    }
    lines
}

/// Words on the left, amounts on the right; where both do not fit, the amounts stand below.
fn row(words: &str, price: &str, amount: &str) -> String {
    let amounts =
        if price.is_empty() { amount.to_owned() } else { format!("{price:>AMOUNT$}{amount:>AMOUNT$}") };
    let room = WIDTH.saturating_sub(amounts.chars().count());
    if words.chars().count() < room {
        return format!("{words:<room$}{amounts}");
    }
    format!("{words}\n{amounts:>WIDTH$}")
}

/// Lines of at most so many letters, each after so many spaces. A word that is longer than a line is cut; a no-break space
/// holds words together.
fn wrapped(text: &str, width: usize, indent: usize) -> Vec<String> {
    let room = width - indent;
    let mut lines: Vec<String> = Vec::new();
    let words = text.split(|c: char| c.is_whitespace() && c != '\u{a0}').filter(|word| !word.is_empty());
    for word in words {
        let letters: Vec<char> = word.chars().collect();
        for part in letters.chunks(room) {
            let part: String = part.iter().collect();
            match lines.last_mut() {
                Some(line) if line.chars().count() + 1 + part.chars().count() <= room => {
                    line.push(' ');
                    line.push_str(&part);
                }
                _ => lines.push(part),
            }
        }
    }
    lines.iter().map(|line| " ".repeat(indent) + line).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::stem_order::placing::AnswerKind;
    use crate::stem_order::samples::{answered, placed_line, placed_order};
    use crate::studio::Studio;

    #[test]
    fn an_order_reads_in_any_mail() {
        let mut order = placed_order(vec![placed_line(10, &[(1, 60)])]);
        order.note = "Ring the bell at the side gate.".into();
        let text = message(&order, Studio::new_book().formats);
        let expected = "\
Order N° 12, Sat 9 May 2026
To Alder Wholesale
Our account: A-17

For delivery on Thu 14 May 2026
  Packs                                                 a pack    amount
------------------------------------------------------------------------
   10 x Material 1, bunch of 10                           5.00     50.00
------------------------------------------------------------------------
Goods                                                              50.00
Delivery                                                           15.00
Sum                                                               €65.00

Ring the bell at the side gate.
";
        assert_eq!(text, expected);
    }

    #[test]
    fn what_was_taken_back_is_said() {
        let order = placed_order(vec![answered(placed_line(10, &[(1, 60)]), AnswerKind::Cancelled, 7, 500)]);
        let text = message(&order, Studio::new_book().formats);
        assert!(
            text.ends_with("\nTaken back since\n  Material 1, bunch of 10: 7 of 10 packs are left\n"),
            "{text}"
        );
    }

    proptest! {
        #[test]
        fn no_line_is_longer_than_72(
            names in prop::collection::vec("[A-Za-zé ]{1,40}[a-z]{0,90}", 1..4), packs in 1_i64..99_999, note in "[a-z ]{0,200}",
        ) {
            let mut order = placed_order(names.iter().map(|_| placed_line(packs, &[(1, 1)])).collect());
            for (line, name) in order.deliveries[0].lines.iter_mut().zip(&names) {
                line.name.clone_from(name);
            }
            order.note = note;
            for line in message(&order, Studio::new_book().formats).lines() {
                prop_assert!(line.chars().count() <= 72, "{}", line);
            }
        }
    }
}
