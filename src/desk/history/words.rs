//! What tables, records and columns are called on the history's pages. A table or column that nobody named here is called
//! by its own name, so that a new one reads well enough by itself. Plain words, no page and no book.

use crate::db::schema::{Table, quoted};

/// The kinds of records, by the name that begins theirs, as the filter lists them.
pub const KINDS: &[(&str, &str)] = &[
    ("event", "Event"),
    ("client", "Client"),
    ("recipe", "Recipe"),
    ("material", "Material"),
    ("supplier", "Supplier"),
    ("offer", "Offer"),
    ("placed_order", "Order"),
    ("stock_lot", "Lot in stock"),
    ("piece_set", "Set of pieces"),
    ("person", "Person"),
    ("settings", "Settings"),
    ("account-settings", "Invoicing settings"),
    ("shifts", "Shifts"),
    ("kit", "Kit"),
    ("crates-and-vans", "Crates and vans"),
    ("closed-days", "Closed days"),
    ("pails", "Pails and cooler"),
    ("temperatures", "Temperatures"),
    ("reminder-settings", "When the desk reminds"),
    ("reminders", "Reminders"),
    ("calendar", "Calendar"),
    ("backups", "Backups"),
];

/// What a kind of record is called.
#[must_use]
pub fn kind_words(kind: &str) -> String {
    let known = KINDS.iter().find(|(name, _)| *name == kind).map(|(_, words)| (*words).to_owned());
    known.unwrap_or_else(|| sentence_case(&kind.replace(['_', '-'], " ")))
}

/// The kind and number of a record's name: `event-12` is event 12, `kit` is the kit.
#[must_use]
pub fn parts_of(record: &str) -> (&str, Option<i64>) {
    match record.rsplit_once('-').and_then(|(kind, number)| Some((kind, number.parse().ok()?))) {
        Some((kind, number)) => (kind, Some(number)),
        None => (record, None),
    }
}

/// What a row of a table is called within its record; empty for the record's own row.
#[must_use]
pub fn part_words(table: &str) -> String {
    let words = match table {
        "quote" => "quote",
        "quote_line" => "line of the quote",
        "quote_charge" => "charge of the quote",
        "quote_instalment" | "event_instalment" | "usual_instalment" => "part of the payment",
        "quote_version" => "version sent",
        "quote_acceptance" => "acceptance",
        "quote_decline" => "decline",
        "event_work" => "crew and hours",
        "venue_temperature" => "venue's temperature",
        "loan_period" => "days of the loans",
        "loan_count" => "count of the loans",
        "loan_return" => "loan counted back",
        "pull_extra" => "extra on the pull list",
        "extra_travel" => "extra's weight",
        "bench_pin" => "pin in the bench plan",
        "piece_wish" => "piece's importance",
        "payment_plan" => "payment's own plan",
        "run_drive" => "drive",
        "recipe_line" | "piece_set_line" | "placed_line" => "line",
        "recipe_substitute" => "substitute",
        "recipe_travel" => "size and weight",
        "recipe_alternative" => "place in a set",
        "client_account" => "details for invoices",
        "offer_price" => "price",
        "loss_rule" => "losses' rule",
        "loan_charge" => "charge for a lost piece",
        "placed_share" => "event's share",
        "placed_line_answer" => "supplier's answer",
        "receipt_line" => "count of what came",
        "stock_change" => "what happened to the lot",
        "stock_reservation" => "reservation",
        "kit_travel" => "item's weight",
        "kit_item" => "item",
        "crate_kind" => "crate",
        "bench_rule" => "minutes of dressing",
        "shift_exception" => "day that is otherwise",
        "reminder_mark" => "reminder seen to",
        "close_out_save" => "saved close-out",
        "close_out_hours" => "hours worked",
        "close_out_cost" => "cost beside the flowers",
        _ => return table.replace('_', " "),
    };
    words.to_owned()
}

/// Columns that say nothing to people: keys, order, counts of saves, documents, what stands in the title.
#[must_use]
pub fn is_told(column: &str) -> bool {
    !matches!(
        column,
        "id" | "version"
            | "position"
            | "removed_at"
            | "once_key"
            | "recorded_at"
            | "document"
            | "figures"
            | "working"
            | "mark"
            | "quote_id"
            | "line_id"
            | "save_id"
            | "return_id"
            | "version_id"
            | "name_key"
    )
}

/// What a column is called.
#[must_use]
pub fn column_words(table: &str, column: &str) -> String {
    let words = match (table, column) {
        (_, "set_up_time") => "Set-up time",
        ("studio", "name") => "The studio's name",
        (_, "loss") => "Usual loss",
        (_, "count_rule") => "Counted",
        (_, "per_count" | "per_pieces") => "For each started so many",
        (_, "part_id") => "Part",
        (_, "preferred_supplier_id") => "Preferred supplier",
        (_, "delivery_weekdays") => "Delivers on",
        (_, "cutoff_days") => "Orders close so many days before",
        (_, "cutoff_time") => "Orders close at",
        (_, "fee_waived_over") => "No delivery fee over",
        (_, "holding_hours") => "Holds (hours)",
        (_, "holding_days") => "Can be stored (days)",
        (_, "vase_days") => "Vase life (days)",
        (_, "opening_days") => "Opens in (days)",
        (_, "hydrate_hours") => "Drinks for (hours)",
        (_, "conditioning_minutes") => "Conditioning (minutes)",
        (_, "cut_keeps_hours") => "Keeps once cut (hours)",
        (_, "storage_celsius" | "celsius") => "Temperature (°C)",
        ("recipe" | "run_drive" | "shift" | "shift_exception" | "close_out_hours", "minutes") => "Minutes",
        (_, "fresh_markup") => "Mark-up on flowers",
        (_, "hard_goods_markup") => "Mark-up on hard goods",
        (_, "sundries_markup") => "Mark-up on sundries",
        (_, "typed_price") => "Price",
        (_, "priced_on") => "Prices of",
        (_, "second_binding") => "Second binding below the heads",
        (_, "spare_per") => "One spare for each started",
        (_, "each" | "charge_each") => "Charged each",
        (_, "iban") => "IBAN",
        (_, "bic") => "BIC",
        (_, "legal_id") => "Number in the register",
        (_, "q10") => "Ageing for 10 degrees more",
        (_, "may_leave_out") => "May be left out",
        (_, "leaves_before") => "Leaves so many days before",
        (_, "returns_after") => "Returns so many days after",
        (_, "from_event_id") => "From",
        (_, "to_event_id") => "To",
        _ => "",
    };
    if !words.is_empty() {
        return words.to_owned();
    }
    let bare = ["_id", "_on", "_at"].iter().find_map(|ending| column.strip_suffix(ending));
    sentence_case(&bare.unwrap_or(column).replace('_', " "))
}

/// A code of a closed list as words: `per_table` is "per table".
#[must_use]
pub fn code_words(code: &str) -> String {
    code.replace('_', " ")
}

/// The first letter as a capital.
#[must_use]
pub fn sentence_case(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What a row `t` of a table is called, as SQL; none where its number must do.
#[must_use]
pub fn name_sql(table: &Table) -> Option<String> {
    let has = |name: &str| table.columns.iter().any(|column| column.name == name);
    let of = |parent: &str, column: &str| {
        format!("(SELECT name FROM {} WHERE id = t.{})", quoted(parent), quoted(column))
    };
    Some(match table.name.as_str() {
        "offer" => format!(
            "{} || ', ' || t.pack_name || ' of ' || t.pack_size || ' from ' || {}",
            of("material", "material_id"),
            of("supplier", "supplier_id")
        ),
        "placed_order" => "'no. ' || t.number || ', ' || t.supplier".into(),
        "invoice" => "'no. ' || t.number".into(),
        "quote_version" => "'version ' || t.number".into(),
        "piece" => format!("{} || ', ' || {}", of("recipe", "recipe_id"), of("place", "place_id")),
        "stock_lot" => of("material", "material_id"),
        "recipe_line" => format!("coalesce({}, {})", of("material", "material_id"), of("recipe", "part_id")),
        _ if has("name") => "t.name".into(),
        _ if has("label") => "t.label".into(),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_nobody_named_reads_well_enough() {
        assert_eq!(column_words("harvest", "picked_on"), "Picked");
        assert_eq!(column_words("harvest", "field_id"), "Field");
        assert_eq!(part_words("seed_tray"), "seed tray");
        assert_eq!(kind_words("seed_tray"), "Seed tray");
    }

    #[test]
    fn a_record_is_a_kind_and_a_number() {
        assert_eq!(parts_of("event-12"), ("event", Some(12)));
        assert_eq!(parts_of("crates-and-vans"), ("crates-and-vans", None));
    }
}
