//! One event: what is next, its pieces, what was said, how it ends.

pub(super) mod removal;
mod to_settle;

use askama::Template;

use crate::accounts::ledger::EventMoney;
use crate::accounts::store::payments::ledger_of;
use crate::clients::{self, Client};
use crate::desk::deadlines::{Deadline, OrderBy};
use crate::desk::outlook::{Desk, Outlook, hours_words, local_now, outlooks};
use crate::desk::reminders::gathered;
use crate::desk::reminders::pages::{Row, rows};
use crate::desk::standing::Quoted;
use crate::events::counts::Made;
use crate::events::notices::Notices;
use crate::events::pages::{event_or_trouble, notices_of};
use crate::events::{Ending, Event, Piece};
use crate::ground::caution::{Caution, Cautions};
use crate::ground::ids::EventId;
use crate::ground::money::Money;
use crate::prep::bench_plan::{self, week_fit::WeekFit};
use crate::pull_list;
use crate::pull_list::loans::pages::{shortfalls_of, still_lent};
use crate::pull_list::run_sheet::{self, HandOver, VanReturn};
use crate::quotes;
use crate::quotes::change_note::ChangeNote;
use crate::recipes;
use crate::stem_order::receiving::{self, shortage::Trouble as Lacking};
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::path::Path;

/// So many days ahead an event's freshness is estimated on its first page.
const ESTIMATED_DAYS: i64 = 14;

#[derive(Template)]
#[template(path = "desk/event.html")]
struct EventPage {
    shell: Shell,
    outlook: Outlook,
    now: Deadline,
    client: Option<Client>,
    notices: Notices,
    /// What is short on the shelf on its days.
    short: Vec<String>,
    /// To whom it was handed over.
    handed: Option<HandOver>,
    /// What came back with the van.
    returned: Option<VanReturn>,
    /// Where its pieces can hurt someone.
    cautions: Vec<Caution>,
    /// What came short of what its pieces need.
    lacking: Vec<Lacking>,
    /// How far its pull list is ticked.
    pulled: Option<String>,
    /// What is estimated to end early or to be shut.
    fading: Vec<String>,
    /// What was invoiced, paid and is due.
    money: EventMoney,
    /// What wants doing for it, the worst first.
    reminders: Vec<Row>,
    /// What is still lent to it after its day.
    still_lent: Vec<String>,
    /// Whether its week can be done, before it is sold: with it and without it.
    fit: Option<(WeekFit, WeekFit)>,
    /// What its quote changes of what is agreed, if that is not sent yet.
    changed: Option<ChangeNote>,
}

/// The pieces of one place.
struct Place<'a> {
    name: &'a str,
    pieces: Vec<(&'a Piece, Made)>,
}

impl EventPage {
    fn places(&self) -> Vec<Place<'_>> {
        let same = self.outlook.pieces.chunk_by(|one, other| one.place_id == other.place_id);
        same.map(|pieces| Place {
            name: &pieces[0].place,
            pieces: pieces.iter().map(|piece| (piece, self.outlook.event.made(piece))).collect(),
        })
        .collect()
    }

    fn budget(&self) -> Option<String> {
        self.outlook.event.budget.map(|budget| self.shell.formats.money(budget))
    }

    fn hours(&self) -> Vec<(&'static str, String)> {
        self.outlook.event.hours().marks().iter().map(|mark| (mark.what, mark.at.to_string())).collect()
    }

    /// The last version that went out: its page, what it came to and when.
    fn quoted(&self) -> Option<(String, String)> {
        let quote = self.outlook.quote.as_ref()?;
        let (total, day) = (self.shell.formats.money(quote.total), self.shell.weekday(quote.sent_on));
        let words = format!("{total}, version {}, {day}", quote.number);
        Some((format!("/quote-versions/{}", quote.version_id), words))
    }

    /// The version that was accepted: its page, what it came to, when and by whom.
    fn accepted(&self) -> Option<(String, String)> {
        let accepted = self.outlook.quote.as_ref()?.accepted.as_ref()?;
        let (total, day) = (self.shell.formats.money(accepted.total), self.shell.weekday(accepted.on));
        let words = format!("{total}, version {}, {day}, by {}", accepted.number, accepted.by);
        Some((format!("/quote-versions/{}", accepted.version_id), words))
    }

    /// What was invoiced, paid and is due, in words; none where nothing was invoiced.
    fn account(&self) -> Option<Vec<(&'static str, String)>> {
        let EventMoney { invoiced, paid, due, overdue } = self.money;
        let f = &self.shell.formats;
        if invoiced.is_zero() && paid.is_zero() {
            return None;
        }
        let late =
            if overdue.is_zero() { String::new() } else { format!(", {} of it overdue", f.money(overdue)) };
        Some(vec![
            ("Invoiced", f.money(invoiced)),
            ("Paid", f.money(paid)),
            ("Due", format!("{}{late}", f.money(due))),
        ])
    }

    fn caution_names(&self) -> String {
        self.cautions.iter().map(|caution| caution.name()).collect::<Vec<_>>().join("; ")
    }

    /// Until when stems must be ordered: when, whether that is past, whom and for which delivery, what.
    fn orders(&self) -> Vec<(String, bool, String, String)> {
        let day = |day| self.shell.weekday(day);
        let row = |order: &OrderBy| {
            let closes = format!("{}, {}", day(order.closes.day), order.closes.time);
            let whom = format!("{}, delivery of {}", order.supplier, day(order.delivery));
            (closes, order.closes < self.now, whom, order.materials.join(", "))
        };
        self.outlook.orders.by.iter().map(row).collect()
    }

    /// Days of making with their hours.
    fn making(&self) -> Vec<(String, String)> {
        self.outlook
            .bench
            .iter()
            .map(|(day, minutes)| (self.shell.weekday(*day), hours_words(*minutes)))
            .collect()
    }

    /// How its week fits: whether it is too full with it, and the sentence.
    fn fit_words(&self) -> Option<(bool, String)> {
        let (with, without) = self.fit.as_ref()?;
        let monday = self.shell.weekday(self.outlook.event.day.monday());
        let verdict = match (with.is_overfull(), without.is_overfull()) {
            (false, _) => "the week has room for it",
            (true, true) => "the week is too full already",
            (true, false) => "it makes the week too full",
        };
        let words = format!(
            "The week of {monday} with this event: {}. Without it: {}. So {verdict}.",
            with.words(),
            without.words()
        );
        Some((with.is_overfull(), words))
    }

    /// `€148.80 more than agreed`.
    fn changed_words(&self) -> Option<String> {
        let difference = self.changed.as_ref()?.total.difference();
        let money = |amount| self.shell.formats.money(amount);
        Some(match difference.cmp(&Money::ZERO) {
            std::cmp::Ordering::Greater => format!("{} more than agreed, with tax", money(difference)),
            std::cmp::Ordering::Less => format!("{} less than agreed, with tax", money(-difference)),
            std::cmp::Ordering::Equal => "for the same total".into(),
        })
    }

    /// When crates and tools were counted, and what is still out.
    fn returned_words(&self) -> Option<(String, String)> {
        let returned = self.returned.as_ref()?;
        Some((self.shell.weekday(returned.on), returned.still_out()))
    }

    /// Whether it was called off after a version was accepted: then something may be owed for it.
    fn is_to_be_settled(&self) -> bool {
        let event = &self.outlook.event;
        let accepted = self.outlook.quote.as_ref().is_some_and(|quote| quote.accepted.is_some());
        accepted && matches!(event.ended, Some((_, Ending::Cancelled)))
    }

    fn is_booked(&self) -> bool {
        matches!(self.outlook.quoted, Quoted::Accepted { .. })
    }

    /// Whether it may be closed: its day has come.
    fn has_come(&self) -> bool {
        self.outlook.event.day <= self.shell.today
    }
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let notices = if event.is_open() {
        let said = notices_of(&mut visit.connection, &event, &visit.studio.formats).await?;
        // The facts below say how many tables.
        Notices { tables: None, ..said }
    } else {
        Notices::default()
    };
    let client = clients::store::client(&mut visit.connection, event.client_id).await?;
    let shell = visit.shell(Section::Events, event.name.clone());
    let now = local_now(&visit);
    let short = shortfalls_of(&mut visit.connection, &event, &visit.studio.formats).await?;
    let over = event.is_open() && event.day < visit.today;
    let still_lent =
        if over { still_lent(&mut visit.connection, &event, &visit.studio.formats).await? } else { None };
    let handed = run_sheet::store::hand_overs(&mut visit.connection, &[id]).await?.into_iter().next();
    let returned = run_sheet::store::returns(&mut visit.connection, &[id]).await?.remove(&id);
    let desk = Desk { studio: &visit.studio, now, moment: visit.now };
    let Some(outlook) = outlooks(&mut visit.connection, &desk, vec![event]).await?.pop() else {
        return Err(Trouble::NotFound("event"));
    };
    let kinds: Vec<_> = outlook.pieces.iter().map(|piece| piece.recipe_id).collect();
    let book = recipes::store::recipe_book(&mut visit.connection, &kinds).await?;
    let cautions = book.recipes.values().fold(Cautions::default(), |all, recipe| all.and(recipe.cautions));
    let lacking = lacking(&mut visit, Some(id)).await?;
    let pulled = pull_list::pages::pulled(&mut visit, id).await?;
    let fading = fading(&mut visit, &outlook.event).await?;
    let ledger = ledger_of(&mut visit.connection, outlook.event.client_id).await?;
    let money = ledger.of_event(id, visit.today);
    let desk = Desk { studio: &visit.studio, now, moment: visit.now };
    let reminders = gathered::read(&mut visit.connection, &desk, std::slice::from_ref(&outlook)).await?;
    let reminders = rows(&reminders.of_event(id), &shell);
    let (fit, cautions) = (fit(&mut visit, &outlook).await?, cautions.list());
    let changed = changed(&mut visit, &outlook).await?;
    page(&EventPage {
        shell,
        outlook,
        now,
        client,
        notices,
        short,
        handed,
        returned,
        cautions,
        lacking,
        pulled,
        fading,
        money,
        reminders,
        still_lent: still_lent.into_iter().collect(),
        fit,
        changed,
    })
}

/// What the quote of a booked event changes of what is agreed, if that is not sent yet.
async fn changed(visit: &mut Visit, outlook: &Outlook) -> Result<Option<ChangeNote>, Trouble> {
    let booked = matches!(outlook.quoted, Quoted::Accepted { .. });
    if !booked || outlook.event.ended.is_some() {
        return Ok(None);
    }
    let (studio, today) = (std::sync::Arc::clone(&visit.studio), visit.today);
    quotes::pages::unsent_change(&mut visit.connection, &studio, outlook.event.id, today).await
}

/// What of an event of the coming days ends early or is shut when guests come, by the estimate. Where recipes make no sense
/// nothing is said here.
async fn fading(visit: &mut Visit, event: &Event) -> Result<Vec<String>, Trouble> {
    if !event.is_open() || !(0..=ESTIMATED_DAYS).contains(&event.day.days_after(visit.today)) {
        return Ok(Vec::new());
    }
    let studio = std::sync::Arc::clone(&visit.studio);
    let lives = bench_plan::store::lives_of(&mut visit.connection, &studio, event, visit.now).await?;
    Ok(lives.map(|lives| lives.troubles()).unwrap_or_default())
}

/// Whether the week of an event that is not sold yet can be done with it, and without it.
async fn fit(visit: &mut Visit, outlook: &Outlook) -> Result<Option<(WeekFit, WeekFit)>, Trouble> {
    let event = &outlook.event;
    let sold = matches!(outlook.quoted, Quoted::Accepted { .. });
    if sold || event.ended.is_some() || event.day < visit.today {
        return Ok(None);
    }
    let studio = std::sync::Arc::clone(&visit.studio);
    let days = (event.day, visit.now);
    let with = bench_plan::store::week_fit(&mut visit.connection, &studio, days, None).await?;
    let without = bench_plan::store::week_fit(&mut visit.connection, &studio, days, Some(event.id)).await?;
    Ok(with.zip(without))
}

/// What came short of what an event's pieces need, or of all coming events'. Where recipes make no sense nothing is said
/// here.
pub(super) async fn lacking(visit: &mut Visit, of: Option<EventId>) -> Result<Vec<Lacking>, Trouble> {
    let studio = std::sync::Arc::clone(&visit.studio);
    let now = local(visit.now, &studio);
    let found = match of {
        Some(event) => receiving::store::troubles(&mut visit.connection, &studio, now, &[event]).await,
        None => receiving::store::open_troubles(&mut visit.connection, &studio, now).await,
    };
    match found {
        Err(LoadError::Weekend(_)) => Ok(Vec::new()),
        found => Ok(found?),
    }
}
