//! What lies on hand: fresh by age, hard goods with what is reserved; and the sheet to count by on paper.

use askama::Template;

use super::{materials_of, sorted};
use crate::ground::choice::Choice;
use crate::ground::dates::Day;
use crate::ground::ids::StockLotId;
use crate::price_list::{Material, Unit};
use crate::stem_order::stock::holding::Holding;
use crate::stem_order::stock::store;
use crate::stem_order::windows::keeps_until;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};

/// A lot as the list shows it.
pub(super) struct LotLine {
    pub(super) id: StockLotId,
    pub(super) name: String,
    pub(super) looks: String,
    pub(super) unit: String,
    pub(super) arrived: String,
    pub(super) counted: String,
    pub(super) keeps: String,
    /// It is past the day for which it keeps.
    pub(super) past: bool,
    pub(super) there: i64,
    pub(super) there_working: String,
    pub(super) reserved: i64,
    pub(super) reserved_working: String,
    pub(super) free: i64,
    pub(super) missing: i64,
    pub(super) note: String,
}

impl LotLine {
    pub(super) fn of(shell: &Shell, holding: &Holding, material: &Material) -> LotLine {
        let (lot, today) = (&holding.lot, shell.today);
        let until = keeps_until(material, lot.arrived_on);
        let counted = format!("{} on {}", lot.on_hand, shell.weekday(lot.counted_on));
        let used = match holding.used(today) {
            0 => String::new(),
            used => format!(", {used} used since for {}", names(holding, |day| day < today)),
        };
        LotLine {
            id: lot.id,
            name: material.name.clone(),
            looks: looks(material),
            unit: if material.unit == Unit::Each {
                String::new()
            } else {
                material.unit.label().to_lowercase()
            },
            arrived: shell.weekday(lot.arrived_on),
            keeps: until.map(|day| shell.weekday(day)).unwrap_or_default(),
            past: until.is_some_and(|day| day < today),
            there: holding.there(today),
            there_working: format!("{} = counted {counted}{used}", holding.there(today)),
            reserved: holding.reserved(today),
            reserved_working: names(holding, |day| today <= day),
            free: holding.free(),
            missing: holding.missing(),
            note: lot.note.clone(),
            counted,
        }
    }
}

/// `Wedding 8, Supper 4`
fn names(holding: &Holding, on: impl Fn(Day) -> bool) -> String {
    let these = holding.reservations.iter().filter(|one| on(one.event_day));
    these.map(|one| format!("{} {}", one.event_name, one.count)).collect::<Vec<_>>().join(", ")
}

/// Colour and grade, as far as the name does not say them.
fn looks(material: &Material) -> String {
    let name = material.name.to_lowercase();
    let words = [material.colour.as_str(), material.grade.as_str()];
    let new = words.into_iter().filter(|word| !word.is_empty() && !name.contains(&word.to_lowercase()));
    new.collect::<Vec<_>>().join(", ")
}

#[derive(Template)]
#[template(path = "stem_order/stock_list.html")]
struct ListPage {
    shell: Shell,
    fresh: Vec<LotLine>,
    hard: Vec<LotLine>,
    gone: Vec<LotLine>,
}

impl ListPage {
    /// Lots of which something is past its keeping.
    fn past(&self) -> usize {
        self.fresh.iter().filter(|line| line.past).count()
    }
}

pub(super) async fn list(mut visit: Visit) -> Answer {
    let holdings = store::holdings(&mut visit.connection).await?;
    let materials = materials_of(&mut visit, &holdings).await?;
    let shell = visit.shell(Section::StemOrder, "Stock");
    let (mut fresh, mut hard, mut gone) = (Vec::new(), Vec::new(), Vec::new());
    for (holding, material) in sorted(&holdings, &materials) {
        let line = LotLine::of(&shell, holding, material);
        match line.there > 0 || line.reserved > 0 {
            false => gone.push(line),
            true if material.is_fresh() => fresh.push(line),
            true => hard.push(line),
        }
    }
    page(&ListPage { shell, fresh, hard, gone })
}

#[derive(Template)]
#[template(path = "stem_order/stock_sheet.html")]
struct SheetPage {
    shell: Shell,
    groups: Vec<(&'static str, Vec<LotLine>)>,
}

pub(super) async fn sheet(mut visit: Visit) -> Answer {
    let holdings = store::holdings(&mut visit.connection).await?;
    let materials = materials_of(&mut visit, &holdings).await?;
    let shell = visit.shell(Section::StemOrder, "Count sheet");
    let mut groups: Vec<(&'static str, Vec<LotLine>)> = Vec::new();
    for (holding, material) in sorted(&holdings, &materials) {
        let line = LotLine::of(&shell, holding, material);
        if line.there == 0 {
            continue;
        }
        let kind = material.kind.label();
        match groups.last_mut().filter(|(known, _)| *known == kind) {
            Some((_, lines)) => lines.push(line),
            None => groups.push((kind, vec![line])),
        }
    }
    page(&SheetPage { shell, groups })
}
