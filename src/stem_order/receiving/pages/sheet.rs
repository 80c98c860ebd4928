//! The goods-in sheet of a delivery: to print, to write on with wet hands and type in later, or to tick on a tablet.

use std::collections::HashMap;

use askama::Template;

use super::super::Receipt;
use super::counted;
use crate::ground::caution::{Caution, Cautions};
use crate::ground::ids::{MaterialId, PlacedDeliveryId};
use crate::price_list::{self, Material};
use crate::stem_order::placing::{PlacedDelivery, PlacedLine};
use crate::studio::visit::{Section, Shell, Visit};
use crate::ticks::pages::Hand;
use crate::ticks::sheet::{Sheet, SheetLine};
use crate::web::answer::{Answer, page};
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "stem_order/receiving_sheet.html")]
struct SheetPage {
    shell: Shell,
    delivery: PlacedDelivery,
    materials: HashMap<MaterialId, Material>,
    receipts: Vec<Receipt>,
    ticks: Sheet,
}

impl SheetPage {
    /// What is expected; nothing is printed of lines that were called off.
    fn lines(&self) -> Vec<&PlacedLine> {
        expected(&self.delivery)
    }

    /// What was counted in of a line: `172 good, 6 lost`.
    fn counted(&self, line: &PlacedLine) -> Option<String> {
        let receipt = self.receipts.iter().find(|receipt| receipt.line == line.id)?;
        let lost = if receipt.lost > 0 { format!(", {} lost", receipt.lost) } else { String::new() };
        Some(format!("{} good{lost}", receipt.good))
    }

    fn key(&self, line: &PlacedLine) -> String {
        key(line)
    }

    /// What a box says aloud.
    fn spoken(&self, line: &PlacedLine) -> String {
        format!("In: {}, {} of {}", line.name, line.pack_name, line.pack_size)
    }

    fn unit(&self, line: &PlacedLine) -> &'static str {
        line.unit.words(line.expected_stems())
    }

    fn care(&self, line: &PlacedLine) -> String {
        let care = self.materials.get(&line.material_id).filter(|material| material.is_fresh());
        match care.map(|material| material.care.hydrate_hours) {
            Some(hours) if hours > 0 => format!("Into water at once, {hours} h before use"),
            Some(_) => "Into water at once".into(),
            None => String::new(),
        }
    }

    fn cautions(&self) -> Vec<Caution> {
        self.materials.values().fold(Cautions::default(), |all, material| all.and(material.cautions)).list()
    }
}

pub(super) async fn show(mut visit: Visit, hand: Hand, Path(id): Path<PlacedDeliveryId>) -> Answer {
    let (delivery, receipts) = counted(&mut visit, id).await?;
    let ids: Vec<MaterialId> = delivery.lines.iter().map(|line| line.material_id).collect();
    let materials = price_list::store::materials(&mut visit.connection, &ids).await?;
    let title = format!("Goods in, {}, {}", delivery.supplier, visit.studio.formats.weekday(delivery.day));
    let address = (format!("goods-in-{id}"), format!("/receiving/{id}/sheet"));
    let lines = expected(&delivery).into_iter();
    let lines = lines.map(|line| SheetLine::counted(key(line), line.expected_stems(), "in")).collect();
    let ticks = hand.sheet(&mut visit, address, lines).await?;
    let shell = visit.shell(Section::Receiving, title);
    page(&SheetPage { shell, delivery, materials, receipts, ticks })
}

fn expected(delivery: &PlacedDelivery) -> Vec<&PlacedLine> {
    delivery.lines.iter().filter(|line| line.expected_stems() > 0).collect()
}

fn key(line: &PlacedLine) -> String {
    format!("line-{}", line.id)
}
