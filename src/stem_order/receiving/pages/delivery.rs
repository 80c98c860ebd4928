//! A delivery to count in: one row a line, good and lost, what is short, whom it touches.

use std::collections::{BTreeMap, HashMap};

use askama::Template;

use super::super::Receipt;
use super::super::forms::count::{CountForm, Row, Seen};
use super::super::standing::{Standing, against};
use super::super::store;
use super::counted;
use super::trouble_cards::{TroubleCard, cards};
use crate::events;
use crate::ground::caution::{Caution, Cautions};
use crate::ground::ids::{EventId, MaterialId, PlacedDeliveryId, PlacedLineId};
use crate::price_list::{self, Material};
use crate::stem_order::placing::{PlacedDelivery, PlacedLine};
use crate::stem_order::store::LoadError;
use crate::stem_order::store::planning::local;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::forms::FieldErrors;
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "stem_order/receiving_delivery.html")]
pub(super) struct DeliveryPage {
    shell: Shell,
    delivery: PlacedDelivery,
    receipts: Vec<Receipt>,
    events: HashMap<EventId, String>,
    materials: HashMap<MaterialId, Material>,
    troubles: Vec<TroubleCard>,
    pub(super) form: Option<CountForm>,
    pub(super) errors: FieldErrors,
    /// Rows that someone else counted otherwise meanwhile.
    pub(super) conflicts: Vec<Row>,
}

/// One line of the form.
struct LineRow<'a> {
    line: &'a PlacedLine,
    seen: String,
    good: String,
    lost: String,
    /// `6 short`; empty where it is as expected or not counted.
    said: String,
    counted: bool,
    differs: bool,
}

impl LineRow<'_> {
    fn unit(&self) -> &'static str {
        self.line.unit.words(self.line.expected_stems())
    }
}

/// A line that two people counted otherwise.
struct Conflict {
    id: PlacedLineId,
    name: String,
    theirs: String,
    yours: String,
}

impl DeliveryPage {
    pub(super) async fn new(visit: &mut Visit, id: PlacedDeliveryId) -> Result<DeliveryPage, Trouble> {
        let (delivery, receipts) = counted(visit, id).await?;
        let lines = || delivery.lines.iter();
        let for_events: Vec<EventId> =
            lines().flat_map(|line| &line.shares).map(|share| share.event_id).collect();
        let found = events::store::events(&mut visit.connection, &for_events).await?;
        let ids: Vec<MaterialId> = lines().map(|line| line.material_id).collect();
        let materials = price_list::store::materials(&mut visit.connection, &ids).await?;
        let troubles = touched(visit, &for_events, &ids).await?;
        let title = format!("{}, {}", delivery.supplier, visit.studio.formats.weekday(delivery.day));
        Ok(DeliveryPage {
            shell: visit.shell(Section::Receiving, title),
            events: found.into_iter().map(|event| (event.id, event.name)).collect(),
            troubles,
            delivery,
            receipts,
            materials,
            form: None,
            errors: FieldErrors::default(),
            conflicts: Vec::new(),
        })
    }

    pub(super) fn expected(&self) -> BTreeMap<PlacedLineId, i64> {
        expected(&self.delivery)
    }

    /// The page with what was typed given back.
    pub(super) fn with(self, form: CountForm, errors: FieldErrors) -> DeliveryPage {
        DeliveryPage { form: Some(form), errors, ..self }
    }

    /// The page after a save in which some rows were counted otherwise by someone else: theirs are seen now.
    pub(super) fn conflicting(self, form: CountForm, conflicts: Vec<Row>) -> DeliveryPage {
        DeliveryPage { form: Some(form), conflicts, ..self }
    }

    fn standing(&self) -> Standing {
        Standing::of(&self.delivery, &self.receipts)
    }

    fn receipt(&self, line: PlacedLineId) -> Option<&Receipt> {
        self.receipts.iter().find(|receipt| receipt.line == line)
    }

    fn rows(&self) -> Vec<LineRow<'_>> {
        self.delivery.lines.iter().map(|line| self.row(line)).collect()
    }

    fn row<'a>(&'a self, line: &'a PlacedLine) -> LineRow<'a> {
        let receipt = self.receipt(line.id);
        let as_kept = receipt.map(|receipt| (receipt.good.to_string(), receipt.lost.to_string()));
        // After a save only rows in conflict still hold what was typed; the others show the book.
        let differs = self.conflicts.iter().any(|row| row.line == line.id);
        let typed = self.form.as_ref().filter(|_| self.conflicts.is_empty() || differs);
        let typed = typed.and_then(|form| form.typed_for(line.id));
        let (good, lost) =
            typed.map(|(good, lost)| (good.to_owned(), lost.to_owned())).or(as_kept).unwrap_or_default();
        let said = receipt
            .map_or_else(String::new, |receipt| against(line.expected_stems(), receipt.good, receipt.lost));
        let seen = self.seen(line, receipt);
        LineRow { line, seen, good, lost, said, counted: receipt.is_some(), differs }
    }

    /// What was seen of a line: a refused form keeps what it was made with.
    fn seen(&self, line: &PlacedLine, receipt: Option<&Receipt>) -> String {
        let refused = self.form.as_ref().filter(|_| !self.errors.is_empty());
        let kept = refused.and_then(|form| form.seen_of(line.id));
        kept.map_or_else(|| Seen::of(receipt).code(), str::to_owned)
    }

    fn conflict_rows(&self) -> Vec<Conflict> {
        let row = |row: &Row| {
            let line = self.delivery.lines.iter().find(|line| line.id == row.line)?;
            let words = |good: i64, lost: i64| format!("{good} good, {lost} lost");
            Some(Conflict {
                id: row.line,
                name: line.name.clone(),
                theirs: self.receipt(row.line).map_or("not counted".into(), |r| words(r.good, r.lost)),
                yours: row.typed.map_or("not counted".into(), |v| words(v.good, v.lost)),
            })
        };
        self.conflicts.iter().filter_map(row).collect()
    }

    /// `Dinner 60; Wedding 55`.
    fn whom(&self, line: &PlacedLine) -> String {
        let shares = line.expected_shares();
        let of = shares.iter().filter(|share| share.stems > 0).map(|share| {
            let name = self.events.get(&share.event_id).map_or("?", String::as_str);
            format!("{name} {}", share.stems)
        });
        of.collect::<Vec<_>>().join("; ")
    }

    /// What the supplier or the studio said of a line since it was placed.
    fn answered(&self, line: &PlacedLine) -> Option<String> {
        let answer = line.answer.as_ref().filter(|answer| answer.packs != line.packs)?;
        let note = if answer.note.is_empty() { String::new() } else { format!(": {}", answer.note) };
        Some(format!("{} were placed, {} expected{note}", line.packs, answer.packs))
    }

    /// How the expected stems come about.
    fn expected_words(&self, line: &PlacedLine) -> String {
        format!("{} × {} of {}", line.expected_packs(), line.pack_name, line.pack_size)
    }

    /// The cautions of what is unpacked.
    fn cautions(&self) -> Vec<Caution> {
        self.materials.values().fold(Cautions::default(), |all, material| all.and(material.cautions)).list()
    }

    fn typed(&self) -> bool {
        !self.errors.is_empty() || !self.conflicts.is_empty()
    }
}

/// What is expected of each line, in stems.
pub(super) fn expected(delivery: &PlacedDelivery) -> BTreeMap<PlacedLineId, i64> {
    delivery.lines.iter().map(|line| (line.id, line.expected_stems())).collect()
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<PlacedDeliveryId>) -> Answer {
    page(&DeliveryPage::new(&mut visit, id).await?)
}

/// The troubles of a delivery's events with the materials that came with it.
async fn touched(
    visit: &mut Visit,
    events: &[EventId],
    materials: &[MaterialId],
) -> Result<Vec<TroubleCard>, Trouble> {
    let studio = std::sync::Arc::clone(&visit.studio);
    let now = local(visit.now, &studio);
    let mut found = match store::troubles(&mut visit.connection, &studio, now, events).await {
        // A recipe that makes no sense is told where it is written and ordered; deliveries come all the same.
        Err(LoadError::Weekend(_)) => Vec::new(),
        found => found?,
    };
    found.retain(|trouble| materials.contains(&trouble.material));
    Ok(cards(found, studio.formats))
}
