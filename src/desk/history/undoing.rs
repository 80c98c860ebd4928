//! Taking an act back, and why it cannot be.

use axum::extract::State;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::store;
use super::telling::who_words;
use super::words::part_words;
use crate::db::history::undo::{self, Hindrance};
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::onward_saying;
use crate::web::forms::Query;
use crate::web::path::{Path, own_page};
use crate::web::state::App;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct BackQuery {
    back: String,
}

pub(super) async fn undo(
    State(app): State<App>,
    mut visit: Visit,
    Path(act): Path<i64>,
    Query(query): Query<BackQuery>,
) -> Answer {
    let mut tx = app.book.write().await?;
    if let Err(hindrance) = undo::undo(&mut tx, act).await? {
        drop(tx);
        return Err(match hindrance {
            Hindrance::NoSuchAct => Trouble::NotFound("act in the history"),
            other => Trouble::Conflict(sentence(&other, &mut visit).await?),
        });
    }
    match tx.commit().await {
        Ok(()) => {}
        // What it put back names a row that is gone, or a row that it took out is named by another.
        Err(sqlx::Error::Database(error)) if error.is_foreign_key_violation() => {
            return Err(Trouble::Conflict(sentence(&Hindrance::Refused, &mut visit).await?));
        }
        Err(error) => return Err(error.into()),
    }
    let back = own_page(&query.back).unwrap_or("/history");
    onward_saying(&app, back, "Taken back: it is as it was before.")
}

/// Why an act cannot be taken back, for the person who asked.
async fn sentence(hindrance: &Hindrance, visit: &mut Visit) -> Result<String, sqlx::Error> {
    Ok(match hindrance {
        Hindrance::Undone(by) => {
            format!("This was taken back already, {}.", who_and_when(*by, visit).await?)
        }
        Hindrance::Later(by, table) => format!(
            "Something later stands on it: the {} was changed again, {}. Take that back first, in the history.",
            part_words(table),
            who_and_when(*by, visit).await?
        ),
        other => plain(other),
    })
}

fn plain(hindrance: &Hindrance) -> String {
    match hindrance {
        Hindrance::OnlyAdds => {
            "This only added something. What is too much is removed on its own page.".to_owned()
        }
        Hindrance::Final(table) => format!(
            "This cannot be taken back here: {} is never rewritten. It was sent, or it is put right by an entry of its own.",
            a_row_of(table)
        ),
        Hindrance::Adds(table) => format!(
            "This also added {}, which is removed on its own page. Nothing was taken back.",
            a_row_of(table)
        ),
        Hindrance::BuiltOn(table) => format!(
            "Something was built on it since: {} would be lost. Nothing was taken back.",
            a_row_of(table)
        ),
        Hindrance::Otherwise(table) => format!(
            "{} is otherwise than this left it. Nothing was taken back.",
            super::words::sentence_case(&format!("the {}", part_words(table)))
        ),
        _ => "It cannot be put back as things stand: what it was called is another’s name now, or what it named is gone. Nothing was taken back.".to_owned(),
    }
}

fn a_row_of(table: &str) -> String {
    let words = part_words(table);
    let article = if words.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!("{article} {words}")
}

async fn who_and_when(act: i64, visit: &mut Visit) -> Result<String, sqlx::Error> {
    let connection: &mut SqliteConnection = &mut visit.connection;
    let Some(act) = store::act(connection, act).await? else { return Ok("since".into()) };
    let at = visit.studio.formats.moment(act.done_at, &visit.studio.zone);
    let who = who_words(&act.who);
    Ok(if act.who.is_empty() {
        format!("at the studio’s computer, {at}")
    } else {
        format!("by {who}, {at}")
    })
}
