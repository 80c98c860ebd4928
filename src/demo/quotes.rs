//! The demo's sent quotes and how they were answered. Their frozen documents are not in the files: the quotes room makes
//! them, as it does for any quote, so that they are always what it can read.

use anyhow::bail;
use sqlx::SqliteConnection;

use crate::events::{self, NewPiece};
use crate::ground::dates::{Day, Moment};
use crate::ground::ids::{EventId, QuoteVersionId};
use crate::ground::quantity::Quantity;
use crate::quotes::{self, Acceptance, Decline};
use crate::studio::Studio;

/// A quote that was sent, so many days after the files' Saturday.
struct Sent {
    event: i64,
    on: i64,
    to: &'static str,
    /// Pieces of which there were others then than in the files: which, how many.
    then: &'static [(i64, i64)],
    answer: Answer,
}

/// How it was answered.
enum Answer {
    /// Not yet.
    Open,
    /// When, by whom, how.
    Accepted(i64, &'static str, &'static str),
    /// When, by whom, why.
    Declined(i64, &'static str, &'static str),
}

/// In the order in which they were sent for each event.
const SENT: [Sent; 9] = [
    sent(2, -96, "delia.pennywort@post.example", Answer::Accepted(-90, "Delia Pennywort", "In the studio")),
    sent(
        1,
        -58,
        "office@dlf-law.example",
        Answer::Accepted(-55, "Office of Dorrit, Lowe & Finch", "By mail, PO 20417"),
    ),
    sent(3, -68, "imke.and.tobias@post.example", Answer::Accepted(-61, "Imke Sorrell", "Signed at the barn")),
    sent(
        4,
        -38,
        "secretary@sallowbyrowing.example",
        Answer::Accepted(-33, "Greer Oddie, secretary", "By mail"),
    ),
    // One pitcher and two buttonholes at first; a change note brought one more of each.
    Sent {
        then: &[(30, 1), (31, 2)],
        ..sent(5, -19, "joss.hallorane@post.example", Answer::Accepted(-14, "Joss Hallorane", "By telephone"))
    },
    sent(
        10,
        -32,
        "office@dlf-law.example",
        Answer::Accepted(-30, "Office of Dorrit, Lowe & Finch", "By mail"),
    ),
    // Twenty-four jars down the aisle were too many; sixteen are asked about.
    Sent {
        then: &[(38, 24)],
        ..sent(
            8,
            -20,
            "brindletay@post.example",
            Answer::Declined(-15, "Saskia Brindle", "Too much for the aisle: fewer jars, please"),
        )
    },
    sent(
        5,
        -12,
        "joss.hallorane@post.example",
        Answer::Accepted(-11, "Joss Hallorane", "By telephone: cousin Wyn comes too"),
    ),
    sent(8, -12, "brindletay@post.example", Answer::Open),
];

const fn sent(event: i64, on: i64, to: &'static str, answer: Answer) -> Sent {
    Sent { event, on, to, then: &[], answer }
}

/// Sends all of them and records the answers.
pub(super) async fn keep(
    connection: &mut SqliteConnection,
    studio: &Studio,
    saturday: Day,
) -> anyhow::Result<()> {
    for sent in &SENT {
        let id = EventId(sent.event);
        let now = counted(connection, id, sent.then).await?;
        let as_sent = (saturday.plus(sent.on), sent.to);
        let version = match quotes::pages::send(connection, studio, id, as_sent).await {
            Ok(version) => version,
            Err(trouble) => bail!("The demo's quote of event {id} is not sent: {trouble:?}"),
        };
        answered(connection, version, &sent.answer, saturday).await?;
        if !sent.then.is_empty() {
            events::store::keep_pieces(connection, id, &now).await?;
        }
    }
    Ok(())
}

/// Gives an event the counts it had then; returns its pieces as they are in the files.
async fn counted(
    connection: &mut SqliteConnection,
    event: EventId,
    then: &[(i64, i64)],
) -> Result<Vec<NewPiece>, sqlx::Error> {
    if then.is_empty() {
        return Ok(Vec::new());
    }
    let pieces = events::store::pieces(connection, &[event]).await?;
    let now: Vec<NewPiece> =
        pieces.iter().map(|piece| NewPiece { id: Some(piece.id), ..piece.again() }).collect();
    let mut before = now.clone();
    for piece in &mut before {
        let other = then.iter().find(|(id, _)| piece.id.is_some_and(|piece| piece.0 == *id));
        piece.count = other.map_or(piece.count, |(_, count)| Quantity::whole(*count));
    }
    events::store::keep_pieces(connection, event, &before).await?;
    Ok(now)
}

async fn answered(
    connection: &mut SqliteConnection,
    version: QuoteVersionId,
    answer: &Answer,
    saturday: Day,
) -> anyhow::Result<()> {
    let recorded = |on: Day| format!("{on}T16:20:00Z").parse::<Moment>();
    match *answer {
        Answer::Open => {}
        Answer::Accepted(on, by, how) => {
            let on = saturday.plus(on);
            let acceptance = Acceptance { on, by: by.into(), how: how.into() };
            quotes::store::accept(connection, version, &acceptance, recorded(on)?).await?;
        }
        Answer::Declined(on, by, reason) => {
            let on = saturday.plus(on);
            let decline = Decline { on, by: by.into(), reason: reason.into() };
            quotes::store::decline(connection, version, &decline, recorded(on)?).await?;
        }
    }
    Ok(())
}
