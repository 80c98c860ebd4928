//! Everything a close-out follows from, read once.

use std::collections::{BTreeMap, BTreeSet};

use sqlx::SqliteConnection;

use super::{became, bench_losses, from_stock, typed};
use crate::accounts::document::Kind as InvoiceKind;
use crate::accounts::store::invoices::{self, Kept};
use crate::close_out::Typed;
use crate::close_out::figures::{Figures, Income};
use crate::close_out::reckoning::{Read, figures};
use crate::events::{self, Ending, Event};
use crate::ground::ids::{InvoiceId, MaterialId, PlacedLineId, RecipeId};
use crate::ground::money::Money;
use crate::prep::event_work;
use crate::price_list;
use crate::pull_list::loans;
use crate::quotes::document::{Document, Frozen};
use crate::quotes::{self, standing_acceptance};
use crate::recipes;
use crate::stem_order::placing::{self, PlacedOrder};
use crate::studio::Studio;

/// An event's close-out with what pages show beside it.
#[derive(Debug)]
pub struct Gathered {
    /// The figures as they are now.
    pub figures: Figures,
    /// What was typed.
    pub typed: Typed,
    /// The event's recipes by name, for the form.
    pub recipes: Vec<(RecipeId, String)>,
}

/// Reads all of an event's close-out and reckons it.
pub async fn gather(
    connection: &mut SqliteConnection,
    studio: &Studio,
    event: &Event,
) -> Result<Gathered, sqlx::Error> {
    let read = read(connection, studio, event).await?;
    let names = read.counts[1].keys().filter_map(|id| Some((*id, read.book.recipes.get(id)?.name.clone())));
    let recipes = names.collect();
    let figures = figures(&read);
    Ok(Gathered { figures, typed: read.typed, recipes })
}

async fn read<'a>(
    connection: &mut SqliteConnection,
    studio: &'a Studio,
    event: &'a Event,
) -> Result<Read<'a>, sqlx::Error> {
    let mut versions = quotes::store::versions(connection, event.id).await?;
    let accepted = standing_acceptance(&versions).map(|at| versions.swap_remove(at).frozen);
    let pieces = events::store::pieces(connection, &[event.id]).await?;
    let counts = counts(event, &pieces, accepted.as_ref().map(|frozen| &frozen.document));
    let roots: Vec<RecipeId> = counts.iter().flat_map(BTreeMap::keys).copied().collect();
    let priced_on = accepted.as_ref().map_or(event.day, |frozen| frozen.document.priced_on);
    let (book, planned_costs) = recipes::store::priced_book(connection, &roots, priced_on).await?;
    let orders = placing::store::orders_of_events(connection, &[event.id]).await?;
    let lines: Vec<PlacedLineId> = orders.iter().flat_map(PlacedOrder::lines).map(|line| line.id).collect();
    let became = became(connection, &lines).await?;
    let stock = from_stock(connection, event.id).await?;
    let loans = loans::store::count(connection, event.id).await?;
    let known = orders.iter().flat_map(PlacedOrder::lines).map(|line| line.material_id);
    let known = known.chain(stock.iter().map(|used| used.material));
    let known = known.chain(loans.iter().flat_map(|count| &count.lines).map(|line| line.material));
    let ids: BTreeSet<MaterialId> = known.chain(book.materials.keys().copied()).collect();
    let ids: Vec<MaterialId> = ids.into_iter().collect();
    Ok(Read {
        event,
        studio,
        counts,
        materials: price_list::store::materials(connection, &ids).await?,
        costs: [planned_costs, price_list::store::unit_costs(connection, &ids, event.day).await?],
        book,
        orders,
        became,
        stock,
        bench: bench_losses(connection, event.id).await?,
        loans,
        work: event_work::store::event_work(connection, event.id).await?,
        typed: typed(connection, event.id).await?,
        income: income(connection, event, accepted.as_ref()).await?,
        frozen: accepted,
    })
}

/// Pieces by recipe: by the accepted document, and as they stand now. Without an accepted version both are as they stand.
fn counts(
    event: &Event,
    pieces: &[events::Piece],
    document: Option<&Document>,
) -> [BTreeMap<RecipeId, i64>; 2] {
    let (mut quoted, mut now) = (BTreeMap::<RecipeId, i64>::new(), BTreeMap::<RecipeId, i64>::new());
    for piece in pieces {
        *now.entry(piece.recipe_id).or_default() += event.count_of(piece).unwrap_or(0);
    }
    let Some(document) = document else { return [now.clone(), now] };
    for line in document.places.iter().flat_map(|place| &place.lines) {
        let piece = pieces.iter().find(|piece| Some(piece.id) == line.piece);
        if let (Some(piece), Some(count)) = (piece, line.count) {
            *quoted.entry(piece.recipe_id).or_default() += count;
        }
    }
    [quoted, now]
}

async fn income(
    connection: &mut SqliteConnection,
    event: &Event,
    accepted: Option<&Frozen>,
) -> Result<Income, sqlx::Error> {
    let kept = invoices::of_event(connection, event.id).await?;
    let accepted = accepted.map(|frozen| frozen.document.before_tax);
    let called_off = matches!(event.ended, Some((_, Ending::Lost | Ending::Cancelled)));
    let to_come = accepted.filter(|_| !called_off).map(|accepted| accepted - of_quote(&kept));
    Ok(Income {
        accepted,
        invoiced: before_tax(&kept, |one| one.document.kind != InvoiceKind::Credit),
        credited: before_tax(&kept, |one| one.document.kind == InvoiceKind::Credit),
        any: !kept.is_empty(),
        to_come: to_come.unwrap_or_default().max(Money::ZERO),
    })
}

/// What was invoiced of the quote. Until the final invoice a credit is invoiced anew with what is left; after it, it is a
/// reduction.
fn of_quote(kept: &[Kept]) -> Money {
    let kind =
        |id: Option<InvoiceId>| kept.iter().find(|one| Some(one.id) == id).map(|one| one.document.kind);
    let asked =
        before_tax(kept, |one| !matches!(one.document.kind, InvoiceKind::Credit | InvoiceKind::Other));
    if kept.iter().any(|one| one.document.kind == InvoiceKind::Final) {
        return asked;
    }
    let credits = |one: &Kept| {
        one.document.kind == InvoiceKind::Credit && kind(one.credits_id) != Some(InvoiceKind::Other)
    };
    asked - before_tax(kept, credits)
}

fn before_tax(kept: &[Kept], is: impl Fn(&Kept) -> bool) -> Money {
    kept.iter().filter(|one| is(one)).map(|one| one.document.figures.before_tax).sum()
}
