//! One event's fresh materials, worst first: what is left at its end, the working, and what would mend it.

use std::sync::Arc;

use askama::Template;
use axum::extract::State;

use crate::events::Event;
use crate::events::pages::event_or_trouble;
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::{EventId, MaterialId};
use crate::prep;
use crate::prep::bench_plan;
use crate::prep::freshness::estimate::{Estimate, Used, Verdict};
use crate::prep::freshness::forms::VenueForm;
use crate::prep::freshness::lives::{EventLives, Life, lives};
use crate::prep::freshness::mending::{SupplierDays, asked_for, mends};
use crate::prep::freshness::store;
use crate::prep::freshness::temperatures::Temperatures;
use crate::prep::plan::{PrepInputs, said};
use crate::price_list::Care;
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, onward, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "prep/freshness.html")]
struct FreshnessPage {
    shell: Shell,
    event: Event,
    inputs: Arc<PrepInputs>,
    /// None where the event was called off.
    lives: Option<EventLives>,
    days: SupplierDays,
    usual: Temperatures,
    form: VenueForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl FreshnessPage {
    fn rows(&self) -> &[Life] {
        self.lives.as_ref().map_or(&[], |lives| lives.rows.as_slice())
    }

    fn troubles(&self) -> Vec<String> {
        self.lives.as_ref().map(EventLives::troubles).unwrap_or_default()
    }

    fn words(&self) -> String {
        self.lives.as_ref().map(EventLives::words).unwrap_or_default()
    }

    fn shape(&self) -> &'static str {
        self.lives.as_ref().and_then(EventLives::worst).map_or("", Verdict::shape)
    }

    fn temperatures(&self) -> Temperatures {
        self.lives.as_ref().map_or(self.usual, |lives| lives.temperatures)
    }

    /// `Smilax vine; stands in for Ivy`.
    fn stands_in(&self, row: &Life) -> Option<String> {
        let names: Vec<&str> = row.stands_in_for.iter().filter_map(|id| self.name(*id)).collect();
        (!names.is_empty()).then(|| format!("stands in for {}", names.join(", ")))
    }

    fn name(&self, id: MaterialId) -> Option<&str> {
        self.inputs.weekend.material(id).map(|material| material.name.as_str())
    }

    fn care(&self, row: &Life) -> Option<Care> {
        self.inputs.weekend.material(row.material).map(|material| material.care)
    }

    fn day(&self, day: Day) -> String {
        self.shell.weekday(day)
    }

    /// What is left: `about 3 days`, `over Sat 21:10`.
    fn left(&self, found: &Estimate) -> String {
        match (found.over_about(), found.whole_days_left()) {
            (Some(over), _) => format!("over about {over}"),
            (None, Some(0)) => "less than a day".into(),
            (None, Some(1)) => "about 1 day".into(),
            (None, Some(days)) => format!("about {days} days"),
            (None, None) => "no estimate".into(),
        }
    }

    /// How much of its life is used, as words beside the bar.
    fn used(&self, found: &Estimate) -> Option<String> {
        Some(format!("{}\u{a0}%", found.hundredths()?))
    }

    /// `Cooler, Thu 10:00 to Fri 08:00: 22 h at 4 °C, where it lasts 14.5 days: 6.3 %`.
    fn leg(&self, used: &Used) -> String {
        let leg = &used.leg;
        let (from, to, hours) = (said(leg.from), said(leg.to), round(leg.hours()));
        let way = format!("{}, {from} to {to}: {hours} h at {} °C", leg.place.label(), leg.celsius);
        match (used.life_days, used.share) {
            (Some(life), Some(share)) => {
                let (life, share) = (round(life), round_share(share));
                format!("{way}, where it lasts {life} days: {share} %")
            }
            _ => way,
        }
    }

    /// In days: `42.1 % used; of a vase life of 7 at 20 °C that leaves 4.1`.
    fn sum(&self, row: &Life) -> String {
        let found = &row.estimate;
        let vase = self.care(row).and_then(|care| care.vase_days).unwrap_or(0);
        match (found.used, found.days_left) {
            (Some(used), Some(left)) => {
                let (used, left) = (round_share(used), round(left));
                format!("{used} % used; of a vase life of {vase} at 20 °C that leaves {left}")
            }
            _ => format!("{} days from its arrival to the event's end", round(found.days())),
        }
    }

    fn basis(&self, row: &Life) -> String {
        let Some(care) = self.care(row) else { return String::new() };
        format!("{}. These figures: {}", row.estimate.ageing.words(&care), care.source.label().to_lowercase())
    }

    /// Whether it is open, and when.
    fn opening(&self, found: &Estimate) -> Option<String> {
        let open = said(found.open_from?);
        let seen = said(found.journey.seen);
        Some(if found.shut_to_the_end() {
            format!("Shut to the end: open about {open}")
        } else if found.verdict == Verdict::Shut || found.open_from > Some(found.journey.seen) {
            format!("Open about {open}, guests come {seen}")
        } else if found.opens_in_the_piece() {
            format!("Opens in the piece, about {open}; guests come {seen}")
        } else {
            format!("Open from {open}")
        })
    }

    fn mends(&self, row: &Life) -> Vec<String> {
        match &self.lives {
            Some(lives) if row.estimate.wants_a_look() => {
                mends(&self.inputs, lives, row, &self.days, &self.shell.formats)
            }
            _ => Vec::new(),
        }
    }
}

#[expect(clippy::float_arithmetic, reason = "ageing is measured nature; no money")]
fn round_share(share: f64) -> String {
    round(share * 100.0)
}

/// One decimal, without a needless zero.
fn round(number: f64) -> String {
    let text = format!("{number:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<EventId>) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let form = VenueForm::of(store::venue(&mut visit.connection, id).await?);
    page(&shown(&mut visit, event, form, FieldErrors::default()).await?)
}

pub(super) async fn keep_venue(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<VenueForm>,
) -> Answer {
    let event = event_or_trouble(&mut visit.connection, id).await?;
    let celsius = match form.parse(&visit.studio.formats) {
        Ok(celsius) => celsius,
        Err(errors) => return refused(&shown(&mut visit, event, form, errors).await?),
    };
    let here = format!("/events/{id}/freshness");
    let mut tx = app.book.write().await?;
    let theirs = VenueForm::of(store::venue(&mut tx, id).await?);
    if theirs.version != form.version {
        let differences = form.differences(&theirs);
        if differences.is_empty() {
            return onward(&here);
        }
        drop(tx);
        let form = VenueForm { version: theirs.version, ..form };
        let shown = shown(&mut visit, event, form, FieldErrors::default()).await?;
        return stale(&FreshnessPage { differences, ..shown });
    }
    store::keep_venue(&mut tx, id, celsius).await?;
    tx.commit().await?;
    let words = match celsius {
        Some(celsius) => format!("The venue is taken to have {celsius} °C."),
        None => "The venue is taken to be as warm as usual.".to_owned(),
    };
    onward_saying(&app, &here, &words)
}

async fn shown(
    visit: &mut Visit,
    event: Event,
    form: VenueForm,
    errors: FieldErrors,
) -> Result<FreshnessPage, Trouble> {
    let week = prep::store::events_of_week(&mut visit.connection, event.day).await?;
    let inputs = prep::store::load(&mut visit.connection, &visit.studio, &week, visit.now)
        .await
        .map_err(prep::pages::order_trouble)?;
    let plan = bench_plan::store::planned(&inputs, visit.studio.formats).await;
    let plan = plan.map_err(|error| Trouble::Conflict(error.to_string()))?;
    let lives = lives(&inputs, &plan);
    let own: Vec<EventLives> = lives.into_iter().filter(|lives| lives.id == event.id).collect();
    let search = (event.day.plus(-10).max(visit.today), event.day);
    let now = local(visit.now, &visit.studio);
    let days = store::supplier_days(&mut visit.connection, &asked_for(&own), search, now).await?;
    let usual = store::temperatures(&mut visit.connection).await?;
    let shell = visit.shell(Section::Events, format!("{}, freshness", event.name));
    let lives = own.into_iter().next();
    Ok(FreshnessPage { shell, event, inputs, lives, days, usual, form, errors, differences: Vec::new() })
}
