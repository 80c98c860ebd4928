//! The pull list: every piece, vessel, candle, sundry, tool and spare that leaves the door for one event, by place.
//!
//! - Pieces by place, each with its count, once.
//! - Hard goods by place: count × quantity a piece, through nested recipes (C1), rounded up to whole ones a place.
//! - For the event as a whole: what is bought one for each started N pieces or once an event (rounded up once), rolls
//!   for cut lengths (laid out together, C1), water for the vessels (C9), the kit by its rule, extras.
//! - Water to top up: a quarter of what the vessels hold ([`TOP_UP`]), whole litres an event, rounded up.
//! - Spares of hard goods: one for each started `spare_per` of the event's total (C2).
//!
//! May import: the types and calculations of this room and of the rooms before it, `rust_decimal`, `serde`.

mod goods;
mod load;

use std::collections::BTreeMap;

pub(crate) use load::water_in;
pub use load::{TOP_UP, VESSEL_FILL};
use serde::Serialize;

use super::room::{self, Room};
use super::{KitItem, PullExtra};
use crate::events::{Event, Piece};
use crate::ground::caution::{Caution, Cautions};
use crate::ground::choice::Choice;
use crate::ground::dates::{Day, TimeOfDay};
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId, RecipeId};
use crate::price_list::MaterialKind;
use crate::recipes::RecipeBook;
use crate::recipes::explosion::ExplosionError;

/// The heading of what belongs to no one place.
pub const WHOLE_EVENT: &str = "The event as a whole";
/// The heading of the spares.
pub const SPARES: &str = "Spares";
/// The heading of the kit.
pub const KIT: &str = "Kit";

/// Everything a pull list is computed from.
#[derive(Debug, Clone)]
pub struct PullInputs {
    /// Which event.
    pub event: Event,
    /// Its pieces, by place.
    pub pieces: Vec<Piece>,
    /// Their recipes and materials.
    pub book: RecipeBook,
    /// The studio's kit.
    pub kit: Vec<KitItem>,
    /// What else this event needs.
    pub extras: Vec<PullExtra>,
}

/// What leaves the door for one event.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PullList {
    /// Which event.
    pub event_id: EventId,
    /// Its name.
    pub event: String,
    /// Whose it is.
    pub client: String,
    /// When.
    pub day: Day,
    /// Where.
    pub venue: String,
    /// From when the studio may set up.
    pub set_up_time: Option<TimeOfDay>,
    /// What is taken, by place.
    pub groups: Vec<PullGroup>,
    /// Pieces that could not be counted yet.
    pub open_counts: Vec<String>,
    /// What the studio does not own enough of, what cannot be cut.
    pub shortages: Vec<String>,
    /// Litres that go along to top up the vessels.
    pub top_up: i64,
    /// Where carrying and placing it can hurt someone.
    pub cautions: Vec<Caution>,
}

/// What is taken for one place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PullGroup {
    /// The place, or what the lines have in common.
    pub heading: String,
    /// What is taken.
    pub lines: Vec<PullLine>,
}

/// One thing that is taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PullLine {
    /// The same each time the list is made, so that a tick stays where it was set.
    pub key: String,
    /// How many.
    pub count: i64,
    /// Of what unit; empty for single things.
    pub unit: String,
    /// What.
    pub name: String,
    /// What kind of thing: piece, vessel, tool.
    pub kind: String,
    /// Whether it comes back after the event.
    pub comes_back: bool,
    /// Whether one of it, or all of it together, is for two people to lift.
    pub two_people: bool,
    /// What to know when packing it.
    pub note: String,
    /// The sum behind the count, in words.
    pub working: String,
    /// How heavy and large one is, where it travels by itself: pieces stand in crates, and hard goods in pieces.
    #[serde(skip)]
    pub room: Option<Room>,
}

/// The pull list of one event. Pieces whose count is open are named and left out.
///
/// Units: whole things, rolls, litres. Rounding: up, a place (hard goods), an event (one for each N, rolls, water).
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn list(inputs: &PullInputs, formats: &Formats) -> Result<PullList, ExplosionError> {
    let counted = Counted::of(&inputs.event, &inputs.pieces);
    let mut groups = Groups::default();
    let mut shelf = goods::Shelf::new(&inputs.book, formats);
    for (place, pieces) in &counted.by_place {
        let lines = groups.at(place);
        lines.extend(pieces.iter().map(|(piece, count)| piece_line(piece, *count)));
        lines.extend(shelf.at_place(pieces)?);
    }
    for extra in inputs.extras.iter().filter(|extra| !extra.place.is_empty()) {
        groups.at(&extra.place).push(extra_line(extra));
    }
    let whole = groups.at(WHOLE_EVENT);
    whole.extend(shelf.whole_event(&counted.recipes())?);
    whole.extend(inputs.extras.iter().filter(|extra| extra.place.is_empty()).map(extra_line));
    groups.at(SPARES).extend(shelf.spares());
    groups.at(KIT).extend(kit_lines(&inputs.kit, counted.total()));
    let cautions = cautions(inputs, &groups);
    Ok(PullList {
        event_id: inputs.event.id,
        event: inputs.event.name.clone(),
        client: inputs.event.client_name.clone(),
        day: inputs.event.day,
        venue: inputs.event.venue.clone(),
        set_up_time: inputs.event.set_up_time,
        groups: groups.filled(),
        open_counts: counted.open,
        top_up: shelf.top_up(),
        shortages: shelf.into_shortages(),
        cautions,
    })
}

/// How many of each material that comes back leave the door for an event: what its pull list says of them.
/// Pieces whose count is open are left out.
///
/// # Errors
/// A loop of recipes, or a recipe that is missing from the book.
pub fn lent(
    event: &Event,
    pieces: &[Piece],
    book: &RecipeBook,
    formats: &Formats,
) -> Result<BTreeMap<MaterialId, i64>, ExplosionError> {
    let counted = Counted::of(event, pieces);
    let mut shelf = goods::Shelf::of_loans(book, formats);
    for (_, pieces) in &counted.by_place {
        shelf.at_place(pieces)?;
    }
    shelf.whole_event(&counted.recipes())?;
    Ok(shelf.into_taken())
}

/// The pieces with their counts, by place, and those that cannot be counted.
struct Counted<'a> {
    by_place: Vec<(&'a str, Vec<(&'a Piece, i64)>)>,
    open: Vec<String>,
}

impl<'a> Counted<'a> {
    fn of(event: &Event, pieces: &'a [Piece]) -> Counted<'a> {
        let mut counted = Counted { by_place: Vec::new(), open: Vec::new() };
        for piece in pieces {
            match event.count_of(piece) {
                Some(count) => counted.add(piece, count),
                None => counted.open.push(format!(
                    "{}, {}: {} {}",
                    piece.recipe,
                    piece.place,
                    piece.count.decimal().normalize(),
                    piece.rule.label()
                )),
            }
        }
        counted
    }

    fn add(&mut self, piece: &'a Piece, count: i64) {
        match self.by_place.iter_mut().find(|(place, _)| *place == piece.place) {
            Some((_, pieces)) => pieces.push((piece, count)),
            None => self.by_place.push((&piece.place, vec![(piece, count)])),
        }
    }

    fn recipes(&self) -> Vec<(RecipeId, i64)> {
        self.pieces().map(|(piece, count)| (piece.recipe_id, *count)).collect()
    }

    fn total(&self) -> i64 {
        self.pieces().map(|(_, count)| *count).sum()
    }

    fn pieces(&self) -> impl Iterator<Item = &(&'a Piece, i64)> {
        self.by_place.iter().flat_map(|(_, pieces)| pieces)
    }
}

/// Groups in the order in which they were first named.
#[derive(Default)]
struct Groups {
    list: Vec<PullGroup>,
}

impl Groups {
    fn at(&mut self, heading: &str) -> &mut Vec<PullLine> {
        let known = self.list.iter().position(|group| group.heading.eq_ignore_ascii_case(heading));
        let at = known.unwrap_or_else(|| {
            self.list.push(PullGroup { heading: heading.into(), lines: Vec::new() });
            self.list.len() - 1
        });
        &mut self.list[at].lines
    }

    fn filled(self) -> Vec<PullGroup> {
        self.list.into_iter().filter(|group| !group.lines.is_empty()).collect()
    }
}

fn piece_line(piece: &Piece, count: i64) -> PullLine {
    let working = match piece.rule {
        crate::events::CountRule::Number => format!("{count}, as written in the event"),
        rule => format!("{} {}, rounded up: {count}", piece.count.decimal().normalize(), rule.label()),
    };
    PullLine {
        key: format!("piece-{}", piece.id),
        count,
        unit: String::new(),
        name: piece.recipe.clone(),
        kind: "Piece".into(),
        comes_back: false,
        two_people: false,
        note: piece.note.clone(),
        working,
        room: None,
    }
}

fn extra_line(extra: &PullExtra) -> PullLine {
    PullLine {
        key: format!("extra-{}", extra.id.map_or(0, |id| id.0)),
        count: extra.quantity,
        unit: String::new(),
        name: extra.name.clone(),
        kind: "Extra".into(),
        comes_back: false,
        two_people: false,
        note: extra.note.clone(),
        working: format!("{}, as written on this list", extra.quantity),
        room: Some(extra.measured.or(room::EXTRA)),
    }
}

/// The kit by its rule: quantity × ceil(pieces ÷ per), or the quantity once an event.
fn kit_lines(kit: &[KitItem], pieces: i64) -> impl Iterator<Item = PullLine> + '_ {
    kit.iter().filter_map(move |item| {
        let (times, working) = match item.per_pieces {
            None => (1, format!("{} an event", item.quantity)),
            Some(per) => {
                let times = pieces.saturating_add(per - 1) / per.max(1);
                (times, format!("{} for each started {per} of {pieces} pieces: {times} ×", item.quantity))
            }
        };
        (times > 0).then(|| PullLine {
            key: format!("kit-{}", item.id.map_or(0, |id| id.0)),
            count: item.quantity.saturating_mul(times),
            unit: String::new(),
            name: item.name.clone(),
            kind: item.kind.label().into(),
            comes_back: item.kind == super::KitKind::Tool || item.kind == super::KitKind::Safety,
            two_people: false,
            note: String::new(),
            working,
            room: Some(item.measured.or(item.kind.usual_room())),
        })
    })
}

/// What recipes and materials say, flame where candles go along, and lifting always: crates are carried.
fn cautions(inputs: &PullInputs, groups: &Groups) -> Vec<Caution> {
    let book = &inputs.book;
    let mut all = Cautions::of(&[Caution::Lifting]);
    for recipe in book.recipes.values() {
        all = all.and(recipe.cautions);
    }
    for material in book.materials.values() {
        all = all.and(material.cautions);
    }
    let candle = MaterialKind::Candle.label();
    if groups.list.iter().flat_map(|group| &group.lines).any(|line| line.kind == candle) {
        all = all.and(Cautions::of(&[Caution::Flame]));
    }
    all.list()
}

#[cfg(test)]
mod tests;
