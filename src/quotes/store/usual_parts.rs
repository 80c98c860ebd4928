//! All SQL for the usual parts of a payment.

use serde::Serialize;
use sqlx::SqliteConnection;

use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::{InstalmentId, json_list};
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::quotes::payment::{Due, DueKind, Part, UsualPart};

/// In which parts the studio usually asks for a payment.
pub async fn usual_parts(connection: &mut SqliteConnection) -> Result<Vec<UsualPart>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT label, share AS "share: Share", amount AS "amount: Money", due AS "due: DueKind", due_days
        FROM usual_instalment ORDER BY position, id"#
    )
    .fetch_all(connection)
    .await?;
    let part = rows.into_iter().map(|row| UsualPart {
        label: row.label,
        part: Part::of_columns(row.share, row.amount),
        due: Due::of_columns(row.due, row.due_days, None),
    });
    Ok(part.collect())
}

/// Keeps them.
pub async fn keep_usual_parts(
    connection: &mut SqliteConnection,
    usual: &[UsualPart],
) -> Result<(), sqlx::Error> {
    let rows: Vec<PartRow<'_>> =
        usual.iter().map(|usual| PartRow::of(None, &usual.label, usual.part, usual.due)).collect();
    let rows = json_list(&rows);
    sqlx::query!("DELETE FROM usual_instalment").execute(&mut *connection).await?;
    sqlx::query!(
        "INSERT INTO usual_instalment (position, label, share, amount, due, due_days)
        SELECT key, value ->> 'label', value ->> 'share', value ->> 'amount', value ->> 'due', value ->> 'days'
        FROM json_each(?)",
        rows
    )
    .execute(connection)
    .await
    .map(drop)
}

/// A part of a payment as SQLite reads it from JSON: a usual one, or an event's own with its number.
#[derive(Debug, Serialize)]
pub struct PartRow<'a> {
    id: Option<i64>,
    label: &'a str,
    share: Option<Share>,
    amount: Option<Money>,
    due: &'static str,
    days: i64,
    day: Option<Day>,
}

impl<'a> PartRow<'a> {
    /// The row of a part.
    #[must_use]
    pub fn of(id: Option<InstalmentId>, label: &'a str, part: Part, due: Due) -> PartRow<'a> {
        let ((share, amount), (due, days, day)) = (part.columns(), due.columns());
        PartRow { id: id.map(|id| id.0), label, share, amount, due: due.code(), days, day }
    }
}
