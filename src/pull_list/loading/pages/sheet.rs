//! The load sheet of one event, or of all events of a day.

use askama::Template;
use serde::Deserialize;

use super::super::sheet::{Drop, Freight, LoadSheet, sheet};
use super::super::store;
use super::super::vans::{Trip, VanLoad};
use super::super::{Van, sheet as load_sheet};
use super::pictures::{VanPicture, of_van};
use super::rows::{Group, Row, grouped, rows};
use crate::events::pages::event_or_trouble;
use crate::events::{self, Event};
use crate::ground::caution::Caution;
use crate::ground::dates::Day;
use crate::ground::ids::EventId;
use crate::pull_list::pull::PullLine;
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks::pages::Hand;
use crate::ticks::sheet::{Sheet, SheetLine};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::Query;
use crate::web::path::Path;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct LoadQuery {
    van: String,
}

#[derive(Template)]
#[template(path = "pull_list/loading/sheet.html")]
struct SheetPage {
    shell: Shell,
    day: Day,
    /// The one event asked for, if it was one.
    event: Option<Event>,
    sheet: LoadSheet,
    rows: Vec<Row>,
    ticks: Sheet,
    /// Which of the studio's vans is looked at.
    chosen: usize,
    /// How many other open events the day has.
    others: usize,
}

/// The rows of one event on one trip, in the order of loading.
struct Part<'a> {
    drop: &'a Drop,
    /// From 1, in the order in which they are reached.
    number: usize,
    groups: Vec<Group<'a>>,
}

/// One drive with the picture of the van's floor.
struct Drive<'a> {
    number: usize,
    weight: String,
    picture: VanPicture,
    parts: Vec<Part<'a>>,
}

impl SheetPage {
    fn van(&self) -> Option<(&Van, &VanLoad)> {
        self.sheet.vans.get(self.chosen).map(|(van, load)| (van, load))
    }

    /// The drives of the van, or all of it once where there is no van.
    fn drives(&self) -> Vec<Drive<'_>> {
        let Some((van, load)) = self.van() else { return Vec::new() };
        let formats = self.shell.formats;
        let drive = |(number, trip): (usize, &Trip)| Drive {
            number,
            weight: format!("{} of {}", formats.weight(trip.weight), formats.weight(van.payload)),
            picture: of_van(van, trip, &self.sheet),
            parts: self.parts(trip.stacks.iter().flat_map(|stack| stack.cargo.iter().copied())),
        };
        (1..).zip(&load.trips).map(drive).collect()
    }

    /// Everything in the order of loading, where no van is written down.
    fn without_van(&self) -> Vec<Part<'_>> {
        if self.van().is_some() { Vec::new() } else { self.parts((0..self.rows.len()).rev()) }
    }

    fn parts(&self, order: impl Iterator<Item = usize>) -> Vec<Part<'_>> {
        let placed = order.filter_map(|at| Some((self.sheet.freight.get(at)?.drop(), self.rows.get(at)?)));
        let placed: Vec<(usize, &Row)> = placed.collect();
        let same_drop = placed.chunk_by(|one, other| one.0 == other.0);
        same_drop
            .map(|of| Part {
                drop: &self.sheet.drops[of[0].0],
                number: of[0].0 + 1,
                groups: grouped(of.iter().map(|(_, row)| *row).collect()),
            })
            .collect()
    }

    fn too_large(&self) -> Vec<String> {
        let Some((_, load)) = self.van() else { return Vec::new() };
        let rows = load.too_large.iter().filter_map(|at| self.rows.get(*at));
        rows.map(|row| format!("{} {} ({})", row.unit, row.number, row.what)).collect()
    }

    /// Pieces that are in no crate, and not on the van's floor either.
    fn left_out(&self) -> Vec<String> {
        let mut words = Vec::new();
        for (at, drop) in self.sheet.drops.iter().enumerate() {
            for loose in &drop.packed.loose {
                let laid_out = |freight: &Freight| matches!(freight, Freight::Loose(drop, lot, _) if (*drop, *lot) == (at, loose.lot));
                let Some(lot) = drop.lots.get(loose.lot) else { continue };
                if !self.sheet.freight.iter().any(laid_out) {
                    words.push(format!("{} × {}, {}: {}", loose.count, lot.what, lot.place, loose.why));
                }
            }
        }
        words
    }

    fn open_counts(&self) -> Vec<&String> {
        self.sheet.drops.iter().flat_map(|drop| &drop.open_counts).collect()
    }

    /// What is not a piece, by drop and by what it is packed in: `in K1`.
    fn aboard(&self) -> Vec<(&Drop, String, Vec<&PullLine>)> {
        let mut all: Vec<(&Drop, String, Vec<&PullLine>)> = Vec::new();
        for drop in &self.sheet.drops {
            let first = all.len();
            for (at, line) in drop.aboard.iter().enumerate() {
                let packed = self.packed_in(drop, at, line);
                match all[first..].iter_mut().find(|(_, own, _)| *own == packed) {
                    Some((_, _, lines)) => lines.push(line),
                    None => all.push((drop, packed, vec![line])),
                }
            }
        }
        all
    }

    fn aboard_key(&self, drop: &Drop, line: &PullLine) -> String {
        aboard_key(drop, line)
    }

    /// What a tick on something else aboard says aloud.
    fn spoken(&self, drop: &Drop, line: &PullLine) -> String {
        format!("In the van: {}, {}", line.name, drop.event.name)
    }

    fn packed_in(&self, drop: &Drop, at: usize, line: &PullLine) -> String {
        if line.key == "water-top-up" {
            return match drop.cans.len() {
                1 => "in 1 can".into(),
                cans => format!("in {cans} cans"),
            };
        }
        let crates = drop.goods.crates.iter().filter(|own| own.contents.iter().any(|(line, _)| *line == at));
        let crates: Vec<String> = crates.map(|own| format!("K{}", own.number)).collect();
        match (crates.is_empty(), self.sheet.kinds.is_empty()) {
            (false, _) => format!("in {}", crates.join(", ")),
            (true, false) => "loose".into(),
            (true, true) => String::new(),
        }
    }

    /// `fits the Small van`, `needs 2 trips with the Small van`, for each van with its number.
    fn verdicts(&self) -> Vec<(String, String, bool)> {
        let vans = self.sheet.vans.iter().enumerate();
        vans.map(|(at, (van, load))| {
            let words = match (load.trips.len(), load.too_large.len()) {
                (0 | 1, 0) => format!("Fits the {}", van.name),
                (0, _) => format!("Does not fit the {}", van.name),
                (trips, 0) => format!("Needs {trips} trips with the {}", van.name),
                (trips, large) => {
                    format!("Needs {trips} trips with the {}, {large} too large for it", van.name)
                }
            };
            (id(van), words, at == self.chosen)
        })
        .collect()
    }

    fn crates(&self) -> usize {
        self.sheet.drops.iter().map(|drop| drop.packed.crates.len() + drop.goods.crates.len()).sum()
    }

    fn for_two(&self) -> usize {
        self.rows.iter().filter(|row| row.two_people).count()
    }

    fn is_empty(&self) -> bool {
        self.sheet.drops.iter().all(|drop| drop.lots.is_empty() && drop.aboard.is_empty())
    }

    fn is_estimated(&self) -> bool {
        self.rows.iter().any(|row| !row.estimated.is_empty())
    }

    fn wall(&self) -> String {
        self.shell.formats.length(load_sheet::WALL)
    }

    fn caution(&self) -> String {
        format!(
            "{} Crates stand on a non-slip liner, wedged or strapped, nothing loose behind the driver; water slops, so top \
            up at the venue; broken glass wants gloves and a sharps box. The vehicle's papers and local rules decide what \
            it may carry.",
            Caution::Lifting.sentence()
        )
    }

    fn names(&self) -> String {
        self.sheet.drops.iter().map(|drop| drop.event.name.as_str()).collect::<Vec<_>>().join("; ")
    }
}

/// What is loaded: one event's, or all of a day's.
struct Load {
    title: String,
    day: Day,
    event: Option<Event>,
    others: usize,
    events: Vec<EventId>,
}

pub(super) async fn of_event(
    mut visit: Visit,
    hand: Hand,
    Path(id): Path<EventId>,
    Query(query): Query<LoadQuery>,
) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let title = format!("Load sheet, {}", event.name);
    let same_day = events::store::open_between(&mut visit.connection, event.day, event.day).await?;
    let others = same_day.iter().filter(|other| other.id != id).count();
    let events: Vec<EventId> = event.is_open().then_some(id).into_iter().collect();
    show(visit, hand, Load { title, day: event.day, event: Some(event), others, events }, &query).await
}

pub(super) async fn of_day(
    mut visit: Visit,
    hand: Hand,
    Path(day): Path<String>,
    Query(query): Query<LoadQuery>,
) -> Answer {
    let day: Day = day.parse().map_err(|_| Trouble::NotFound("day"))?;
    let events = events::store::open_between(&mut visit.connection, day, day).await?;
    if events.is_empty() {
        return Err(Trouble::NotFound("event on that day"));
    }
    let events: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let title = format!("Load sheet, {}", visit.studio.weekday(day));
    show(visit, hand, Load { title, day, event: None, others: 0, events }, &query).await
}

async fn show(mut visit: Visit, hand: Hand, load: Load, query: &LoadQuery) -> Answer {
    let Load { title, day, event, others, events } = load;
    let inputs = store::load(&mut visit.connection, &events).await?;
    let formats = visit.studio.formats;
    let sheet = sheet(inputs, &formats).map_err(|error| Trouble::Conflict(error.to_string()))?;
    let asked = query.van.trim();
    let chosen = sheet.vans.iter().position(|(van, _)| id(van) == asked);
    if !asked.is_empty() && chosen.is_none() {
        return Err(Trouble::NotFound("van"));
    }
    let rows = rows(&sheet, formats);
    let path =
        event.as_ref().map_or_else(|| format!("/load/{day}"), |event| format!("/events/{}/load", event.id));
    let back = visit.shell(Section::PullLists, "").list_path(&path, &[("van", asked)]);
    let back = back.trim_end_matches(['?', '&']).to_owned();
    let ticks = hand.sheet(&mut visit, (format!("load-{day}"), back), lines(&rows, &sheet)).await?;
    let shell = visit.shell(Section::PullLists, title);
    page(&SheetPage { shell, day, event, sheet, rows, ticks, chosen: chosen.unwrap_or(0), others })
}

/// What is ticked: every crate and loose piece, and what else is aboard.
fn lines(rows: &[Row], sheet: &LoadSheet) -> Vec<SheetLine> {
    let floor = rows.iter().map(|row| SheetLine::single(&*row.key, "in"));
    let drops = sheet.drops.iter();
    let aboard = drops.flat_map(|drop| drop.aboard.iter().map(move |line| (drop, line)));
    let aboard = aboard.map(|(drop, line)| SheetLine::counted(aboard_key(drop, line), line.count, "in"));
    floor.chain(aboard).collect()
}

fn aboard_key(drop: &Drop, line: &PullLine) -> String {
    format!("e{}-{}", drop.event.id, line.key)
}

fn id(van: &Van) -> String {
    van.id.map_or_else(String::new, |id| id.to_string())
}
