//! What the season reads: a handful of reads a year, however many events it has.

use std::collections::{BTreeMap, HashMap};

use sqlx::SqliteConnection;

use crate::close_out::season::{Counted, Fate, Tally};
use crate::events::Ending;
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::ground::money::Money;

/// The first and the last day of a season.
type Span = (Day, Day);

/// Why a quote was declined.
#[derive(Debug)]
pub struct Reason {
    /// Of which event.
    pub event: EventId,
    /// Its name.
    pub name: String,
    /// When they declined.
    pub day: Day,
    /// What they said.
    pub reason: String,
}

/// An event as the season counts it, with its name.
#[derive(Debug)]
pub struct Named {
    /// Which.
    pub event: EventId,
    /// Its name.
    pub name: String,
    /// Its day.
    pub day: Day,
    /// As it is counted.
    pub counted: Counted,
}

/// The years in which the book has events, the latest first.
pub async fn years(connection: &mut SqliteConnection) -> Result<Vec<i64>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT DISTINCT CAST(substr(day, 1, 4) AS INTEGER) AS "year!: i64" FROM event
        WHERE removed_at IS NULL ORDER BY 1 DESC"#
    )
    .fetch_all(connection)
    .await
}

/// The events of a span as the season counts them, by day.
pub async fn events(connection: &mut SqliteConnection, (from, to): Span) -> Result<Vec<Named>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT e.id AS "id: EventId", e.name, e.day AS "day: Day", ending AS "ending: Ending",
            EXISTS (SELECT 1 FROM quote q JOIN quote_version v ON v.quote_id = q.id WHERE q.event_id = e.id) AS "quoted: bool"
        FROM event e WHERE e.day BETWEEN ? AND ? AND e.removed_at IS NULL ORDER BY e.day, e.id"#,
        from,
        to
    )
    .fetch_all(&mut *connection)
    .await?;
    let accepted = accepted(connection, (from, to)).await?;
    let invoiced = invoiced(connection, (from, to)).await?;
    let closed = closed(connection, (from, to)).await?;
    let counted = rows.into_iter().map(|row| {
        let quote = accepted.get(&row.id);
        let close_out = closed.get(&row.id).filter(|_| row.ending == Some(Ending::Closed));
        let fate = match row.ending {
            Some(Ending::Lost) if row.quoted => Fate::LostQuoted,
            Some(Ending::Lost) => Fate::LostUnquoted,
            Some(Ending::Cancelled) => Fate::Cancelled,
            Some(Ending::Closed) => Fate::Held,
            None if quote.is_some() => Fate::Held,
            None => Fate::Open,
        };
        // What was called off brings what it was invoiced, never what was accepted. What was won brings what was accepted, however
        // little of it is invoiced yet: its cost is the whole event's, too.
        let asked = quote.map(|(asked, _)| *asked).filter(|_| fate == Fate::Held);
        let turnover = close_out.map(|(income, _)| *income).or(asked).or(invoiced.get(&row.id).copied());
        let cost = close_out.map(|(_, cost)| *cost).or(quote.map(|(_, cost)| *cost));
        let counted = Counted {
            month: usize::from(row.day.month_index()),
            fate,
            turnover: turnover.unwrap_or_default(),
            cost,
            closed_out: close_out.is_some(),
        };
        Named { event: row.id, name: row.name, day: row.day, counted }
    });
    Ok(counted.collect())
}

/// What was said when quotes were declined, of events that were lost: event, its name, when, what.
pub async fn reasons(
    connection: &mut SqliteConnection,
    (from, to): Span,
) -> Result<Vec<Reason>, sqlx::Error> {
    sqlx::query_as!(
        Reason,
        r#"SELECT e.id AS "event: EventId", e.name, d.declined_on AS "day: Day", d.reason
        FROM event e JOIN quote q ON q.event_id = e.id JOIN quote_version v ON v.quote_id = q.id
        JOIN quote_decline d ON d.version_id = v.id
        WHERE e.day BETWEEN ? AND ? AND e.removed_at IS NULL AND e.ending = 'lost' AND d.reason <> ''
        ORDER BY d.declined_on, v.id"#,
        from,
        to
    )
    .fetch_all(connection)
    .await
}

/// Of each event the version that counts as accepted: what it asks without tax, and what it cost when it was sent.
async fn accepted(
    connection: &mut SqliteConnection,
    (from, to): Span,
) -> Result<HashMap<EventId, (Money, Money)>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT e.id AS "id: EventId",
            CAST(json_extract(v.document, '$.document.before_tax') AS INTEGER) AS "asked!: Money",
            CAST(json_extract(v.document, '$.cost') AS INTEGER) AS "cost!: Money"
        FROM event e JOIN quote q ON q.event_id = e.id JOIN quote_version v ON v.quote_id = q.id
        JOIN quote_acceptance a ON a.version_id = v.id
        WHERE e.day BETWEEN ? AND ? AND e.removed_at IS NULL ORDER BY e.id, accepted_on, number"#,
        from,
        to
    )
    .fetch_all(connection)
    .await?;
    // Of one event the last row stays.
    Ok(rows.into_iter().map(|row| (row.id, (row.asked, row.cost))).collect())
}

/// What each event was invoiced less what it was credited, without tax; events without an invoice are left out.
async fn invoiced(
    connection: &mut SqliteConnection,
    (from, to): Span,
) -> Result<HashMap<EventId, Money>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT e.id AS "id: EventId", CAST(sum(json_extract(i.document, '$.figures.before_tax')
            * iif(i.kind = 'credit', -1, 1)) AS INTEGER) AS "net!: Money"
        FROM event e JOIN invoice i ON i.event_id = e.id
        WHERE e.day BETWEEN ? AND ? AND e.removed_at IS NULL GROUP BY e.id"#,
        from,
        to
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.net)).collect())
}

/// Income and cost of the events whose latest row is a closing.
async fn closed(
    connection: &mut SqliteConnection,
    (from, to): Span,
) -> Result<HashMap<EventId, (Money, Money)>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT e.id AS "id: EventId", c.income AS "income: Money", c.cost AS "cost: Money"
        FROM event e JOIN close_out c ON c.event_id = e.id
        WHERE e.day BETWEEN ? AND ? AND c.kind = 'closed'
            AND NOT EXISTS (SELECT 1 FROM close_out later WHERE later.event_id = e.id AND later.id > c.id)"#,
        from,
        to
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, (row.income, row.cost))).collect())
}

/// Stems that came, died, were lost at the bench or thrown away, and quotes that went out, by month.
pub async fn tallies(connection: &mut SqliteConnection, (from, to): Span) -> Result<Vec<Tally>, sqlx::Error> {
    let stems = sqlx::query!(
        r#"WITH fresh AS (SELECT id FROM material WHERE kind IN ('flower', 'foliage')), went AS (
            SELECT received_on AS day, good + lost AS came, lost, 0 AS bench, 0 AS thrown
            FROM receipt_line r JOIN placed_line l ON l.id = r.line_id
            WHERE received_on BETWEEN ?1 AND ?2 AND l.material_id IN fresh
            UNION ALL SELECT lost_on, 0, 0, lost, 0 FROM bench_loss
            WHERE lost_on BETWEEN ?1 AND ?2 AND removed_at IS NULL AND material_id IN fresh
            UNION ALL SELECT decided_on, 0, 0, 0, written_off FROM left_over o JOIN placed_line l ON l.id = o.line_id
            WHERE decided_on BETWEEN ?1 AND ?2 AND removed_at IS NULL AND l.material_id IN fresh
            UNION ALL SELECT changed_on, 0, 0, 0, c.count FROM stock_change c JOIN stock_lot s ON s.id = c.lot_id
            WHERE changed_on BETWEEN ?1 AND ?2 AND c.kind = 'written_off' AND undone_at IS NULL AND s.material_id IN fresh)
        SELECT CAST(substr(day, 6, 2) AS INTEGER) AS "month!: i64", sum(came) AS "came!: i64", sum(lost) AS "lost!: i64",
            sum(bench) AS "bench!: i64", sum(thrown) AS "thrown!: i64"
        FROM went GROUP BY 1"#,
        from,
        to
    )
    .fetch_all(&mut *connection)
    .await?;
    let quotes = sqlx::query!(
        r#"WITH sent AS (SELECT q.id, min(v.sent_on) AS day,
                max(EXISTS (SELECT 1 FROM quote_acceptance a WHERE a.version_id = v.id)) AS won
            FROM quote q JOIN quote_version v ON v.quote_id = q.id JOIN event e ON e.id = q.event_id
            WHERE e.removed_at IS NULL GROUP BY q.id)
        SELECT CAST(substr(day, 6, 2) AS INTEGER) AS "month!: i64", count(*) AS "sent!: i64", sum(won) AS "won!: i64"
        FROM sent WHERE day BETWEEN ? AND ? GROUP BY 1"#,
        from,
        to
    )
    .fetch_all(connection)
    .await?;
    let month = |month: i64| usize::try_from(month - 1).unwrap_or(usize::MAX);
    let mut months: BTreeMap<usize, Tally> = BTreeMap::new();
    for row in stems {
        let month = month(row.month);
        let (came, lost, bench, thrown) = (row.came, row.lost, row.bench, row.thrown);
        months.insert(month, Tally { month, came, lost, bench, thrown, ..Tally::default() });
    }
    for row in quotes {
        let month = month(row.month);
        let tally = months.entry(month).or_insert(Tally { month, ..Tally::default() });
        (tally.sent, tally.won) = (row.sent, row.won);
    }
    Ok(months.into_values().collect())
}
