//! The run sheet of a day, or of one event of it.

use std::collections::HashMap;

use askama::Template;
use axum::extract::State;
use serde::Deserialize;

use super::super::day::{Round, RunDay, Site, run};
use super::super::forms::{DriveForm, NewDrive};
use super::super::phones::{Part, parts};
use super::super::rounds::Leg;
use super::super::{HandOver, VanReturn, store};
use super::timeline::{Row, clock, rows};
use super::words::{ClashWords, clash_words};
use crate::clients::{self, Client};
use crate::events::pages::event_or_trouble;
use crate::events::{self, Event};
use crate::ground::dates::Day;
use crate::ground::ids::{ClientId, EventId};
use crate::pull_list::loading::Van;
use crate::pull_list::pull::{KIT, PullGroup, PullLine, SPARES, WHOLE_EVENT};
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks::pages::Hand;
use crate::ticks::sheet::{Sheet, SheetLine};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct RunQuery {
    van: String,
    second: Vec<String>,
}

#[derive(Template)]
#[template(path = "pull_list/run_sheet/run.html")]
struct RunPage {
    shell: Shell,
    day: Day,
    /// The one event asked for, if it was one.
    event: Option<Event>,
    run: RunDay,
    vans: Vec<Van>,
    clients: HashMap<ClientId, Client>,
    hand_overs: Vec<HandOver>,
    returns: HashMap<EventId, VanReturn>,
    drives: HashMap<store::Way, (i64, Option<i64>)>,
    ticks: Sheet,
    query: RunQuery,
    /// Minutes as typed, where they were refused or stale.
    typed: Option<DriveForm>,
    errors: FieldErrors,
    /// Drives that someone else saved meanwhile.
    stale: bool,
}

/// A drive between two venues that is driven straight.
struct DriveRow {
    place: usize,
    from: (EventId, String),
    to: (EventId, String),
    version: i64,
    minutes: String,
}

impl RunPage {
    async fn new(
        visit: &mut Visit,
        hand: &Hand,
        (day, event): (Day, Option<Event>),
        query: RunQuery,
    ) -> Result<RunPage, Trouble> {
        let mut inputs = store::load(&mut visit.connection, day).await?;
        let vans = inputs.load.vans.clone();
        inputs.van = query.van.trim().parse().ok();
        if !query.van.trim().is_empty() && !vans.iter().any(|van| van.id == inputs.van) {
            return Err(Trouble::NotFound("van"));
        }
        inputs.second = query.second.iter().filter_map(|id| id.parse().ok()).collect();
        let ids: Vec<EventId> = inputs.load.drops.iter().map(|drop| drop.event.id).collect();
        let formats = visit.studio.formats;
        let run = run(inputs, &formats).map_err(|error| Trouble::Conflict(error.to_string()))?;
        let asked: Vec<ClientId> = run.sites.iter().map(|site| site.event.client_id).collect();
        let found = clients::store::clients(&mut visit.connection, &asked).await?;
        let back =
            event.as_ref().map_or_else(|| format!("/run/{day}"), |event| format!("/events/{}/run", event.id));
        let back = with_query(visit, &back, &query);
        let ticks = hand.sheet(visit, (format!("run-{day}"), back), lines(&run, day)).await?;
        let title = event.as_ref().map_or_else(|| visit.studio.weekday(day), |event| event.name.clone());
        Ok(RunPage {
            shell: visit.shell(Section::PullLists, format!("Run sheet, {title}")),
            day,
            event,
            run,
            vans,
            clients: found.into_iter().map(|client| (client.id, client)).collect(),
            hand_overs: store::hand_overs(&mut visit.connection, &ids).await?,
            returns: store::returns(&mut visit.connection, &ids).await?,
            drives: store::drives(&mut visit.connection, &ids).await?,
            ticks,
            query,
            typed: None,
            errors: FieldErrors::default(),
            stale: false,
        })
    }

    fn only(&self) -> Option<usize> {
        let event = self.event.as_ref()?;
        self.run.sites.iter().position(|site| site.event.id == event.id)
    }

    /// The events shown: one, or all of the day.
    fn sites(&self) -> Vec<&Site> {
        match (&self.event, self.only()) {
            (Some(_), only) => only.and_then(|at| self.run.sites.get(at)).into_iter().collect(),
            (None, _) => self.run.sites.iter().collect(),
        }
    }

    /// What each crew does, with its van and its rows; those who have nothing to do with the event are left out.
    fn rounds(&self) -> Vec<(String, Vec<Row>)> {
        let many = self.run.rounds.len() > 1;
        let rounds = (1..).zip(&self.run.rounds);
        let shown = rounds.map(|(number, round): (i64, &Round)| {
            let van = round.van.clone().unwrap_or_else(|| "no van is written down".into());
            let crew = if many { format!("Crew {number}, {van}") } else { van };
            (crew, rows(&self.run, round, self.day, self.only()))
        });
        shown.filter(|(_, rows)| !rows.is_empty()).collect()
    }

    /// What cannot be done in time on this day.
    fn clashes(&self) -> Vec<ClashWords> {
        let spare = self.run.rounds.len() < 2;
        let driven: Vec<&str> = self.run.rounds.iter().filter_map(|round| round.van.as_deref()).collect();
        let free = self.vans.iter().map(|van| van.name.as_str()).find(|name| spare && !driven.contains(name));
        self.run.rounds.iter().flat_map(|round| clash_words(&self.run, round, free)).collect()
    }

    /// Where a second crew takes an event.
    fn second_path(&self, event: EventId) -> String {
        let mut query = self.query.clone();
        query.second.push(event.to_string());
        path_of(&self.shell, &format!("/run/{}", self.day), &query)
    }

    fn is_second(&self, event: EventId) -> bool {
        self.query.second.contains(&event.to_string())
    }

    fn van_options(&self) -> Vec<(String, &str, bool)> {
        let asked = self.query.van.trim();
        let id = |van: &Van| van.id.map_or_else(String::new, |id| id.to_string());
        self.vans.iter().map(|van| (id(van), van.name.as_str(), id(van) == asked)).collect()
    }

    /// The places with what stands there; what belongs to no one place is left out.
    fn stands<'a>(&self, site: &'a Site) -> Vec<(&'a PullGroup, Vec<&'a PullLine>)> {
        let whole = [WHOLE_EVENT, SPARES, KIT];
        let groups = site.pull.groups.iter().filter(|group| !whole.contains(&group.heading.as_str()));
        groups
            .map(|group| (group, group.lines.iter().filter(|line| placed(line)).collect::<Vec<_>>()))
            .filter(|(_, lines)| !lines.is_empty())
            .collect()
    }

    /// What is taken along beside: `Kit`, and `2 Snips; 1 Tape measure`.
    fn along(&self, site: &Site) -> Vec<(&'static str, &'static str, String)> {
        let words = |heading: &str| {
            let lines = site.pull.groups.iter().filter(|group| group.heading == heading);
            let lines = lines.flat_map(|group| &group.lines).filter(|line| line.kind != "Water");
            lines.map(|line| format!("{} {}", line.count, line.name)).collect::<Vec<_>>().join("; ")
        };
        let all = [("whole", WHOLE_EVENT), ("spares", SPARES), ("kit", KIT)];
        let all = all.into_iter().map(|(key, heading)| (key, heading, words(heading)));
        all.filter(|(_, _, words)| !words.is_empty()).collect()
    }

    fn contact(&self, site: &Site) -> Vec<Part> {
        parts(&site.event.venue_contact)
    }

    fn client(&self, site: &Site) -> Vec<Part> {
        let phone = self.clients.get(&site.event.client_id).map_or("", |client| client.phone.as_str());
        let between = if phone.is_empty() { "" } else { ", " };
        parts(&format!("{}{between}{phone}", site.event.client_name))
    }

    /// Guests at, end: what the event says.
    fn hours(&self, site: &Site) -> Vec<(&'static str, String)> {
        let word = |what| match what {
            "Set-up" => "Set up from",
            "Start" => "Guests at",
            "Strike" => "Strike from",
            other => other,
        };
        let day = |days: i64| match days {
            0 => String::new(),
            days => format!(" on {}", self.day.plus(days).weekday_name()),
        };
        let marks = site.event.hours().marks();
        let said =
            marks.iter().map(|mark| (word(mark.what), format!("{}{}", mark.at, day(mark.days_later()))));
        said.collect()
    }

    fn handed(&self, event: EventId) -> Option<&HandOver> {
        self.hand_overs.iter().find(|own| own.event == event)
    }

    fn returned(&self, event: EventId) -> Option<String> {
        let own = self.returns.get(&event)?;
        let out = own.still_out();
        let out = if out.is_empty() { "all is back".into() } else { format!("{out} still out") };
        Some(format!("Counted {}: {out}", self.shell.weekday(own.on)))
    }

    fn key(&self, site: &Site, key: &str) -> String {
        format!("e{}-{key}", site.event.id)
    }

    fn spoken(&self, word: &str, what: &str, site: &Site) -> String {
        format!("{word}: {what}, {}", site.event.name)
    }

    /// Ways that are driven straight, or whose minutes are typed.
    fn drive_rows(&self) -> Vec<DriveRow> {
        let mut ways: Vec<store::Way> = Vec::new();
        let id = |event: usize| self.run.sites.get(event).map(|site| site.event.id);
        for round in &self.run.rounds {
            for pair in round.stops.windows(2).filter(|pair| matches!(pair[1].leg, Leg::Between { .. })) {
                let jobs = (round.jobs.get(pair[0].job), round.jobs.get(pair[1].job));
                let (Some(from), Some(to)) = jobs else { continue };
                ways.extend(id(from.event).zip(id(to.event)));
            }
        }
        let mut known: Vec<store::Way> = self.drives.keys().copied().collect();
        known.sort_unstable();
        ways.extend(known);
        let mut seen = Vec::new();
        ways.retain(|way| {
            !seen.contains(way) && {
                seen.push(*way);
                true
            }
        });
        ways.into_iter().enumerate().map(|(place, way)| self.drive_row(place, way)).collect()
    }

    fn drive_row(&self, place: usize, (from, to): store::Way) -> DriveRow {
        let venue = |id: EventId| {
            let site = self.run.sites.iter().find(|site| site.event.id == id);
            site.map_or_else(String::new, |site| match site.event.venue.as_str() {
                "" => site.event.name.clone(),
                venue => venue.to_owned(),
            })
        };
        let (version, minutes) = self.drives.get(&(from, to)).copied().unwrap_or((0, None));
        let typed = self.typed.as_ref().and_then(|form| {
            let at = |own: &[String], id: EventId, row: usize| {
                own.get(row).is_some_and(|own| *own == id.to_string())
            };
            let row =
                (0..form.from.len()).find(|row| at(&form.from, from, *row) && at(&form.to, to, *row))?;
            form.minutes.get(row).cloned()
        });
        let minutes = typed.unwrap_or_else(|| minutes.map(|minutes| minutes.to_string()).unwrap_or_default());
        DriveRow { place, from: (from, venue(from)), to: (to, venue(to)), version, minutes }
    }

    fn drive_error(&self, row: &DriveRow) -> Option<&str> {
        self.errors.of_row("minutes", &row.place)
    }

    fn names(&self) -> String {
        self.run.sites.iter().map(|site| site.event.name.as_str()).collect::<Vec<_>>().join("; ")
    }

    /// `08:40 to 00:50`: from loading to the last return.
    fn span(&self) -> Option<String> {
        let stops = || self.run.rounds.iter().flat_map(|round| &round.stops);
        let first = stops().map(|stop| stop.load_from.unwrap_or(stop.leave)).min()?;
        let last = stops().filter_map(|stop| stop.back).max()?;
        Some(format!("{} to {}", clock(first), clock(last)))
    }
}

/// What stands somewhere: pieces and the extras of a place; hard goods stand in the pieces.
fn placed(line: &PullLine) -> bool {
    line.key.starts_with("piece-") || line.key.starts_with("extra-")
}

/// What is ticked on the sheets of a day, whichever event is looked at.
fn lines(run: &RunDay, day: Day) -> Vec<SheetLine> {
    let moves = run.rounds.iter().flat_map(|round| rows(run, round, day, None));
    let mut lines: Vec<SheetLine> = moves.map(|row| SheetLine::single(row.key, "done")).collect();
    for site in &run.sites {
        let id = site.event.id;
        for line in site.pull.groups.iter().flat_map(|group| &group.lines).filter(|line| placed(line)) {
            lines.push(SheetLine::counted(format!("e{id}-{}", line.key), line.count, "stands"));
        }
        let along = ["top-up", "whole", "spares", "kit"];
        lines.extend(along.map(|key| SheetLine::single(format!("e{id}-{key}"), "taken")));
    }
    lines
}

fn with_query(visit: &Visit, path: &str, query: &RunQuery) -> String {
    path_of(&visit.shell(Section::PullLists, ""), path, query)
}

fn path_of(shell: &Shell, path: &str, query: &RunQuery) -> String {
    let mut asked = vec![("van", query.van.trim())];
    asked.extend(query.second.iter().map(|id| ("second", id.as_str())));
    shell.list_path(path, &asked).trim_end_matches(['?', '&']).to_owned()
}

pub(super) async fn of_day(
    mut visit: Visit,
    hand: Hand,
    Path(day): Path<String>,
    Query(query): Query<RunQuery>,
) -> Answer {
    let day: Day = day.parse().map_err(|_| Trouble::NotFound("day"))?;
    let shown = RunPage::new(&mut visit, &hand, (day, None), query).await?;
    if shown.run.sites.is_empty() {
        return Err(Trouble::NotFound("event on that day"));
    }
    page(&shown)
}

pub(super) async fn of_event(
    mut visit: Visit,
    hand: Hand,
    Path(id): Path<EventId>,
    Query(query): Query<RunQuery>,
) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    page(&RunPage::new(&mut visit, &hand, (event.day, Some(event)), query).await?)
}

pub(super) async fn save_drives(
    State(app): State<App>,
    mut visit: Visit,
    hand: Hand,
    Path(day): Path<String>,
    Form(form): Form<DriveForm>,
) -> Answer {
    let day: Day = day.parse().map_err(|_| Trouble::NotFound("day"))?;
    let query = RunQuery { van: form.van.clone(), second: form.second.clone() };
    let mut tx = app.book.write().await?;
    let events = events::store::open_between(&mut tx, day, day).await?;
    let ids: Vec<EventId> = events.iter().map(|event| event.id).collect();
    let new = match form.parse(&ids, &visit.studio.formats) {
        Ok(new) => new,
        Err(errors) => {
            drop(tx);
            let shown = RunPage::new(&mut visit, &hand, (day, None), query).await?;
            return refused(&RunPage { errors, typed: Some(form), ..shown });
        }
    };
    let kept = store::drives(&mut tx, &ids).await?;
    let was = |drive: &NewDrive| kept.get(&(drive.from, drive.to)).copied().unwrap_or((0, None));
    let changed: Vec<&NewDrive> = new.iter().filter(|drive| was(drive).1 != drive.minutes).collect();
    if changed.iter().any(|drive| was(drive).0 != drive.version) {
        drop(tx);
        let shown = RunPage::new(&mut visit, &hand, (day, None), query).await?;
        return stale(&RunPage { stale: true, typed: Some(form), ..shown });
    }
    for drive in changed {
        store::keep_drive(&mut tx, (drive.from, drive.to), drive.minutes).await?;
    }
    tx.commit().await?;
    onward_saying(&app, with_query(&visit, &format!("/run/{day}"), &query), "The drives are kept.")
}
