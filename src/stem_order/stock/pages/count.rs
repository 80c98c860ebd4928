//! The count sheet on screen: all of it is kept, or none.

use std::collections::{BTreeMap, HashMap};

use askama::Template;
use axum::extract::{RawQuery, State};
use sqlx::SqliteConnection;

use super::list::LotLine;
use super::{materials_of, sorted};
use crate::events;
use crate::ground::ids::{EventId, MaterialId, StockLotId};
use crate::price_list::{self, Material};
use crate::stem_order::forms::MOST_EVENTS;
use crate::stem_order::stock::forms::{CountForm, CountRow, Counted, stale};
use crate::stem_order::stock::holding::Holding;
use crate::stem_order::stock::store::{self, NewLot};
use crate::stem_order::store::{LoadError, load_weekend};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{self, Answer, Trouble, page, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form};
use crate::web::state::App;

#[derive(Template)]
#[template(path = "stem_order/stock_count.html")]
struct CountPage {
    shell: Shell,
    form: CountForm,
    lots: HashMap<String, LotLine>,
    errors: FieldErrors,
    differences: Vec<Changed>,
}

/// A lot that someone else changed meanwhile.
struct Changed {
    label: String,
    theirs: String,
    yours: String,
}

impl CountPage {
    async fn new(visit: &mut Visit, form: CountForm, errors: FieldErrors) -> Result<CountPage, Trouble> {
        let holdings = store::holdings(&mut visit.connection).await?;
        let materials = materials_of(visit, &holdings).await?;
        let shell = visit.shell(Section::StemOrder, "Count what lies on hand");
        let lots = sorted(&holdings, &materials);
        let line = |(holding, material): &(&Holding, &Material)| {
            (holding.lot.id.to_string(), LotLine::of(&shell, holding, material))
        };
        let lots = lots.iter().map(line).collect();
        Ok(CountPage { shell, form, lots, errors, differences: Vec::new() })
    }

    /// The row behind the last, for the grid's script.
    fn blank(&self) -> CountRow {
        CountRow { at: self.form.lot.len(), ..CountRow::default() }
    }

    fn lot(&self, row: &CountRow) -> Option<&LotLine> {
        self.lots.get(&row.lot)
    }

    fn error(&self, at: usize, cell: &str) -> Option<&str> {
        self.errors.of(&format!("stock-{at}-{cell}"))
    }

    fn back_path(&self) -> String {
        back_path(&self.form.back)
    }

    fn for_order(&self) -> bool {
        !self.form.back.is_empty()
    }
}

/// The order's own page, or the stock. Whatever was sent is only ever the query of our own address.
fn back_path(back: &str) -> String {
    if back.is_empty() { "/stock".into() } else { format!("/stem-order?{}", own_query(back)) }
}

fn own_query(raw: &str) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    query.extend_pairs(form_urlencoded::parse(raw.as_bytes()));
    query.finish()
}

pub(super) async fn show(mut visit: Visit, RawQuery(query): RawQuery) -> Answer {
    let query = query.unwrap_or_default();
    let wanted = wanted(&mut visit, &query).await?;
    let holdings = store::holdings(&mut visit.connection).await?;
    let materials = materials_of(&mut visit, &holdings).await?;
    let today = visit.today;
    let mut lots = sorted(&holdings, &materials);
    lots.retain(|(holding, material)| match &wanted {
        Some(wanted) => wanted.iter().any(|one| one.id == material.id) && holding.there(today) > 0,
        None => holding.there(today) > 0,
    });
    let has_lot = |one: &&Material| lots.iter().any(|(_, material)| material.id == one.id);
    let none: Vec<&Material> = wanted.iter().flatten().filter(|one| !has_lot(one)).collect();
    let form = CountForm {
        once_key: visit.now.to_string(),
        back: if wanted.is_some() { own_query(&query) } else { String::new() },
        ..CountForm::of(&lots, &none, today)
    };
    page(&CountPage::new(&mut visit, form, FieldErrors::default()).await?)
}

/// Everything that an order's events need or that may stand in; none where the address names no event.
async fn wanted(visit: &mut Visit, query: &str) -> Result<Option<Vec<Material>>, Trouble> {
    let pairs = form_urlencoded::parse(query.as_bytes());
    let typed: Vec<String> =
        pairs.filter(|(name, _)| name == "event").map(|pair| pair.1.into_owned()).collect();
    if typed.is_empty() {
        return Ok(None);
    }
    let ids: Option<Vec<EventId>> = typed.iter().map(|id| id.parse().ok()).collect();
    let ids = ids.filter(|ids| ids.len() <= MOST_EVENTS).ok_or(Trouble::NotFound("event"))?;
    let known = events::store::events(&mut visit.connection, &ids).await?;
    if ids.iter().any(|id| !known.iter().any(|event| event.id == *id)) {
        return Err(Trouble::NotFound("event"));
    }
    let studio = std::sync::Arc::clone(&visit.studio);
    let loaded = load_weekend(&mut visit.connection, &studio, &ids).await;
    let weekend = loaded.map_err(|error| match error {
        LoadError::Weekend(cause) => Trouble::Conflict(cause.to_string()),
        LoadError::Book(error) => Trouble::from(error),
    })?;
    let mut materials: Vec<Material> = Vec::new();
    for need in &weekend.needs {
        let substitutes = need.parts.iter().flat_map(|part| &part.substitutes);
        for material in [&need.material].into_iter().chain(substitutes).filter_map(|id| weekend.material(*id))
        {
            if !material.loaned && !materials.iter().any(|known| known.id == material.id) {
                materials.push(material.clone());
            }
        }
    }
    Ok(Some(materials))
}

pub(super) async fn save(State(app): State<App>, mut visit: Visit, Form(form): Form<CountForm>) -> Answer {
    let counted = match form.parse(visit.today, &visit.studio.formats) {
        Ok(counted) => counted,
        Err(errors) => return refused(&CountPage::new(&mut visit, form, errors).await?),
    };
    let mut tx = app.book.write().await?;
    let holdings = store::holdings(&mut tx).await?;
    let now: BTreeMap<StockLotId, &Holding> = holdings.iter().map(|one| (one.lot.id, one)).collect();
    let lots = counted.iter().filter_map(|row| match row {
        Counted::Lot { lot, .. } => Some(*lot),
        Counted::New { .. } => None,
    });
    if lots.into_iter().any(|lot| !now.contains_key(&lot)) {
        return Err(Trouble::NotFound("lot"));
    }
    let changed = stale(&counted, &now);
    if !changed.is_empty() {
        return show_stale(&mut visit, form, &changed).await;
    }
    let new = match named(&mut tx, &counted).await? {
        Ok(new) => new,
        Err(errors) => return refused(&CountPage::new(&mut visit, form, errors).await?),
    };
    let when = (visit.today, visit.now);
    for row in &counted {
        match row {
            Counted::Lot { lot, count, .. } => store::count(&mut tx, *lot, *count, when).await?,
            Counted::New { at, arrived_on, count, .. } => {
                let Some(material) = new.get(at) else { continue };
                let once_key = (!form.once_key.is_empty()).then(|| format!("{} {at}", form.once_key));
                let (material, arrived_on, count) = (*material, *arrived_on, *count);
                let lot = NewLot { material, arrived_on, count, note: String::new(), once_key };
                store::take_in(&mut tx, &lot, when).await?;
            }
        }
    }
    tx.commit().await?;
    let said = match counted.len() {
        0 => "Nothing was counted.".to_owned(),
        1 => "1 lot counted.".to_owned(),
        more => format!("{more} lots counted."),
    };
    onward_saying(&app, back_path(&form.back), said)
}

/// The material of each added row, or every message: it must be in the price list and not be loaned.
async fn named(
    connection: &mut SqliteConnection,
    counted: &[Counted],
) -> Result<Result<HashMap<usize, MaterialId>, FieldErrors>, Trouble> {
    let (mut known, mut errors) = (HashMap::new(), FieldErrors::default());
    for row in counted {
        let Counted::New { at, material: name, .. } = row else { continue };
        let field = format!("stock-{at}-material");
        let Some(id) = price_list::store::material_named(connection, name).await? else {
            errors.add(field, unknown(&price_list::store::near_materials(connection, name).await?, name));
            continue;
        };
        let materials = price_list::store::materials(connection, &[id]).await?;
        if materials.get(&id).is_some_and(|material| material.loaned) {
            errors.add(field, format!("{name} is loaned: how many the studio owns stands on its own page."));
        }
        known.insert(*at, id);
    }
    Ok(if errors.is_empty() { Ok(known) } else { Err(errors) })
}

fn unknown(near: &[String], name: &str) -> String {
    let name = crate::ground::formats::clipped(name);
    if near.is_empty() {
        return format!("\u{201c}{name}\u{201d} is not in the price list.");
    }
    format!("\u{201c}{name}\u{201d} is not in the price list. Near to it: {}.", near.join(", "))
}

async fn show_stale(visit: &mut Visit, mut form: CountForm, changed: &[(usize, &Holding)]) -> Answer {
    for (at, holding) in changed {
        if let Some(version) = form.version.get_mut(*at) {
            *version = holding.lot.version.to_string();
        }
    }
    let mut shown = CountPage::new(visit, form, FieldErrors::default()).await?;
    shown.differences = changed
        .iter()
        .filter_map(|(at, _)| {
            let row = shown.form.rows().into_iter().nth(*at)?;
            let lot = shown.lots.get(&row.lot)?;
            let label = format!("{}, since {}", lot.name, lot.arrived);
            Some(Changed { label, theirs: lot.counted.clone(), yours: row.count })
        })
        .collect();
    answer::stale(&shown)
}
