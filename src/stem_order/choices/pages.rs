//! Why a line of the order is so, and what one supplier fewer would cost.

use askama::Template;
use axum::Router;
use axum::routing::get;
use serde::Deserialize;

use super::one_fewer::{FewerSuppliers, NoFewer};
use super::pins::{Pin, Pins};
use super::why::{Found, Other, Why};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::OfferId;
use crate::ground::money::Money;
use crate::stem_order::forms::{OrderQuery, address};
use crate::stem_order::order::{NeedLine, OrderDelivery, OrderLine};
use crate::stem_order::pages::{asked, known_events, no_order};
use crate::stem_order::store::planning::{Asked, Ordered, prepare, time_limit};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::Query;
use crate::web::state::App;

/// The routes of this room.
pub(in crate::stem_order) fn routes() -> Router<App> {
    Router::new().route("/stem-order/why", get(line)).route("/stem-order/one-fewer", get(one_fewer))
}

/// An order, and a line of it: `…&offer=7&on=2026-05-14`.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
struct LineQuery {
    event: Vec<String>,
    day: String,
    pin: Vec<String>,
    offer: String,
    on: String,
}

/// The address of a line's page.
#[must_use]
pub fn why_path(asked: &Asked, offer: OfferId, on: Day) -> String {
    format!("{}&offer={offer}&on={on}", address("/stem-order/why", asked))
}

#[derive(Template)]
#[template(path = "stem_order/choices_why.html")]
struct WhyPage {
    shell: Shell,
    asked: Asked,
    ordered: Ordered,
    why: Why,
    delivery: OrderDelivery,
    line: OrderLine,
}

async fn line(mut visit: Visit, Query(query): Query<LineQuery>) -> Answer {
    let no_line = || Trouble::NotFound("line of this order");
    let offer: OfferId = query.offer.parse().map_err(|_| no_line())?;
    let on: Day = query.on.parse().map_err(|_| no_line())?;
    let order = OrderQuery { event: query.event, day: query.day, pin: query.pin };
    let (asked, _) = asked(&visit, &order)?;
    known_events(&mut visit, &asked).await?;
    let studio = std::sync::Arc::clone(&visit.studio);
    let prepared = prepare(&mut visit.connection, &studio, &asked, visit.now).await.map_err(no_order)?;
    let limit = time_limit(&studio);
    let planned = tokio::task::spawn_blocking(move || {
        let why = prepared.why((offer, on), limit);
        (prepared.ordered(limit), why)
    });
    let (visit, planned) = visit.apart(planned).await?;
    let (ordered, why) = planned.map_err(|error| no_order(error.into()))?;
    let why = why.ok_or_else(no_line)?;
    let delivery = ordered.order.deliveries.iter().find(|d| d.supplier == why.supplier && d.day == on);
    let delivery = delivery.cloned().ok_or_else(no_line)?;
    let line = delivery.lines.iter().find(|line| line.offer == offer).cloned().ok_or_else(no_line)?;
    let shell = visit.shell(Section::StemOrder, format!("Why {} × {}", line.packs, line.name));
    page(&WhyPage { shell, asked, ordered, why, delivery, line })
}

impl WhyPage {
    fn order_path(&self) -> String {
        address("/stem-order", &self.asked)
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn events(&self) -> String {
        let names = self.ordered.order.events.iter().map(|event| event.name.as_str());
        names.collect::<Vec<_>>().join(", ")
    }

    fn event(&self, at: usize) -> &str {
        self.ordered.order.events.get(at).map_or("", |event| event.name.as_str())
    }

    /// The needs that this line's stems may serve.
    fn needs(&self) -> Vec<&NeedLine> {
        let own = self.ordered.order.needs.iter().filter(|need| need.material == self.line.material);
        let stands_in = self.ordered.order.needs.iter().filter(|need| {
            need.material != self.line.material
                && need.parts.iter().any(|part| part.substitutes.contains(&self.line.name))
        });
        own.chain(stands_in).collect()
    }

    fn each(&self) -> String {
        let each = self.line.price.decimal() / rust_decimal::Decimal::from(self.line.pack_size.max(1));
        self.shell.formats.unit_cost(each)
    }

    fn proven(&self) -> bool {
        self.ordered.order.proven
    }

    /// The difference in money, or what is in the way.
    fn difference(&self, other: &Other) -> String {
        match &other.found {
            Found::NotInTime => "not found in time".into(),
            Found::Lacks(1) => "1 stem could not be had".into(),
            Found::Lacks(stems) => format!("{stems} stems could not be had"),
            Found::Plan { more, .. } if more.is_zero() => "no difference".into(),
            Found::Plan { more, exact, .. } => {
                let about = if *exact { "" } else { "about " };
                let (amount, word) = if *more < Money::ZERO { (-*more, "less") } else { (*more, "more") };
                format!("{about}{} {word}", self.money(amount))
            }
        }
    }

    fn total(&self, other: &Other) -> String {
        match &other.found {
            Found::Plan { total, .. } => self.money(*total),
            Found::Lacks(_) | Found::NotInTime => String::new(),
        }
    }

    fn changes(&self, other: &Other) -> Vec<String> {
        match &other.found {
            Found::Plan { changes, .. } => changes.clone(),
            Found::Lacks(_) | Found::NotInTime => Vec::new(),
        }
    }

    /// The order with this choice in the place of those made for the material.
    fn choose_path(&self, other: &Other) -> String {
        let elsewhere = self.elsewhere();
        let pins = match other.pin {
            Some(pin) => elsewhere.with(pin),
            None => elsewhere,
        };
        address("/stem-order", &Asked { pins, ..self.asked.clone() })
    }

    /// The choices that are not about this line's material.
    fn elsewhere(&self) -> Pins {
        let here = &self.why.own_pins;
        let list = self.asked.pins.list.iter().copied().filter(|pin| !here.contains(pin)).collect();
        Pins { list, unread: 0 }
    }

    /// Choices that keep the line as it is, whatever prices do.
    fn keep_paths(&self) -> Vec<(String, String)> {
        let keep = [
            (Pin::OnlyOffer(self.why.offer), "Keep to this pack".to_owned()),
            (
                Pin::OnlySupplier(self.why.material, self.why.supplier),
                format!("Keep {} with {}", self.line.name, self.delivery.name),
            ),
        ];
        let path =
            |pin| address("/stem-order", &Asked { pins: self.asked.pins.with(pin), ..self.asked.clone() });
        let new = keep.into_iter().filter(|(pin, _)| !self.asked.pins.list.contains(pin));
        new.map(|(pin, words)| (path(pin), words)).collect()
    }
}

#[derive(Template)]
#[template(path = "stem_order/choices_fewer.html")]
struct FewerPage {
    shell: Shell,
    asked: Asked,
    fewer: Result<FewerSuppliers, NoFewer>,
}

async fn one_fewer(mut visit: Visit, Query(query): Query<OrderQuery>) -> Answer {
    let (asked, _) = asked(&visit, &query)?;
    known_events(&mut visit, &asked).await?;
    let studio = std::sync::Arc::clone(&visit.studio);
    let prepared = prepare(&mut visit.connection, &studio, &asked, visit.now).await.map_err(no_order)?;
    let limit = time_limit(&studio);
    let fewer = tokio::task::spawn_blocking(move || prepared.fewer(limit));
    let (visit, fewer) = visit.apart(fewer).await?;
    let fewer = fewer.map_err(|error| no_order(error.into()))?;
    let shell = visit.shell(Section::StemOrder, "One supplier fewer");
    page(&FewerPage { shell, asked, fewer })
}

impl FewerPage {
    fn order_path(&self) -> String {
        address("/stem-order", &self.asked)
    }

    fn sentence(&self) -> String {
        fewer_words(&self.fewer, |amount| self.shell.formats.money(amount))
    }

    fn changes(&self) -> &[String] {
        self.fewer.as_ref().map_or(&[], |found| &found.changes)
    }

    fn choose_path(&self) -> Option<String> {
        without_path(&self.fewer, &self.asked)
    }
}

/// `Without Fenn Hall, all from two suppliers: £8.20 more.`
pub(in crate::stem_order) fn fewer_words(
    fewer: &Result<FewerSuppliers, NoFewer>,
    money: impl Fn(Money) -> String,
) -> String {
    let found = match fewer {
        Ok(found) => found,
        Err(NoFewer::OneAlready) => return String::new(),
        Err(NoFewer::NothingLeft) => return "With one supplier fewer not everything can be had.".into(),
        Err(NoFewer::NotFound) => return "No order with one supplier fewer was found in time.".into(),
    };
    let names: Vec<&str> = found.without.iter().map(|(_, name)| name.as_str()).collect();
    let with = match found.with {
        1 => "all from one supplier".to_owned(),
        more => format!("all from {} suppliers", in_words(more)),
    };
    let most = if found.proven { "" } else { "at most " };
    let more = if found.more.is_zero() {
        "costs no more".to_owned()
    } else if found.more < Money::ZERO {
        format!("{} less, so the plan above is not the cheapest", money(-found.more))
    } else {
        format!("{most}{} more", money(found.more))
    };
    format!("Without {}, {with}: {more}.", names.join(" and "))
}

/// The order without those whom the cheapest order with one supplier fewer leaves out.
pub(in crate::stem_order) fn without_path(
    fewer: &Result<FewerSuppliers, NoFewer>,
    asked: &Asked,
) -> Option<String> {
    let found = fewer.as_ref().ok()?;
    let pins = found.without.iter().fold(asked.pins.clone(), |pins, (id, _)| pins.with(Pin::Without(*id)));
    Some(address("/stem-order", &Asked { pins, ..asked.clone() }))
}

fn in_words(count: usize) -> String {
    let words = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
    words.get(count).map_or_else(|| count.to_string(), |word| (*word).to_owned())
}
