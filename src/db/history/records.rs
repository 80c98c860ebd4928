//! Which record a row is part of: a recipe's lines are part of the recipe, an event's pieces and its quote of the event.
//! A record is what has a history of its own; it is named as its page is asked for: `event-12`, `kit`.

use crate::db::schema::{Table, quoted};

/// How a row finds its record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// It is the record: `client-12`.
    Itself,
    /// A column names the record's number: of which record, by which column.
    Of(&'static str, &'static str),
    /// A column names a row that is itself a part: of which table, by which column.
    By(&'static str, &'static str),
    /// Of the event where there is one, else of the client.
    EventOrClient,
    /// All rows are one record, shown on one page.
    List(&'static str),
}

/// The tables that the history leaves out, each with its reason.
pub const LEFT_OUT: &[(&str, &str)] = &[
    ("act", "the history itself"),
    ("act_change", "the history itself"),
    ("tick", "its rows say who and when, are never rewritten, and there are very many"),
    ("price_list_upload", "a file that waits a day at most; not a part of the book"),
    ("passphrase", "holds passphrases' hashes"),
    ("session", "holds what opens a session; gone when it ends"),
];

/// Columns that the history leaves out: what they hold is secret. Bytes are left out too (JSON holds none).
pub const SECRET: &[(&str, &str)] = &[("calendar_feed", "token"), ("calendar_feed", "book")];

/// How the rows of a table find their record.
#[must_use]
pub fn part_of(table: &str) -> Part {
    match table {
        "place" | "piece" | "quote" | "event_work" | "venue_temperature" | "loan_period" | "loan_count"
        | "loan_return" | "pull_extra" | "bench_pin" | "hand_over" | "van_return" | "payment_plan"
        | "event_instalment" | "close_out" | "close_out_save" => Part::Of("event", "event_id"),
        "close_out_hours" | "close_out_cost" => Part::By("close_out_save", "save_id"),
        "run_drive" => Part::Of("event", "from_event_id"),
        "piece_wish" => Part::By("piece", "piece_id"),
        "quote_line" | "quote_charge" | "quote_instalment" | "quote_version" => Part::By("quote", "quote_id"),
        "quote_acceptance" | "quote_decline" => Part::By("quote_version", "version_id"),
        "van_return_line" => Part::By("van_return", "return_id"),
        "extra_travel" => Part::By("pull_extra", "pull_extra_id"),
        "piece_set_line" => Part::Of("piece_set", "set_id"),
        "recipe_line" | "recipe_travel" | "recipe_alternative" => Part::Of("recipe", "recipe_id"),
        "recipe_substitute" => Part::By("recipe_line", "line_id"),
        "client_account" => Part::Of("client", "client_id"),
        "loss_rule" | "loan_charge" | "bench_loss" => Part::Of("material", "material_id"),
        "offer_price" => Part::Of("offer", "offer_id"),
        "placed_order_event" | "placed_delivery" => Part::Of("placed_order", "order_id"),
        "placed_line" => Part::By("placed_delivery", "delivery_id"),
        "placed_share" | "placed_line_answer" | "receipt_line" | "left_over" => {
            Part::By("placed_line", "line_id")
        }
        "stock_change" | "stock_reservation" => Part::Of("stock_lot", "lot_id"),
        "invoice" | "payment" => Part::EventOrClient,
        "charged_loan" => Part::By("invoice", "invoice_id"),
        _ => list(table),
    }
}

fn list(table: &str) -> Part {
    match table {
        "studio" | "tax_rate" | "logo" => Part::List("settings"),
        "account_settings" | "usual_instalment" | "cancellation_step" | "tax_treatment" => {
            Part::List("account-settings")
        }
        "shift" | "shift_exception" | "bench_rule" => Part::List("shifts"),
        "kit_item" | "kit_travel" => Part::List("kit"),
        "crate_kind" | "van" => Part::List("crates-and-vans"),
        "closed_day" => Part::List("closed-days"),
        "pail_rule" => Part::List("pails"),
        "temperature_path" => Part::List("temperatures"),
        "reminder_setting" => Part::List("reminder-settings"),
        "reminder_mark" => Part::List("reminders"),
        "calendar_feed" => Part::List("calendar"),
        "backup_place" => Part::List("backups"),
        _ => Part::Itself,
    }
}

/// A row's key as SQL: its number as text, or a JSON array where several columns are its key.
#[must_use]
pub fn key_sql(table: &Table, row: &str) -> String {
    let columns: Vec<String> = table.key.iter().map(|column| format!("{row}.{}", quoted(column))).collect();
    match columns.as_slice() {
        [one] => format!("CAST({one} AS TEXT)"),
        several => format!("json_array({})", several.join(", ")),
    }
}

/// The record of a row as SQL.
#[must_use]
pub fn record_sql(table: &Table, row: &str, tables: &[Table]) -> String {
    let numbered = |record: &str, column: &str| format!("'{record}-' || {row}.{}", quoted(column));
    match part_of(&table.name) {
        Part::Itself => format!("'{}-' || {}", table.name, key_sql(table, row)),
        Part::Of(record, column) => numbered(record, column),
        Part::EventOrClient => {
            format!("coalesce({}, {})", numbered("event", "event_id"), numbered("client", "client_id"))
        }
        Part::List(name) => format!("'{name}'"),
        Part::By(parent, column) => by(table, row, parent, column, tables),
    }
}

/// The record of the row that is referred to; where that is gone already, the record it was part of.
fn by(table: &Table, row: &str, parent: &str, column: &str, tables: &[Table]) -> String {
    let column = format!("{row}.{}", quoted(column));
    // Its own name for each parent: a parent may be found by its own parent.
    let alias = format!("of_{parent}");
    let there = tables.iter().find(|table| table.name == parent).map_or_else(String::new, |of| {
        let id = quoted(of.key.first().map_or("id", String::as_str));
        let record = record_sql(of, &alias, tables);
        format!("(SELECT {record} FROM {} AS {alias} WHERE {alias}.{id} = {column}), ", quoted(parent))
    });
    format!(
        "coalesce({there}(SELECT record FROM act_change WHERE table_name = '{parent}' \
        AND row_key = CAST({column} AS TEXT) ORDER BY id DESC LIMIT 1), '{}-' || {})",
        table.name,
        key_sql(table, row)
    )
}
