//! What tables and columns mean, for the README and for checking what is read. Columns that a later migration adds are
//! understood by their names' endings; a table may say more here.

use iso_currency::Currency;
use jiff::tz::TimeZone;

use crate::ground::dates::{Day, Moment, TimeOfDay};

/// What the value of a column means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// What its name says.
    Plain,
    /// A row's own number, or another row's.
    Identity,
    /// An amount in minor units.
    Money,
    /// Parts per million.
    Share,
    /// Thousandths.
    Thousandths,
    /// Micrometres.
    Length,
    /// Grams.
    Weight,
    /// 0 or 1.
    YesNo,
    /// Bits of weekdays.
    Weekdays,
    /// Bits of months.
    Months,
    /// Bits of cautions.
    Cautions,
    /// A civil day.
    Day,
    /// A time of day.
    Time,
    /// A moment in UTC.
    Moment,
    /// An ISO 4217 code.
    Currency,
    /// An IANA time zone.
    Zone,
    /// A picture's file.
    Picture,
}

impl Meaning {
    /// How the README says it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Meaning::Plain => "",
            Meaning::Identity => "number of a row",
            Meaning::Money => "minor units of the studio's currency (cents, pence)",
            Meaning::Share => "parts per million (50000 is 5 %)",
            Meaning::Thousandths => "thousandths (6500 is 6.5)",
            Meaning::Length => "micrometres (25400 is 1 in, 10000 is 1 cm)",
            Meaning::Weight => "grams",
            Meaning::YesNo => "0 no, 1 yes",
            Meaning::Weekdays => "sum of Mon 1, Tue 2, Wed 4, Thu 8, Fri 16, Sat 32, Sun 64",
            Meaning::Months => "sum of Jan 1, Feb 2, Mar 4 … Dec 2048; 4095 is all year",
            Meaning::Cautions => {
                "sum of flame 1, overhead 2, freestanding 4, ladder 8, heavy 16, sharp 32, toxic 64, near food 128, foam dust 256, residues 512, electricity 1024"
            }
            Meaning::Day => "day, YYYY-MM-DD",
            Meaning::Time => "time of day, HH:MM",
            Meaning::Moment => "moment in UTC, RFC 3339",
            Meaning::Currency => "ISO 4217 code",
            Meaning::Zone => "IANA time zone",
            Meaning::Picture => "name of a file in pictures/",
        }
    }

    /// Checks a text against its meaning; numbers are checked by the book itself.
    ///
    /// # Errors
    /// What is wanted, to stand after "is not".
    pub fn check(self, text: &str) -> Result<(), &'static str> {
        // One way of writing only: the book compares days and times as text.
        let (fine, wanted) = match self {
            Meaning::Day => (same(text.parse::<Day>().ok(), text), "a day such as 2026-05-14"),
            Meaning::Time => (same(text.parse::<TimeOfDay>().ok(), text), "a time such as 09:30"),
            Meaning::Moment => {
                (same(text.parse::<Moment>().ok(), text), "a moment such as 2026-05-14T09:30:00Z")
            }
            Meaning::Currency => {
                (Currency::from_code(text).is_some(), "an ISO 4217 currency code such as EUR")
            }
            Meaning::Zone => (TimeZone::get(text).is_ok(), "a time zone such as Europe/Vienna"),
            _ => (true, ""),
        };
        if fine { Ok(()) } else { Err(wanted) }
    }
}

fn same<T: ToString>(read: Option<T>, text: &str) -> bool {
    read.is_some_and(|read| read.to_string() == text)
}

/// What a column means.
#[must_use]
pub fn meaning(table: &str, column: &str) -> Meaning {
    match (table, column) {
        ("piece" | "piece_set_line", "count")
        | ("pail_rule", "litres")
        | ("temperature_path", "q10")
        | ("recipe", "minutes")
        | ("recipe_line", "quantity" | "turns")
        | (_, "fresh_markup" | "hard_goods_markup" | "sundries_markup" | "bulk") => Meaning::Thousandths,
        ("picture", "full" | "small") | ("logo", "image") => Meaning::Picture,
        ("picture" | "logo", "width" | "height") => Meaning::Plain,
        (_, "weight" | "own_weight" | "most_weight" | "payload") => Meaning::Weight,
        ("quote_instalment" | "usual_instalment" | "event_instalment", "share")
        | ("cancellation_step", "retained")
        | ("tax_rate", "rate")
        | (_, "loss" | "overruled" | "assurance" | "labour_share") => Meaning::Share,
        ("close_out_hours", "rate") | ("close_out_cost", "planned") | ("close_out", "income" | "cost") => {
            Meaning::Money
        }
        (
            _,
            "labour_rate" | "rounding_step" | "delivery_fee" | "fee_waived_over" | "least_order" | "loan_fee"
            | "price" | "charge_each" | "each" | "typed_price" | "budget" | "total" | "fee" | "goods"
            | "amount",
        ) => Meaning::Money,
        (
            _,
            "usable_length" | "inner_height" | "inner_diameter" | "second_binding" | "stem_clearance"
            | "piece_length" | "diameter" | "ends" | "height" | "inner_length" | "inner_width"
            | "clear_height" | "floor_length" | "floor_width",
        ) => Meaning::Length,
        (_, "loaned" | "charged" | "stackable" | "prices_include_tax" | "stems_on_paper" | "done") => {
            Meaning::YesNo
        }
        (_, "delivery_weekdays") => Meaning::Weekdays,
        (_, "season") => Meaning::Months,
        (_, "cautions") => Meaning::Cautions,
        ("studio", "currency") => Meaning::Currency,
        ("studio", "time_zone") => Meaning::Zone,
        (_, "day" | "valid_until") => Meaning::Day,
        (_, "id") => Meaning::Identity,
        (_, name) => by_ending(name),
    }
}

fn by_ending(name: &str) -> Meaning {
    match name.rsplit_once('_').map(|(_, end)| end) {
        Some("on" | "day") => Meaning::Day,
        Some("time") => Meaning::Time,
        Some("at") => Meaning::Moment,
        Some("id") => Meaning::Identity,
        _ => Meaning::Plain,
    }
}

/// What a table holds, in one sentence; empty for one that this dictionary does not know.
#[must_use]
pub fn table_words(table: &str) -> &'static str {
    match table {
        "studio" => "The studio itself and how it reckons; at most one row, id 1.",
        "tax_rate" => "Tax rates that quotes may use.",
        "supplier" => "Wholesalers and growers, with their delivery days and cut-offs.",
        "material" => {
            "Anything a recipe can call for: flowers, foliage, vessels, candles, mechanics, sundries."
        }
        "offer" => "Which packs of a material a supplier sells.",
        "offer_price" => "What a pack costs from which day on: a history, never rewritten.",
        "price_list_upload" => {
            "Price list files that wait between their preview and their taking in, a day at most."
        }
        "logo" => "The studio's signs, the latest and earlier ones that sent papers bear.",
        "picture" => "Pictures of recipes, each full and small.",
        "recipe" => "What one piece is made of, and how.",
        "recipe_line" => "The materials and parts of a recipe, with how much of each.",
        "recipe_substitute" => "Materials that may stand in for a line's own.",
        "client" => "Who asks.",
        "event" => "When, where, for how many, and how it ended.",
        "place" => "Where pieces stand at an event.",
        "piece" => "A recipe with a count at a place.",
        "quote" => "An event's quote as it stands.",
        "quote_line" => "The price of a piece, or a line of the quote's own.",
        "recipe_alternative" => "Recipes that may stand for each other in a set.",
        "piece_wish" => "How much a piece matters to the client, for a fit to the budget.",
        "quote_charge" => "Service, delivery, set-up and strike.",
        "quote_instalment" => "When which share of the total is due.",
        "quote_version" => "Quotes as they were sent, frozen as JSON.",
        "piece_set" => "Named sets of pieces with which an event may begin.",
        "piece_set_line" => "What is in a set of pieces.",
        "quote_acceptance" => "Which version the client accepted.",
        "quote_decline" => "Which version the client declined, and what they said.",
        "placed_order" => "Orders placed with suppliers, frozen.",
        "placed_order_event" => "For which events an order was placed.",
        "placed_delivery" => "The deliveries of placed orders.",
        "placed_line" => "What was ordered for a delivery: packs and prices as they were.",
        "placed_share" => "Which event a placed line's stems are meant for, and its share of the cost.",
        "placed_line_answer" => {
            "What suppliers confirmed and what the studio cancelled since; the latest row counts."
        }
        "receipt_line" => "What came of a placed line: stems counted good and lost.",
        "bench_loss" => "Stems that were lost at the bench, after they were counted good.",
        "loss_rule" => {
            "Since when a material's counted losses speak, and the loss that the studio fixed in their place."
        }
        _ => shelf_words(table),
    }
}

/// The same for the tables of the bench's pails, the shelf and the van.
fn shelf_words(table: &str) -> &'static str {
    match table {
        "loan_period" => {
            "How many days before and after an event its loans are off the shelf, where that was typed."
        }
        "loan_count" => {
            "When an event's loans were counted back, by whom, and whether what is lost is charged."
        }
        "loan_return" => {
            "What came back of each lent material; broken and missing pieces are no longer owned."
        }
        "pail_rule" => "How many stems and litres stand in a pail, and how many pails the cooler holds.",
        "event_work" => {
            "What an event takes beside the making: minutes of loading, driving, setting and striking, and the crew."
        }
        "shift" => "Who works on which weekday (0 is Monday), from when and for how many minutes.",
        "shift_exception" => "Days on which more or fewer work, or others than usual.",
        "bench_rule" => "How many minutes dressing a vessel takes.",
        "bench_pin" => "Work of the bench plan that the designer wants on a day.",
        "tick" => {
            "Ticks set on sheets (goods-in, prep, pull, load, run) and taken back; the latest row of a line counts."
        }
        "temperature_path" => {
            "How warm flowers stand on their way, in °C; finished pieces and cooler may be empty."
        }
        "venue_temperature" => "How warm one event's venue is, in °C, where that was typed.",
        "crate_kind" => "The studio's crates: measures and weights.",
        "van" => "The studio's vans: measures and payload.",
        "recipe_travel" => {
            "How large and heavy one piece of a recipe is as it travels, where it was measured."
        }
        "loan_charge" => "What a lost piece of a material is charged at.",
        "kit_item" => "Tools, water, spares and safety things that go along to every event.",
        "pull_extra" => "What one event needs beside its pieces and the kit.",
        _ => run_words(table),
    }
}

/// The event's day: drives, hand-overs and what came back.
fn run_words(table: &str) -> &'static str {
    match table {
        "kit_travel" => {
            "How heavy one kit item is and how many litres of a crate it takes, where that was typed."
        }
        "extra_travel" => "The same for an event's extras.",
        "run_drive" => "Minutes of the drive from one event's venue to another's, where that was typed.",
        "hand_over" => {
            "To whom an event's flowers were handed over, when, with what remarks; the latest row counts."
        }
        "van_return" => {
            "When crates, cans and tools were counted after an event, by whom, and what became of the flowers; the latest row counts."
        }
        "van_return_line" => "How many of each went out and came back.",
        _ => stock_words(table),
    }
}

/// Stock and the calendar of deliveries.
fn stock_words(table: &str) -> &'static str {
    match table {
        "backup_place" => {
            "A second place for the daily backups, on the machine that serves the book; at most one row."
        }
        "calendar_feed" => {
            "The calendar for other programs: the secret of its feed's address, and when it rings; at most one row."
        }
        "closed_day" => "Days on which nothing is delivered, of one supplier or of all, and feast days.",
        "stock_lot" => "What lies in the cooler and on the shelf, each age by itself, as last counted.",
        "stock_reservation" => "Pieces of a lot that are kept for an event.",
        "stock_change" => "What happened to a lot: taken in, counted, written off.",
        "left_over" => "What became of the stems of a delivered line that no event needs.",
        _ => account_words(table),
    }
}

/// The accounts.
fn account_words(table: &str) -> &'static str {
    match table {
        "account_settings" => {
            "How the studio invoices: country, bank account, numbers, days to pay; at most one row."
        }
        "usual_instalment" => "The usual parts of a payment.",
        "cancellation_step" => "What is kept of a cancelled event, by days before it.",
        "tax_treatment" => "What tax rates are to EN 16931 (VAT category codes).",
        "client_account" => "What an invoice says of a client beside name and address.",
        "payment_plan" => "Events that have their own parts of the payment.",
        "event_instalment" => "The parts of an event's payment.",
        "close_out_save" => "Each time that an event's hours and costs were typed; the latest counts.",
        "close_out_hours" => {
            "Hours that were worked, by task, of one save; an hour's rate where it is not the studio's."
        }
        "close_out_cost" => "Costs that stand nowhere else, of one save: as planned and as they came.",
        "close_out" => {
            "Events that were closed with their figures frozen as JSON, or opened again; the latest row counts."
        }
        "invoice" => "Invoices and credit notes, frozen as JSON; never changed, credited instead.",
        "reminder_setting" => "When the desk reminds, in days; at most one row.",
        "reminder_mark" => "Reminders that somebody saw to, and until when they are put off.",
        "charged_loan" => "Lent pieces lost that an invoice charges; never changed.",
        "person" => {
            "Who may come in where Trug listens beyond its own machine, and what they may. Passphrases do not go out."
        }
        "act" => "Who changed the book, when and by which way; each write is one act.",
        "act_change" => "What each act did to which row: the columns before and after, as JSON.",
        "payment" => "What came in and went back; a mistaken row is reversed by a row of its own.",
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn endings_speak_for_columns_nobody_described() {
        assert_eq!(meaning("harvest", "picked_on"), Meaning::Day);
        assert_eq!(meaning("harvest", "noted_at"), Meaning::Moment);
        assert_eq!(meaning("kit_item", "quantity"), Meaning::Plain);
        assert_eq!(meaning("recipe_line", "quantity"), Meaning::Thousandths);
    }

    #[test]
    fn days_times_and_moments_are_written_one_way() {
        assert_eq!(Meaning::Day.check("2026-02-28"), Ok(()));
        assert_eq!(Meaning::Time.check("09:05"), Ok(()));
        assert_eq!(Meaning::Moment.check("2026-05-14T09:30:00Z"), Ok(()));
        for (meaning, wrong) in [
            (Meaning::Day, "2026-02-30"),
            (Meaning::Day, "28.02.2026"),
            (Meaning::Day, "2026-02-28T00:00:00"),
            (Meaning::Time, "9:05"),
            (Meaning::Moment, "2026-05-14T11:30:00+02:00"),
            (Meaning::Currency, "EURO"),
            (Meaning::Zone, "Middle/Nowhere"),
        ] {
            assert!(meaning.check(wrong).is_err(), "{wrong}");
        }
    }
}
