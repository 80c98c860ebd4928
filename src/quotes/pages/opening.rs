//! What every page of a quote begins with: the event, its pieces, its quote, what may be named; and its prices on a day.

use std::collections::{HashMap, HashSet};

use sqlx::SqliteConnection;

use crate::events::{Event, Piece};
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, PictureId, PieceId};
use crate::quotes::change_note::payment::{AgreedPayment, parts};
use crate::quotes::change_note::{ChangeNote, change_note};
use crate::quotes::changes::changes;
use crate::quotes::document::{Around, Document, document};
use crate::quotes::draft::Draft;
use crate::quotes::forms::{Known, QuoteForm};
use crate::quotes::payment::{UsualPart, beginning};
use crate::quotes::pricing::{Priced, price};
use crate::quotes::{Instalment, Quote, Version, Wording, agreed, store};
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
    /// In which parts the studio usually asks for a payment: a new quote begins with them.
    usual: Vec<UsualPart>,
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
        rates: store::tax_rates(connection, &[id]).await?,
        party: event.party(),
        formats: studio.formats,
    };
    let pieces = events::store::pieces(connection, &[id]).await?;
    let usual = store::usual_parts(connection).await?;
    Ok(Opened { event, quote: store::quote(connection, id).await?, pieces, known, usual })
}

impl Opened {
    /// The form as the book has it.
    pub(in crate::quotes) fn form(&self, studio: &Studio, today: Day) -> QuoteForm {
        match &self.quote {
            Some(quote) => QuoteForm::of(quote, &self.pieces, &studio.formats),
            None => QuoteForm::blank(&self.pieces, studio, today)
                .with_parts(&self.instalments(today), studio.formats),
        }
    }

    /// The parts of the payment; of a quote that is not begun yet, those that it begins with.
    fn instalments(&self, today: Day) -> Vec<Instalment> {
        match &self.quote {
            Some(quote) => quote.instalments.clone(),
            None => beginning(&self.usual, self.event.day, today),
        }
    }

    /// The day whose prices are used.
    pub(in crate::quotes) fn priced_on(&self, today: Day) -> Day {
        self.quote.as_ref().map_or(today, |quote| quote.priced_on)
    }
}

/// A draft at the prices of a day, with the recipes that it names.
pub(in crate::quotes) async fn priced_on(
    connection: &mut SqliteConnection,
    draft: &Draft,
    studio: &Studio,
    day: Day,
) -> Result<(Priced, RecipeBook), sqlx::Error> {
    let (book, costs) = recipes::store::priced_book(connection, &draft.recipes(), day).await?;
    let priced = price(draft, &Costing::of(studio, &book, &costs));
    Ok((priced, book))
}

/// A quote as the client would read it now.
pub(in crate::quotes) struct Drafted {
    pub priced: Priced,
    pub document: Document,
    /// What it changes of what is agreed, where a version is accepted; empty where it changes nothing.
    pub change: Option<ChangeNote>,
    /// The pieces' pictures, each at the first piece of its recipe.
    pub pictures: HashMap<PieceId, PictureId>,
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
    let (priced, book) = priced_on(connection, &draft, studio, on).await?;
    let client = clients::store::client(connection, opened.event.client_id).await?;
    let client = client.unwrap_or_else(|| nameless(&opened.event));
    let wording = opened.quote.as_ref().map_or_else(
        || Wording {
            words: studio.greeting.clone(),
            terms: studio.terms.clone(),
            valid_until: form.valid_until.parse().ok(),
        },
        |quote| quote.wording.clone(),
    );
    let instalments = opened.instalments(today);
    let around = Around {
        studio,
        client: &client,
        event: &opened.event,
        priced_on: on,
        wording: &wording,
        rates: &opened.known.rates,
        instalments: &instalments,
        book: &book,
    };
    let mut document = document(&priced, &draft, &around);
    let versions = store::versions(connection, opened.event.id).await?;
    let change = changed(&versions, &mut document, &instalments, today);
    let pictures = pictures(&priced, &book);
    Ok(Some(Drafted { priced, document, change, pictures }))
}

/// What a document changes of what is agreed, if something is. The parts of its payment that have fallen due stay as they
/// were agreed.
fn changed(
    versions: &[Version],
    document: &mut Document,
    plan: &[Instalment],
    today: Day,
) -> Option<ChangeNote> {
    let (version, acceptance) = agreed(versions)?;
    let number =
        versions.iter().filter(|version| version.frozen.change.is_some()).fold(1, |next, _| next + 1);
    let frozen = &version.frozen;
    let printed: Vec<Instalment> = frozen.document.instalments.iter().map(Instalment::from).collect();
    let payment = AgreedPayment {
        parts: &frozen.document.instalments,
        plan: frozen.change.as_ref().map_or(&printed, |change| &change.plan),
    };
    if !payment.parts.is_empty() {
        let label = format!("Change note {number}");
        document.instalments = parts(payment, plan, document.total, today, &label);
    }
    Some(change_note(number, (version, acceptance), document, plan))
}

/// What a quote changes of what is agreed and is not sent yet, if anything: what the event's first page says.
pub(crate) async fn unsent_change(
    connection: &mut SqliteConnection,
    studio: &Studio,
    id: EventId,
    today: Day,
) -> Result<Option<ChangeNote>, Trouble> {
    let opened = open(connection, studio, id).await?;
    let Some(Drafted { document, change: Some(change), .. }) =
        drafted(connection, &opened, studio, today).await?
    else {
        return Ok(None);
    };
    let versions = store::versions(connection, id).await?;
    let sent = versions.last().is_some_and(|latest| {
        latest.decline.is_none() && changes(&latest.frozen.document, &document).is_empty()
    });
    Ok(Some(change).filter(|change| !change.is_empty() && !sent))
}

/// A picture stands where its recipe comes first, so that a long quote is not full of the same one.
fn pictures(priced: &Priced, book: &RecipeBook) -> HashMap<PieceId, PictureId> {
    let mut shown = HashSet::new();
    let mut pictures = HashMap::new();
    for line in &priced.lines {
        let picture =
            line.line.recipe.and_then(|id| book.recipes.get(&id)).and_then(|recipe| recipe.picture_id);
        if let (Some(piece), Some(picture)) = (line.line.piece, picture)
            && shown.insert(picture)
        {
            pictures.insert(piece, picture);
        }
    }
    pictures
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
