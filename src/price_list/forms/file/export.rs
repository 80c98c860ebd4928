//! The whole list as a file: a line for each price that holds or is announced, with all that is known of its offer,
//! material and supplier; materials and suppliers without offers have lines of their own.

use std::collections::{HashMap, HashSet};

use super::super::super::entries::PriceEntry;
use super::super::super::file::columns::{COLUMNS, Subject};
use super::super::super::file::write::{Cells, write};
use super::super::super::file::{KnownList, KnownOffer};
use super::super::super::price_history::{PriceStanding, standing};
use super::super::material::MaterialForm;
use super::super::supplier::SupplierForm;
use super::cells::{of_material, of_offer, of_supplier};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::ids::{MaterialId, SupplierId};
use crate::price_list::forms::offer::OfferForm;

/// The file's text, as the list stands on a day.
#[must_use]
pub fn export(known: &KnownList, formats: &Formats, today: Day) -> String {
    let suppliers = supplier_cells(known, *formats);
    let materials = material_cells(known, *formats);
    let mut lines: Vec<(SortKey, Cells)> = Vec::new();
    let (mut sold, mut selling) = (HashSet::new(), HashSet::new());
    for offer in known.offers.values() {
        let (supplier, material) = (offer.offer.supplier_id, offer.offer.material_id);
        let (Some(supplier_cells), Some(material_cells)) =
            (suppliers.get(&supplier), materials.get(&material))
        else {
            continue;
        };
        sold.insert(material);
        selling.insert(supplier);
        for price in prices_to_tell(offer, today) {
            let mut line = offer_cells(offer, price, *formats);
            line.extend(supplier_cells.clone());
            line.extend(material_cells.clone());
            lines.push((sort_key(&line, Some(offer), price), line));
        }
    }
    let unsold = materials.iter().filter(|(id, _)| !sold.contains(id)).map(|(_, cells)| cells);
    let silent = suppliers.iter().filter(|(id, _)| !selling.contains(id)).map(|(_, cells)| cells);
    lines.extend(unsold.chain(silent).map(|cells| (sort_key(cells, None, None), cells.clone())));
    lines.sort_by(|one, other| one.0.cmp(&other.0));
    write(lines.into_iter().map(|(_, line)| line))
}

/// Materials by name, then suppliers by name, packs by size and name, prices by day; suppliers alone come last.
type SortKey = (bool, String, String, i64, String, Option<Day>);

fn sort_key(line: &Cells, offer: Option<&KnownOffer>, price: Option<&PriceEntry>) -> SortKey {
    let name = |of| cell_of(line, of, "name").to_lowercase();
    let (material, supplier) = (name(Subject::Material), name(Subject::Supplier));
    let (size, pack) =
        offer.map_or((0, String::new()), |o| (o.offer.pack_size, o.offer.pack_name.to_lowercase()));
    (material.is_empty(), material, supplier, size, pack, price.map(|price| price.from_day))
}

fn cell_of<'a>(line: &'a Cells, of: Subject, field: &str) -> &'a str {
    let place = super::super::super::file::columns::place(of, field);
    place.and_then(|place| line.get(&place)).map_or("", String::as_str)
}

/// The price that holds and those announced; where there are none, the last one; where there never was one, nothing.
fn prices_to_tell(offer: &KnownOffer, today: Day) -> Vec<Option<&PriceEntry>> {
    let standing = |price: &&PriceEntry| standing(&offer.prices, price, today);
    let live =
        |price: &&PriceEntry| matches!(standing(price), PriceStanding::Holds | PriceStanding::Announced);
    let told: Vec<Option<&PriceEntry>> = offer.prices.iter().filter(live).map(Some).collect();
    if told.is_empty() {
        vec![offer.prices.iter().max_by_key(|price| (price.from_day, price.id))]
    } else {
        told
    }
}

fn cells(of: Subject, mut cell: impl FnMut(&'static str) -> String) -> Cells {
    let ours = COLUMNS.iter().enumerate().filter(|(_, column)| column.of == of);
    ours.map(|(place, column)| (place, cell(column.field))).filter(|(_, cell)| !cell.is_empty()).collect()
}

fn supplier_cells(known: &KnownList, formats: Formats) -> HashMap<SupplierId, Cells> {
    let of = |(id, supplier): &(SupplierId, _)| {
        let mut form = SupplierForm::of_new(supplier, &formats);
        (*id, cells(Subject::Supplier, |field| of_supplier(&mut form, field)))
    };
    known.suppliers.values().map(of).collect()
}

fn material_cells(known: &KnownList, formats: Formats) -> HashMap<MaterialId, Cells> {
    let names: HashMap<SupplierId, &str> =
        known.suppliers.values().map(|(id, supplier)| (*id, supplier.name.as_str())).collect();
    let of = |(id, material): &(MaterialId, super::super::super::entries::NewMaterial)| {
        let mut form = MaterialForm::of_new(material, &formats);
        let preferred = material.preferred_supplier_id.and_then(|id| names.get(&id)).copied();
        preferred.unwrap_or_default().clone_into(&mut form.preferred_supplier);
        (*id, cells(Subject::Material, |field| of_material(&mut form, field)))
    };
    known.materials.values().map(of).collect()
}

fn offer_cells(offer: &KnownOffer, price: Option<&PriceEntry>, formats: Formats) -> Cells {
    let form = OfferForm::of_new(&offer.offer);
    let mut line = cells(Subject::Offer, |field| of_offer(&form, field));
    if let Some(price) = price {
        line.extend(cells(Subject::Price, |field| match field {
            "price" => formats.money_input(price.price),
            "from_day" => price.from_day.to_string(),
            _ => price.until_day.map(|day| day.to_string()).unwrap_or_default(),
        }));
    }
    line
}
