//! All SQL for quotes, their versions and acceptances.

mod usual_parts;
mod versions;

pub use usual_parts::{PartRow, keep_usual_parts, usual_parts};
pub use versions::{
    accept, add_version, decline, event_of_version, instalments_of_versions, standing, version_of_key,
    versions,
};

use std::collections::HashMap;

use serde::Serialize;
use sqlx::SqliteConnection;

use super::totals::{ChargeRule, Discount};
use super::{ChargeKind, Instalment, LineTerms, NewCharge, NewQuote, OwnLine, Quote, Wording};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, PieceId, QuoteId, TaxRateId, json_list};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::studio::TaxRate;

/// An event's working quote, if one was begun.
pub async fn quote(connection: &mut SqliteConnection, event: EventId) -> Result<Option<Quote>, sqlx::Error> {
    Ok(quotes(connection, &[event]).await?.remove(&event))
}

/// The events from a day on whose quote is open: begun, and no version of it accepted.
pub async fn open_from(connection: &mut SqliteConnection, day: Day) -> Result<Vec<EventId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT event.id AS "id: EventId" FROM event JOIN quote ON event_id = event.id
        WHERE day >= ? AND removed_at IS NULL AND ending IS NULL AND NOT EXISTS (
            SELECT 1 FROM quote_version JOIN quote_acceptance ON version_id = quote_version.id
            WHERE quote_id = quote.id)
        ORDER BY event.id"#,
        day
    )
    .fetch_all(connection)
    .await
}

/// The working quotes of these events, where one was begun.
pub async fn quotes(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<HashMap<EventId, Quote>, sqlx::Error> {
    let events = json_list(events);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: QuoteId", event_id AS "event_id: EventId", version, priced_on AS "priced_on: Day",
            valid_until AS "valid_until: Day", words, terms, prices_include_tax AS "inclusive: bool", discount_kind, discount
        FROM quote WHERE event_id IN (SELECT value FROM json_each(?))"#,
        events
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut quotes: Quotes = HashMap::new();
    for row in rows {
        let quote = Quote {
            id: row.id,
            version: row.version,
            priced_on: row.priced_on,
            wording: Wording { words: row.words, terms: row.terms, valid_until: row.valid_until },
            inclusive: row.inclusive,
            discount: discount(&row.discount_kind, row.discount),
            pieces: Vec::new(),
            own: Vec::new(),
            charges: Vec::new(),
            instalments: Vec::new(),
        };
        quotes.insert(row.id, (row.event_id, quote));
    }
    let ids: Vec<QuoteId> = quotes.keys().copied().collect();
    let ids = json_list(&ids);
    lines(connection, &ids, &mut quotes).await?;
    charges(connection, &ids, &mut quotes).await?;
    instalments(connection, &ids, &mut quotes).await?;
    Ok(quotes.into_values().collect())
}

/// Quotes by their identity, each with its event.
type Quotes = HashMap<QuoteId, (EventId, Quote)>;

async fn lines(connection: &mut SqliteConnection, ids: &str, quotes: &mut Quotes) -> Result<(), sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT quote_id AS "quote_id: QuoteId", piece_id AS "piece_id: PieceId", place, words, count,
            typed_price AS "typed_price: Money", discount_kind, discount, tax_rate_id AS "tax: TaxRateId"
        FROM quote_line WHERE quote_id IN (SELECT value FROM json_each(?)) ORDER BY quote_id, position, id"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    for row in rows {
        let Some((_, quote)) = quotes.get_mut(&row.quote_id) else { continue };
        let discount = discount(&row.discount_kind, row.discount);
        match row.piece_id {
            Some(piece) => {
                let terms = LineTerms { typed_price: row.typed_price, discount, tax: row.tax };
                quote.pieces.push((piece, terms));
            }
            None => quote.own.push(OwnLine {
                place: row.place,
                words: row.words,
                count: row.count.unwrap_or(1),
                price: row.typed_price.unwrap_or_default(),
                discount,
                tax: row.tax,
            }),
        }
    }
    Ok(())
}

async fn charges(
    connection: &mut SqliteConnection,
    ids: &str,
    quotes: &mut Quotes,
) -> Result<(), sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT quote_id AS "quote_id: QuoteId", kind AS "kind: ChargeKind", rule, value,
            tax_rate_id AS "tax: TaxRateId"
        FROM quote_charge WHERE quote_id IN (SELECT value FROM json_each(?)) ORDER BY quote_id, id"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    for row in rows {
        let Some((_, quote)) = quotes.get_mut(&row.quote_id) else { continue };
        let rule = match row.rule.as_str() {
            "share" => ChargeRule::Share(Share::from_raw(row.value)),
            _ => ChargeRule::Amount(Money::from_minor(row.value)),
        };
        quote.charges.push(NewCharge { kind: row.kind, rule, tax: row.tax });
    }
    Ok(())
}

async fn instalments(
    connection: &mut SqliteConnection,
    ids: &str,
    quotes: &mut Quotes,
) -> Result<(), sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT quote_id AS "quote_id: QuoteId", label, share AS "share: Share", due_on AS "due_on: Day"
        FROM quote_instalment WHERE quote_id IN (SELECT value FROM json_each(?)) ORDER BY quote_id, position, id"#,
        ids
    )
    .fetch_all(connection)
    .await?;
    for row in rows {
        let Some((_, quote)) = quotes.get_mut(&row.quote_id) else { continue };
        quote.instalments.push(Instalment { label: row.label, share: row.share, due_on: row.due_on });
    }
    Ok(())
}

/// The tax rates that the quotes of these events may use: the studio's, and retired ones that they still use.
pub async fn tax_rates(
    connection: &mut SqliteConnection,
    events: &[EventId],
) -> Result<Vec<TaxRate>, sqlx::Error> {
    let events = json_list(events);
    sqlx::query_as!(
        TaxRate,
        r#"SELECT id AS "id: TaxRateId", name, rate AS "rate: Share" FROM tax_rate
        WHERE removed_at IS NULL
            OR id IN (SELECT tax_rate_id FROM quote_line JOIN quote ON quote.id = quote_id
                WHERE event_id IN (SELECT value FROM json_each(?1)))
            OR id IN (SELECT tax_rate_id FROM quote_charge JOIN quote ON quote.id = quote_id
                WHERE event_id IN (SELECT value FROM json_each(?1)))
        ORDER BY removed_at IS NOT NULL, position, id"#,
        events
    )
    .fetch_all(connection)
    .await
}

/// Keeps an event's quote as typed and counts the save; `pieces` are the identities of its pieces, in order.
pub async fn keep(
    connection: &mut SqliteConnection,
    event: EventId,
    priced_on: Day,
    new: &NewQuote,
    pieces: &[PieceId],
) -> Result<(), sqlx::Error> {
    let (kind, value) = discount_parts(new.discount);
    let wording = &new.wording;
    let quote = sqlx::query_scalar!(
        r#"INSERT INTO quote (event_id, priced_on, valid_until, words, terms, prices_include_tax, discount_kind, discount)
        VALUES (?, ?, ?, ?, ?, ?, ?, ?)
        ON CONFLICT (event_id) DO UPDATE SET version = version + 1, valid_until = excluded.valid_until,
            words = excluded.words, terms = excluded.terms, prices_include_tax = excluded.prices_include_tax,
            discount_kind = excluded.discount_kind, discount = excluded.discount
        RETURNING id AS "id: QuoteId""#,
        event,
        priced_on,
        wording.valid_until,
        wording.words,
        wording.terms,
        new.inclusive,
        kind,
        value
    )
    .fetch_one(&mut *connection)
    .await?;
    keep_lines(connection, quote, new, pieces).await?;
    keep_charges(connection, quote, &new.charges).await?;
    keep_instalments(connection, quote, &new.instalments).await
}

/// A line as SQLite reads it from JSON.
#[derive(Serialize)]
struct LineRow<'a> {
    piece: Option<PieceId>,
    place: &'a str,
    words: &'a str,
    count: Option<i64>,
    price: Option<Money>,
    discount_kind: &'static str,
    discount: i64,
    tax: TaxRateId,
}

async fn keep_lines(
    connection: &mut SqliteConnection,
    quote: QuoteId,
    new: &NewQuote,
    pieces: &[PieceId],
) -> Result<(), sqlx::Error> {
    let of_pieces = pieces.iter().zip(&new.terms).map(|(piece, terms)| {
        let (discount_kind, discount) = discount_parts(terms.discount);
        let price = terms.typed_price;
        LineRow {
            piece: Some(*piece),
            place: "",
            words: "",
            count: None,
            price,
            discount_kind,
            discount,
            tax: terms.tax,
        }
    });
    let own = new.own.iter().map(|line| {
        let (discount_kind, discount) = discount_parts(line.discount);
        let (count, price) = (Some(line.count), Some(line.price));
        LineRow {
            piece: None,
            place: &line.place,
            words: &line.words,
            count,
            price,
            discount_kind,
            discount,
            tax: line.tax,
        }
    });
    let rows = json(&of_pieces.chain(own).collect::<Vec<_>>())?;
    sqlx::query!("DELETE FROM quote_line WHERE quote_id = ?", quote).execute(&mut *connection).await?;
    sqlx::query!(
        "INSERT INTO quote_line (quote_id, position, piece_id, place, words, count, typed_price, discount_kind, discount,
            tax_rate_id)
        SELECT ?, key, value ->> 'piece', value ->> 'place', value ->> 'words', value ->> 'count', value ->> 'price',
            value ->> 'discount_kind', value ->> 'discount', value ->> 'tax'
        FROM json_each(?)",
        quote,
        rows
    )
    .execute(connection)
    .await
    .map(drop)
}

async fn keep_charges(
    connection: &mut SqliteConnection,
    quote: QuoteId,
    charges: &[NewCharge],
) -> Result<(), sqlx::Error> {
    sqlx::query!("DELETE FROM quote_charge WHERE quote_id = ?", quote).execute(&mut *connection).await?;
    for charge in charges {
        let (rule, value) = match charge.rule {
            ChargeRule::Amount(amount) => ("amount", amount.minor()),
            ChargeRule::Share(share) => ("share", share.raw()),
        };
        let kind = charge.kind.code();
        sqlx::query!(
            "INSERT INTO quote_charge (quote_id, kind, rule, value, tax_rate_id) VALUES (?, ?, ?, ?, ?)",
            quote,
            kind,
            rule,
            value,
            charge.tax
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}

async fn keep_instalments(
    connection: &mut SqliteConnection,
    quote: QuoteId,
    instalments: &[Instalment],
) -> Result<(), sqlx::Error> {
    sqlx::query!("DELETE FROM quote_instalment WHERE quote_id = ?", quote).execute(&mut *connection).await?;
    for (position, part) in (0_i64..).zip(instalments) {
        sqlx::query!(
            "INSERT INTO quote_instalment (quote_id, position, label, share, due_on) VALUES (?, ?, ?, ?, ?)",
            quote,
            position,
            part.label,
            part.share,
            part.due_on
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}

/// Sets the day whose prices a quote uses; whether there is such a quote.
pub async fn price_as_of(
    connection: &mut SqliteConnection,
    event: EventId,
    day: Day,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE quote SET priced_on = ?, version = version + 1 WHERE event_id = ?", day, event)
            .execute(connection)
            .await?;
    Ok(done.rows_affected() == 1)
}

fn json<T: Serialize>(rows: &T) -> Result<String, sqlx::Error> {
    serde_json::to_string(rows).map_err(|error| sqlx::Error::Encode(error.into()))
}

fn discount(kind: &str, value: i64) -> Discount {
    match kind {
        "share" => Discount::Share(Share::from_raw(value)),
        "amount" => Discount::Amount(Money::from_minor(value)),
        _ => Discount::None,
    }
}

fn discount_parts(discount: Discount) -> (&'static str, i64) {
    match discount {
        Discount::None => ("none", 0),
        Discount::Share(share) => ("share", share.raw()),
        Discount::Amount(amount) => ("amount", amount.minor()),
    }
}
