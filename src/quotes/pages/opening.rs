//! What every page of a quote begins with: the event, its pieces, its quote, what may be named; and its prices on a day.

use sqlx::SqliteConnection;

use crate::events::{Event, Piece};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId};
use crate::price_list;
use crate::quotes::document::{Around, Document, document};
use crate::quotes::draft::Draft;
use crate::quotes::forms::{Known, QuoteForm};
use crate::quotes::pricing::{Priced, price};
use crate::quotes::{Quote, Wording, store};
use crate::recipes::RecipeBook;
use crate::recipes::cost::Costing;
use crate::studio::Studio;
use crate::web::answer::Trouble;
use crate::{clients, events, recipes};

/// An event with its quote, as the book has them.
pub(in crate::quotes) struct Opened {
    pub event: Event,
    pub quote: Option<Quote>,
    pub pieces: Vec<Piece>,
    pub known: Known,
}

/// Opens an event's quote.
pub(in crate::quotes) async fn open(
    connection: &mut SqliteConnection,
    studio: &Studio,
    id: EventId,
) -> Result<Opened, Trouble> {
    let event = events::store::event(connection, id).await?.ok_or(Trouble::NotFound("event"))?;
    let known = Known {
        recipes: events::store::recipe_names(connection, id).await?,
        rates: store::tax_rates(connection, id).await?,
        party: event.party(),
        formats: studio.formats,
    };
    let pieces = events::store::pieces(connection, &[id]).await?;
    Ok(Opened { event, quote: store::quote(connection, id).await?, pieces, known })
}

impl Opened {
    /// The form as the book has it.
    pub(in crate::quotes) fn form(&self, studio: &Studio, today: Day) -> QuoteForm {
        match &self.quote {
            Some(quote) => QuoteForm::of(quote, &self.pieces, &studio.formats),
            None => QuoteForm::blank(&self.pieces, studio, today),
        }
    }

    /// The day whose prices are used.
    pub(in crate::quotes) fn priced_on(&self, today: Day) -> Day {
        self.quote.as_ref().map_or(today, |quote| quote.priced_on)
    }
}

/// The recipes that a draft names.
pub(in crate::quotes) async fn book_of(
    connection: &mut SqliteConnection,
    draft: &Draft,
) -> Result<RecipeBook, sqlx::Error> {
    recipes::store::recipe_book(connection, &draft.recipes()).await
}

/// A draft at the prices of a day.
pub(in crate::quotes) async fn priced_on(
    connection: &mut SqliteConnection,
    (draft, book): (&Draft, &RecipeBook),
    studio: &Studio,
    day: Day,
) -> Result<Priced, sqlx::Error> {
    let materials: Vec<MaterialId> = book.materials.keys().copied().collect();
    let costs = price_list::store::unit_costs(connection, &materials, day).await?;
    let costing = Costing {
        book,
        costs: &costs,
        usual_loss: studio.loss,
        markups: studio.markups,
        labour: studio.labour,
        rounding: studio.rounding,
    };
    Ok(price(draft, &costing))
}

/// A quote as the client would read it now.
pub(in crate::quotes) struct Drafted {
    pub priced: Priced,
    pub document: Document,
}

/// Makes the document of an event's quote as the book has it. Without a tax rate there is none.
pub(in crate::quotes) async fn drafted(
    connection: &mut SqliteConnection,
    opened: &Opened,
    studio: &Studio,
    today: Day,
) -> Result<Option<Drafted>, Trouble> {
    if opened.known.rates.is_empty() {
        return Ok(None);
    }
    let form = opened.form(studio, today);
    let draft = form.draft(&opened.known);
    let on = opened.priced_on(today);
    let book = book_of(connection, &draft).await?;
    let priced = priced_on(connection, (&draft, &book), studio, on).await?;
    let client = clients::store::client(connection, opened.event.client_id).await?;
    let client = client.unwrap_or_else(|| nameless(&opened.event));
    let wording = opened.quote.as_ref().map_or_else(
        || Wording {
            words: String::new(),
            terms: studio.terms.clone(),
            valid_until: form.valid_until.parse().ok(),
        },
        |quote| quote.wording.clone(),
    );
    let instalments = opened.quote.as_ref().map_or(&[][..], |quote| &quote.instalments);
    let around = Around {
        studio,
        client: &client,
        event: &opened.event,
        priced_on: on,
        wording: &wording,
        rates: &opened.known.rates,
        instalments,
        book: &book,
    };
    let document = document(&priced, &draft, &around);
    Ok(Some(Drafted { priced, document }))
}

/// The client was removed; the event still knows the name.
fn nameless(event: &Event) -> clients::Client {
    clients::Client {
        id: event.client_id,
        version: 0,
        name: event.client_name.clone(),
        email: String::new(),
        phone: String::new(),
        address: String::new(),
        note: String::new(),
    }
}
