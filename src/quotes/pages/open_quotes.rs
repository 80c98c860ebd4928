//! Open quotes at today's prices: which lose margin, how much of it, and by which materials.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use askama::Template;
use rust_decimal::Decimal;
use sqlx::SqliteConnection;

use super::ink::Ink;
use crate::db::remembered::{Remembered, State};
use crate::events::recipe_names::RecipeNames;
use crate::events::{Event, Piece};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId};
use crate::ground::money::Money;
use crate::quotes::draft::Draft;
use crate::quotes::forms::{Known, QuoteForm};
use crate::quotes::margin_shift::{LineShift, MarginShift, MaterialShift, margin_shift};
use crate::quotes::pricing::Margin;
use crate::quotes::{Quote, Standing, store, words};
use crate::recipes::cost::Costing;
use crate::studio::Studio;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::{events, price_list, recipes};

/// An open quote: a draft, or one that was sent and waits for an answer.
pub(crate) struct OpenQuote {
    pub event: Event,
    pub sent: Option<Standing>,
    pub priced_on: Day,
    pub shift: MarginShift,
}

/// From what open quotes were reckoned.
#[derive(PartialEq)]
struct Key {
    state: State,
    today: Day,
    open: Vec<EventId>,
}

/// Open quotes whose margin is another at today's prices, the largest loss first. Reckoned once while nothing that they are
/// reckoned from changes: this week's page asks for them each time.
pub(crate) async fn open_quotes(
    connection: &mut SqliteConnection,
    studio: &Studio,
    today: Day,
) -> Result<Arc<Vec<OpenQuote>>, sqlx::Error> {
    static RECKONED: Remembered<Key, Vec<OpenQuote>> =
        Remembered::new(2, |new, old| new.state.of_one_book(&old.state));
    let open = store::open_from(connection, today).await?;
    let state = events::store::state(connection, &open, events::store::BEYOND_PIECES).await?;
    let key = state.map(|state| Key { state, today, open: open.clone() });
    RECKONED.or_read(key, reckoned(connection, studio, (&open, today))).await
}

async fn reckoned(
    connection: &mut SqliteConnection,
    studio: &Studio,
    (ids, today): (&[EventId], Day),
) -> Result<Vec<OpenQuote>, sqlx::Error> {
    let ahead = events::store::events(connection, ids).await?;
    let mut quotes = store::quotes(connection, ids).await?;
    let mut sent = store::standing(connection, ids).await?;
    let drafts = drafts(connection, studio, &ahead, &quotes).await?;
    let roots: BTreeSet<_> = drafts.values().flat_map(Draft::recipes).collect();
    let book = recipes::store::recipe_book(connection, &roots.into_iter().collect::<Vec<_>>()).await?;
    let mut priced: BTreeMap<Day, BTreeSet<MaterialId>> = BTreeMap::new();
    for (event, draft) in &drafts {
        let materials = book.materials_of(&draft.recipes());
        let days = quotes.get(event).map(|quote| quote.priced_on).into_iter().chain([today]);
        days.for_each(|day| priced.entry(day).or_default().extend(&materials));
    }
    let costs = price_list::store::unit_costs_on(connection, &priced).await?;
    let mut open: Vec<OpenQuote> = Vec::new();
    for event in ahead {
        let Some((quote, draft)) = quotes.remove(&event.id).zip(drafts.get(&event.id)) else { continue };
        let Some((then, now)) = costs.get(&quote.priced_on).zip(costs.get(&today)) else { continue };
        let (then, now) = (Costing::of(studio, &book, then), Costing::of(studio, &book, now));
        let shift = margin_shift(draft, &then, &now);
        if !shift.lost().is_zero() || !shift.left_out.is_empty() {
            let sent = sent.remove(&event.id);
            open.push(OpenQuote { event, sent, priced_on: quote.priced_on, shift });
        }
    }
    open.sort_by_key(|quote| (-quote.shift.lost(), quote.event.day, quote.event.id));
    Ok(open)
}

async fn drafts(
    connection: &mut SqliteConnection,
    studio: &Studio,
    events: &[Event],
    quotes: &HashMap<EventId, Quote>,
) -> Result<HashMap<EventId, Draft>, sqlx::Error> {
    let ids: Vec<EventId> = quotes.keys().copied().collect();
    let rates = store::tax_rates(connection, &ids).await?;
    let mut pieces: HashMap<EventId, Vec<Piece>> = HashMap::new();
    for piece in events::store::pieces(connection, &ids).await? {
        pieces.entry(piece.event_id).or_default().push(piece);
    }
    let draft = |event: &Event| {
        let quote = quotes.get(&event.id)?;
        let pieces = pieces.get(&event.id).map_or(&[][..], Vec::as_slice);
        let named = pieces.iter().map(|piece| (piece.recipe_id, piece.recipe.clone())).collect();
        let known = Known {
            recipes: RecipeNames(named),
            rates: rates.clone(),
            party: event.party(),
            formats: studio.formats,
        };
        Some((event.id, QuoteForm::of(quote, pieces, &studio.formats).draft(&known)))
    };
    Ok(events.iter().filter_map(draft).collect())
}

/// What open quotes lose in all, in words: `3 open quotes leave £210.00 less at today’s prices`; none where none loses.
pub(crate) fn losing_words(open: &[OpenQuote], formats: Formats) -> Option<String> {
    let losing = open.iter().map(|quote| quote.shift.lost()).filter(|lost| *lost > Money::ZERO);
    let lost: Vec<Money> = losing.collect();
    let sum = formats.money(lost.iter().copied().sum());
    match lost.len() {
        0 => None,
        1 => Some(format!("1 open quote leaves {sum} less at today’s prices")),
        many => Some(format!("{many} open quotes leave {sum} less at today’s prices")),
    }
}

#[derive(Template)]
#[template(path = "quotes/open_quotes.html")]
struct OpenPage {
    shell: Shell,
    ink: Ink,
    open: Arc<Vec<OpenQuote>>,
}

impl OpenPage {
    fn summary(&self) -> Option<String> {
        losing_words(&self.open, self.shell.formats)
    }

    /// A shape, and words.
    fn standing(&self, quote: &OpenQuote) -> (&'static str, String) {
        match &quote.sent {
            None => ("part", "Draft, not sent".into()),
            Some(sent) if sent.declined_on.is_some() => ("off", format!("Version {} declined", sent.number)),
            Some(sent) => {
                let on = self.shell.formats.day(sent.sent_on);
                ("asked", format!("Version {} sent on {on}, no answer", sent.number))
            }
        }
    }

    fn cost(&self, margin: &Margin) -> String {
        self.shell.formats.money(Money::rounded(margin.cost))
    }

    /// What is left, in money and as a share.
    fn left(&self, margin: &Margin) -> String {
        words::left(margin, &self.shell.formats)
    }

    /// `−£35.20, −2.4 points`.
    fn change(&self, shift: &MarginShift) -> String {
        let f = &self.shell.formats;
        let money = self.signed((-shift.lost()).decimal());
        let points = shift.points().map(|points| f.number(points, 1));
        match points {
            Some(points) => format!("{money}, {points} points"),
            None => money,
        }
    }

    fn signed(&self, minor: Decimal) -> String {
        let amount = self.shell.formats.unit_cost(minor.abs());
        if minor.is_sign_negative() && !minor.is_zero() {
            format!("−{amount}")
        } else {
            format!("+{amount}")
        }
    }

    /// `95 ÷ (1 − 5 %) × (£1.15 − £0.95) = +£20.00`.
    fn material(&self, one: &MaterialShift) -> String {
        let f = &self.shell.formats;
        let quantity = f.number(one.quantity, 2);
        let loss = if one.loss == crate::ground::quantity::Share::default() {
            String::new()
        } else {
            format!(" ÷ (1 − {})", f.share(one.loss))
        };
        let (now, then) = (f.unit_cost(one.each_now), f.unit_cost(one.each_then));
        format!("{quantity}{loss} × ({now} − {then}) = {} of cost", self.signed(one.difference))
    }

    /// `14 × Low bowl at £62.00, Long room: margin £460.00, 53.0 % became £420.00, 48.4 %`.
    fn line(&self, line: &LineShift) -> String {
        let place = if line.place.is_empty() { String::new() } else { format!(", {}", line.place) };
        let price = self.shell.formats.money(line.price);
        let (then, now) = (self.left(&line.then), self.left(&line.now));
        format!("{} × {} at {price}{place}: margin {then} became {now}", line.count, line.name)
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let studio = std::sync::Arc::clone(&visit.studio);
    let open = open_quotes(&mut visit.connection, &studio, visit.today).await?;
    let shell = visit.shell(Section::Events, "Open quotes at today’s prices");
    page(&OpenPage { ink: Ink(studio.formats), shell, open })
}
