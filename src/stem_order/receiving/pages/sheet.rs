//! The goods-in sheet of a delivery: to print, to write on with wet hands, to type in later.

use std::collections::HashMap;

use askama::Template;

use super::counted;
use crate::ground::caution::{Caution, Cautions};
use crate::ground::ids::{MaterialId, PlacedDeliveryId};
use crate::price_list::{self, Material};
use crate::stem_order::placing::{PlacedDelivery, PlacedLine};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "stem_order/receiving_sheet.html")]
struct SheetPage {
    shell: Shell,
    delivery: PlacedDelivery,
    materials: HashMap<MaterialId, Material>,
}

impl SheetPage {
    /// What is expected; nothing is printed of lines that were called off.
    fn lines(&self) -> Vec<&PlacedLine> {
        self.delivery.lines.iter().filter(|line| line.expected_stems() > 0).collect()
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

pub(super) async fn show(mut visit: Visit, Path(id): Path<PlacedDeliveryId>) -> Answer {
    let (delivery, _) = counted(&mut visit, id).await?;
    let ids: Vec<MaterialId> = delivery.lines.iter().map(|line| line.material_id).collect();
    let materials = price_list::store::materials(&mut visit.connection, &ids).await?;
    let title = format!("Goods in, {}, {}", delivery.supplier, visit.studio.formats.weekday(delivery.day));
    page(&SheetPage { shell: visit.shell(Section::Receiving, title), delivery, materials })
}
