//! One placed order: what was placed, what is known since, whom it touches, and the forms to write down more.

use std::collections::BTreeMap;

use askama::Template;

use super::{EventNames, last_of, order_or_trouble, packs, papers, stems};
use crate::ground::ids::{EventId, PlacedDeliveryId, PlacedOrderId};
use crate::ground::money::Money;
use crate::stem_order::calendar::LocalTime;
use crate::stem_order::placing::forms::{AnswerForm, field, may_be_answered};
use crate::stem_order::placing::message::message;
use crate::stem_order::placing::shorts::{Short, shorts};
use crate::stem_order::placing::standing::Standing;
use crate::stem_order::placing::{AnswerKind, PlacedDelivery, PlacedLine, PlacedOrder, Said, store};
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::FieldErrors;
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "stem_order/placing_order.html")]
pub(super) struct OrderPage {
    shell: Shell,
    pub(super) order: PlacedOrder,
    names: EventNames,
    history: Vec<Said>,
    now: LocalTime,
    /// The answer that was refused or overtaken, and of which delivery.
    pub(super) form: Option<(PlacedDeliveryId, AnswerForm)>,
    pub(super) errors: FieldErrors,
    /// Whether someone else wrote down an answer meanwhile.
    pub(super) overtaken: bool,
}

/// A row of the answer form.
struct Row<'a> {
    line: &'a PlacedLine,
    packs: String,
    price: String,
    packs_field: String,
    price_field: String,
    /// Whether what is typed differs from what is known.
    differs: bool,
}

/// An event and how many stems fewer it gets, by material.
struct Touched<'a> {
    event: EventId,
    name: &'a str,
    stems: i64,
    words: String,
}

/// `/orders/12`, and `/orders/12.csv`, `.xlsx`, `.txt`.
pub(super) async fn show(mut visit: Visit, Path(name): Path<String>) -> Answer {
    if let Some((id, ending)) = name.split_once('.') {
        return papers::file(&mut visit, id, ending).await;
    }
    let id: PlacedOrderId = name.parse().map_err(|_| Trouble::NotFound("order"))?;
    page(&OrderPage::new(&mut visit, id).await?)
}

impl OrderPage {
    pub(super) async fn new(visit: &mut Visit, id: PlacedOrderId) -> Result<OrderPage, Trouble> {
        let order = order_or_trouble(&mut visit.connection, id).await?;
        let names = EventNames::of(&mut visit.connection, std::slice::from_ref(&order)).await?;
        let history = store::history(&mut visit.connection, id).await?;
        let now = local(visit.now, &visit.studio);
        let shell = visit.shell(Section::StemOrder, format!("Order {} to {}", order.name(), order.supplier));
        let errors = FieldErrors::default();
        Ok(OrderPage { shell, order, names, history, now, form: None, errors, overtaken: false })
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }

    fn standing(&self) -> Standing {
        Standing::of_order(&self.order)
    }

    fn standing_of(&self, delivery: &PlacedDelivery) -> Standing {
        Standing::of(delivery.lines.iter())
    }

    fn order_by(&self, delivery: &PlacedDelivery) -> String {
        format!("{} {}", self.shell.weekday(delivery.order_by_day), delivery.order_by_time)
    }

    fn closed(&self, delivery: &PlacedDelivery) -> bool {
        delivery.order_by() < self.now
    }

    /// The first cut-off that has not passed.
    fn open_until(&self) -> Option<String> {
        let open = self.order.deliveries.iter().filter(|delivery| !self.closed(delivery));
        open.min_by_key(|delivery| delivery.order_by()).map(|delivery| self.order_by(delivery))
    }

    fn next_delivery(&self) -> Option<&PlacedDelivery> {
        self.order.deliveries.iter().find(|delivery| delivery.day >= self.shell.today && delivery.comes())
    }

    fn confirmed(&self) -> bool {
        self.standing() == Standing::Confirmed
    }

    fn events(&self) -> Vec<(EventId, &str, String)> {
        let known = self.names.known(&self.order.events).into_iter();
        known.map(|(id, name, day)| (id, name, self.shell.weekday(day))).collect()
    }

    fn plan_path(&self) -> String {
        let events = self.names.known(&self.order.events).into_iter();
        let events: Vec<String> = events.map(|(id, _, _)| format!("event={id}")).collect();
        format!("/stem-order?{}", events.join("&"))
    }

    fn mail_path(&self) -> String {
        format!("mailto:{}?subject=Order%20{}", self.order.email, self.order.number)
    }

    fn message(&self) -> String {
        message(&self.order, self.shell.formats)
    }

    fn total_working(&self) -> String {
        let goods: Money = self.order.deliveries.iter().map(PlacedDelivery::expected_goods).sum();
        let fees: Money = self.order.deliveries.iter().map(PlacedDelivery::expected_fee).sum();
        format!("{} = goods {} + fees {}", self.money(goods + fees), self.money(goods), self.money(fees))
    }

    fn stems_working(&self, line: &PlacedLine) -> String {
        format!("{} × {} in each", packs(line.expected_packs()), line.pack_size)
    }

    /// Who gets how many stems of a line and pays what, as is expected now.
    fn shares(&self, line: &PlacedLine) -> Vec<String> {
        let shares = line.expected_shares().into_iter();
        let told = shares.map(|share| {
            format!(
                "{}: {}, {}",
                self.names.name(share.event_id),
                stems(share.stems),
                self.money(share.goods)
            )
        });
        told.collect()
    }

    fn left_over(&self, line: &PlacedLine) -> i64 {
        line.expected_stems() - line.expected_shares().iter().map(|share| share.stems).sum::<i64>()
    }

    /// What is known of a line, in words.
    fn known_of(&self, line: &PlacedLine) -> String {
        match &line.answer {
            None => "not confirmed yet".into(),
            Some(answer) if answer.kind == AnswerKind::Confirmed => "confirmed".into(),
            Some(answer) if answer.packs == 0 => "taken back".into(),
            Some(_) => "some taken back".into(),
        }
    }

    fn shorts(&self) -> Vec<Short> {
        shorts(self.order.lines())
    }

    /// `Confirmed 8 of 10 packs: 20 stems short, 4 of them over; touches Sorrell 10, Supper 6`.
    fn short_words(&self, short: &Short) -> String {
        let mut words = vec![format!("{} of {} expected", short.expected, packs(short.placed))];
        match short.stems {
            0 => words.push(", at another price".into()),
            short if short > 0 => words.push(format!(": {} short", stems(short))),
            more => words.push(format!(": {} more", stems(-more))),
        }
        if short.over() > 0 {
            words.push(format!(", {} of them over anyway", short.over()));
        }
        if !short.by_event.is_empty() {
            let by_event =
                short.by_event.iter().map(|(id, stems)| format!("{} {stems}", self.names.name(*id)));
            words.push(format!("; touches {}", by_event.collect::<Vec<_>>().join(", ")));
        }
        words.concat()
    }

    fn dearer(&self, short: &Short) -> String {
        match short.dearer {
            same if same.is_zero() => "as placed".into(),
            dearer if dearer > Money::ZERO => format!("{} more", self.money(dearer)),
            cheaper => format!("{} less", self.money(-cheaper)),
        }
    }

    /// The events that get fewer stems, worst first.
    fn touched(&self) -> Vec<Touched<'_>> {
        let mut by_event: BTreeMap<EventId, (i64, Vec<String>)> = BTreeMap::new();
        for short in self.shorts() {
            for (event, stems) in &short.by_event {
                let touched = by_event.entry(*event).or_default();
                touched.0 += stems;
                touched.1.push(format!("{} {stems}", short.name));
            }
        }
        let touched = by_event.into_iter().map(|(event, (stems, words))| Touched {
            event,
            name: self.names.name(event),
            stems,
            words: words.join(", "),
        });
        let mut touched: Vec<Touched<'_>> = touched.collect();
        touched.sort_by_key(|touched| -touched.stems);
        touched
    }

    /// What the form of a delivery holds: what was typed, or what is expected.
    fn rows<'a>(&self, delivery: &'a PlacedDelivery) -> Vec<Row<'a>> {
        let form = self.form_of(delivery);
        let known = AnswerForm::expected(delivery, &self.shell.formats, 0);
        let lines = delivery.lines.iter().filter(|line| may_be_answered(line)).enumerate();
        let row = |(row, line): (usize, &'a PlacedLine)| {
            let at = form.line.iter().position(|id| *id == line.id.to_string());
            let typed = |column: &[String], known: &[String]| {
                at.and_then(|at| column.get(at)).or(known.get(row)).cloned().unwrap_or_default()
            };
            let (packs, price) = (typed(&form.packs, &known.packs), typed(&form.price, &known.price));
            let differs = Some(&packs) != known.packs.get(row) || Some(&price) != known.price.get(row);
            let (packs_field, price_field) = (field("packs", delivery, row), field("price", delivery, row));
            Row { line, packs, price, packs_field, price_field, differs }
        };
        lines.map(row).collect()
    }

    fn form_of(&self, delivery: &PlacedDelivery) -> AnswerForm {
        let typed = self.form.as_ref().filter(|(id, _)| *id == delivery.id).map(|(_, form)| form.clone());
        typed.unwrap_or_else(|| AnswerForm::expected(delivery, &self.shell.formats, 0))
    }

    fn is_open(&self, delivery: &PlacedDelivery) -> bool {
        self.form.as_ref().is_some_and(|(id, _)| *id == delivery.id)
    }

    fn note_of(&self, delivery: &PlacedDelivery) -> String {
        self.form_of(delivery).note
    }

    /// The last thing that is known of a delivery.
    fn seen(&self, delivery: &PlacedDelivery) -> i64 {
        last_of(self.history.iter().filter(|said| said.delivery_id == delivery.id))
    }

    /// What was written down at one time, the latest first: when, what, and the note.
    fn told(&self) -> Vec<(String, String, &str)> {
        let at_once =
            |one: &Said, other: &Said| one.recorded_at == other.recorded_at && one.note == other.note;
        let told = self.history.chunk_by(at_once).rev().map(|said| {
            let when = self.shell.formats.moment(said[0].recorded_at, &self.shell.zone);
            (when, self.words_of(said), said[0].note.as_str())
        });
        told.collect()
    }

    /// `6 lines as placed; Stock, white: 1 of 2 packs at £10.90`.
    fn words_of(&self, said: &[Said]) -> String {
        let lines = said.iter().filter_map(|said| {
            let line = self.order.lines().find(|line| line.id == said.line_id)?;
            Some((said, line))
        });
        let (as_placed, others): (Vec<_>, Vec<_>) = lines.partition(|(said, line)| {
            said.kind == Some(AnswerKind::Confirmed) && (said.packs, said.price) == (line.packs, line.price)
        });
        let mut words = match as_placed.as_slice() {
            [] => Vec::new(),
            [(_, line)] => vec![format!("{} comes as placed", line.name)],
            lines => vec![format!("{} lines come as placed", lines.len())],
        };
        words.extend(
            others.into_iter().map(|(said, line)| format!("{}: {}", line.name, self.word_of(said, line))),
        );
        words.join("; ")
    }

    fn word_of(&self, said: &Said, line: &PlacedLine) -> String {
        let left = format!("{} of {} at {}", said.packs, packs(line.packs), self.money(said.price));
        match said.kind {
            Some(AnswerKind::Confirmed) => format!("{left} come"),
            Some(AnswerKind::Cancelled) if said.packs == 0 => "we took it back".into(),
            Some(AnswerKind::Cancelled) => format!("we took some back, {left} are left"),
            None => "as placed again, the last word taken back".into(),
        }
    }

    /// Where the last thing that was written down is taken back.
    fn undo_path(&self) -> Option<String> {
        let last = self.history.last()?;
        let before = self.history.iter().rev().find(|said| said.recorded_at != last.recorded_at);
        let upto = before.map_or(0, |said| said.id);
        Some(format!("/orders/{}/restoration/{upto}/{}", self.order.id, last.id))
    }

    fn may_cancel(&self) -> bool {
        self.next_delivery().is_some()
    }
}
