//! What a file says of offers and their prices.

use std::collections::HashMap;

use super::super::super::entries::{NewPrice, PriceEntry};
use super::super::super::file::columns::{COLUMNS, Subject};
use super::super::super::file::table::Line;
use super::super::super::file::{KnownOffer, OfferKey, key};
use super::super::super::price_history::in_force;
use super::super::offer::{Known, OfferForm, PriceForm};
use super::cells::{into_offer, iso_day, said};
use super::plan::{Change, Gathered, Planner, provisional};
use crate::ground::formats::read_whole;
use crate::ground::ids::{MaterialId, OfferId, SupplierId};

/// The lines of one offer.
struct OfferLines {
    key: OfferKey,
    pack_size: String,
    lines: Vec<usize>,
    gathered: Gathered,
}

/// The known offers of a supplier's material.
type ByPair<'a> = HashMap<(SupplierId, MaterialId), Vec<&'a KnownOffer>>;

impl Planner<'_> {
    /// Offers, new and known, each with the prices of its lines.
    pub(super) fn offers(&mut self) {
        for (place, offer) in self.gather_offers().into_iter().enumerate() {
            self.offer(place, &offer);
        }
    }

    fn gather_offers(&mut self) -> Vec<OfferLines> {
        let table = self.table;
        let mut pairs = ByPair::new();
        for ((supplier, material, ..), offer) in &self.known.offers {
            pairs.entry((*supplier, *material)).or_default().push(offer);
        }
        let mut found: Vec<OfferLines> = Vec::new();
        let mut places: HashMap<OfferKey, usize> = HashMap::new();
        for (at, line) in table.lines.iter().enumerate() {
            let Some((supplier, material)) = self.pair(line) else { continue };
            let known = pairs.get(&(supplier, material)).map_or(&[][..], Vec::as_slice);
            let (name, size) = self.pack_of(line, known);
            let offer_key = (supplier, material, key(&name), size.parse().unwrap_or(0));
            let place = *places.entry(offer_key.clone()).or_insert_with(|| {
                let gathered = Gathered { name, first: at, cells: Vec::new() };
                found.push(OfferLines { key: offer_key, pack_size: size, lines: Vec::new(), gathered });
                found.len() - 1
            });
            found[place].lines.push(at);
            let cells = table.filled(line, Subject::Offer);
            self.add_cells(&mut found[place].gathered, at, cells);
        }
        found
    }

    /// The supplier and the material of a line that has an offer.
    fn pair(&self, line: &Line) -> Option<(SupplierId, MaterialId)> {
        let offer =
            [Subject::Offer, Subject::Price].iter().any(|of| self.table.filled(line, *of).next().is_some());
        let supplier = self.supplier_ids.get(&key(self.table.text(line, Subject::Supplier, "name")))?;
        let material = self.material_ids.get(&key(self.table.text(line, Subject::Material, "name")))?;
        Some((*supplier, *material)).filter(|_| offer)
    }

    /// The pack's name and size. Where one is missing and the book knows just one such pack, that one is meant.
    fn pack_of(&self, line: &Line, known: &[&KnownOffer]) -> (String, String) {
        let name = self.table.text(line, Subject::Offer, "pack_name");
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        let size = self.table.text(line, Subject::Offer, "pack_size");
        let size = read_whole(size).map_or_else(|| size.to_owned(), |size| size.to_string());
        let fits = |offer: &&&KnownOffer| {
            (name.is_empty() || key(&name) == key(&offer.offer.pack_name))
                && (size.is_empty() || size == offer.offer.pack_size.to_string())
        };
        let mut fitting = known.iter().filter(fits);
        match (fitting.next(), fitting.next()) {
            (Some(only), None) => (only.offer.pack_name.clone(), only.offer.pack_size.to_string()),
            _ if name.is_empty() => ("Pack".into(), size),
            _ => (name, size),
        }
    }

    fn offer(&mut self, place: usize, offer: &OfferLines) {
        let known = self.known.offers.get(&offer.key);
        let old = known.map(|known| OfferForm::of_new(&known.offer));
        let blank = || OfferForm {
            pack_name: offer.gathered.name.clone(),
            pack_size: offer.pack_size.clone(),
            ..OfferForm::blank("")
        };
        let mut form = old.clone().unwrap_or_else(blank);
        for (column, cell, line) in &offer.gathered.cells {
            if let Err(message) = into_offer(&mut form, &COLUMNS[*column], cell) {
                self.refuse_cell(*line, *column, &message);
            }
        }
        let (supplier, material, ..) = offer.key;
        let names = Known { material: Ok(material), supplier: Ok(supplier) };
        let new = match form.parse(self.formats, &names) {
            Ok(new) => new,
            Err(errors) => return self.refuse_form(Subject::Offer, &offer.gathered, &errors),
        };
        let id = known.map_or(OfferId(provisional(place)), |known| known.id);
        let first = offer.gathered.first;
        match (known, old) {
            (Some(known), Some(old)) if known.offer != new => {
                self.report_changes(first, OfferForm::of_new(&new).differences(&old));
                self.writes.changed_offers.push((id, new));
            }
            (None, _) => {
                self.report_new(first, format!("New offer, {} of {}", new.pack_name, new.pack_size));
                self.writes.new_offers.push((id, new));
            }
            _ => {}
        }
        self.prices(id, offer, known.map_or(&[], |known| known.prices.as_slice()), known.is_none());
    }

    fn prices(&mut self, id: OfferId, offer: &OfferLines, history: &[PriceEntry], is_new: bool) {
        let mut written: HashMap<crate::ground::dates::Day, u64> = HashMap::new();
        for line in &offer.lines {
            let Some(price) = self.price(*line, history) else { continue };
            if let Some(other) = written.insert(price.from_day, self.reports[*line].number) {
                self.refuse(*line, format!("price: Line {other} gives one from the same day."));
            }
            let same = |entry: &PriceEntry| entry.price == price.price && entry.until_day == price.until_day;
            if !self.entry_meant(*line, history, &price).is_some_and(same) {
                self.report_price(*line, &price, in_force(history, price.from_day));
                self.writes.prices.push((id, price));
            }
        }
        if is_new && written.is_empty() && self.reports[offer.gathered.first].reasons.is_empty() {
            self.refuse(offer.gathered.first, "price: A new offer needs one.");
        }
    }

    /// The price of a line: its first day is today where none is said, its last day stays as it is where none is said.
    fn price(&mut self, at: usize, history: &[PriceEntry]) -> Option<NewPrice> {
        let table = self.table;
        let line = &table.lines[at];
        let cells: HashMap<&str, String> = table
            .filled(line, Subject::Price)
            .map(|(column, cell)| (COLUMNS[column].field, said(&COLUMNS[column], cell).to_owned()))
            .collect();
        if cells.is_empty() {
            return None;
        }
        let day = |field: &str| iso_day(cells.get(field).map_or("", String::as_str), *self.formats);
        let from_day = if cells.contains_key("from_day") { day("from_day") } else { self.today.to_string() };
        let price = cells.get("price").cloned().unwrap_or_default();
        let form = PriceForm { price, from_day, until_day: day("until_day") };
        let mut price = match form.parse(self.formats) {
            Ok(price) => price,
            Err(errors) => {
                let gathered = Gathered { name: String::new(), first: at, cells: Vec::new() };
                self.refuse_form(Subject::Price, &gathered, &errors);
                return None;
            }
        };
        if !cells.contains_key("until_day") {
            price.until_day = self.entry_meant(at, history, &price).and_then(|entry| entry.until_day);
        }
        Some(price)
    }

    /// The entry of the history that a line speaks of: the one of its first day or, without one, today's.
    fn entry_meant<'h>(
        &self,
        at: usize,
        history: &'h [PriceEntry],
        price: &NewPrice,
    ) -> Option<&'h PriceEntry> {
        let says_from = !self.table.text(&self.table.lines[at], Subject::Price, "from_day").is_empty();
        if says_from {
            let of_day = history.iter().filter(|entry| entry.from_day == price.from_day);
            of_day.max_by_key(|entry| entry.id)
        } else {
            in_force(history, self.today)
        }
    }

    fn report_price(&mut self, line: usize, price: &NewPrice, before: Option<&PriceEntry>) {
        let until =
            price.until_day.map(|day| format!(" until {}", self.formats.day(day))).unwrap_or_default();
        let change = Change {
            label: format!("Price from {}{until}", self.formats.day(price.from_day)),
            before: before.map(|entry| self.formats.money(entry.price)).unwrap_or_default(),
            after: self.formats.money(price.price),
        };
        self.reports[line].changes.push(change);
    }
}
