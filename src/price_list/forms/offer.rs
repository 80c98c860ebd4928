//! The forms of an offer and of a price.

use serde::Deserialize;

use super::super::entries::{ListedOffer, NewOffer, NewPrice};
use super::supplier::bits;
use crate::ground::dates::{MONTHS_SHORT, Season};
use crate::ground::formats::{Formats, read_whole};
use crate::ground::ids::{MaterialId, SupplierId};
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// The largest pack and the most packs.
const MOST: i64 = 100_000;

/// What was typed. An offer that is in the book keeps its material and supplier.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct OfferForm {
    pub version: String,
    /// The material's name.
    pub material: String,
    /// The supplier's identity.
    pub supplier: String,
    pub pack_name: String,
    pub pack_size: String,
    pub least_packs: String,
    pub most_packs: String,
    /// The numbers of the months that are ticked, 0 for January.
    pub month: Vec<String>,
    pub price: String,
    pub from_day: String,
    pub until_day: String,
}

/// What the book knows of the names in the form.
#[derive(Debug)]
pub struct Known {
    /// The material, or why there is none.
    pub material: Result<MaterialId, String>,
    /// The supplier, or why there is none.
    pub supplier: Result<SupplierId, String>,
}

impl OfferForm {
    /// An empty form with its defaults: a bunch all the year, at least one, from today.
    #[must_use]
    pub fn blank(today: &str) -> OfferForm {
        OfferForm {
            pack_name: "Bunch".into(),
            least_packs: "1".into(),
            month: (0..12).map(|month| month.to_string()).collect(),
            from_day: today.into(),
            ..OfferForm::default()
        }
    }

    /// The form filled in from an offer.
    #[must_use]
    pub fn of(offer: &ListedOffer) -> OfferForm {
        OfferForm {
            version: offer.version.to_string(),
            material: offer.material.clone(),
            ..OfferForm::of_new(&NewOffer::from(offer))
        }
    }

    /// The form that yields this offer.
    #[must_use]
    pub fn of_new(offer: &NewOffer) -> OfferForm {
        OfferForm {
            supplier: offer.supplier_id.to_string(),
            pack_name: offer.pack_name.clone(),
            pack_size: offer.pack_size.to_string(),
            least_packs: offer.least_packs.to_string(),
            most_packs: offer.most_packs.map(|most| most.to_string()).unwrap_or_default(),
            month: (0..12_u8).filter(|i| offer.season.has_index(*i)).map(|i| i.to_string()).collect(),
            ..OfferForm::default()
        }
    }

    /// Reads the pack, its limits and months: an offer, or every message.
    pub fn parse(&self, formats: &Formats, known: &Known) -> Result<NewOffer, FieldErrors> {
        let mut c = Checker::new(formats);
        let offer = self.read(&mut c, known);
        c.done(offer)
    }

    /// Reads a new offer with its first price.
    pub fn parse_with_price(
        &self,
        formats: &Formats,
        known: &Known,
    ) -> Result<(NewOffer, NewPrice), FieldErrors> {
        let mut c = Checker::new(formats);
        let offer = self.read(&mut c, known);
        let price = read_price(&mut c, &self.price, &self.from_day, &self.until_day);
        c.done((offer, price))
    }

    fn read(&self, c: &mut Checker, known: &Known) -> NewOffer {
        if let Err(message) = &known.material {
            c.refuse("material", message);
        }
        if let Err(message) = &known.supplier {
            c.refuse("supplier", message);
        }
        let least_packs = c.whole_or_none("least_packs", &self.least_packs, 1..=MOST).unwrap_or(1);
        let most_packs = c.whole_or_none("most_packs", &self.most_packs, 1..=MOST);
        if let Some(most) = most_packs.filter(|most| *most < least_packs) {
            c.refuse(
                "most_packs",
                format!("At most {most} is under the least of {least_packs}; leave it empty for no limit."),
            );
        }
        NewOffer {
            supplier_id: *known.supplier.as_ref().unwrap_or(&SupplierId(0)),
            material_id: *known.material.as_ref().unwrap_or(&MaterialId(0)),
            pack_name: c.name("pack_name", &self.pack_name, "what the pack is called, such as bunch or box"),
            pack_size: self.read_pack_size(c),
            least_packs,
            most_packs,
            season: self.read_season(c),
        }
    }

    fn read_pack_size(&self, c: &mut Checker) -> i64 {
        if read_whole(&self.pack_size).is_some_and(|size| size < 1) {
            c.refuse("pack_size", "A pack must hold at least one.");
            return 1;
        }
        c.whole("pack_size", &self.pack_size, 1..=MOST)
    }

    fn read_season(&self, c: &mut Checker) -> Season {
        let season = bits("month", &self.month, 12, c);
        if season == 0 {
            c.refuse(
                "month",
                "Choose at least one month in which it is offered; all twelve for the whole year.",
            );
        }
        Season(season)
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &OfferForm) -> Vec<Difference> {
        differences(&[
            ("Pack", &self.pack_name, &theirs.pack_name),
            ("In a pack", &self.pack_size, &theirs.pack_size),
            ("Least packs", &self.least_packs, &theirs.least_packs),
            ("Most packs", &self.most_packs, &theirs.most_packs),
            ("Months", &month_names(&self.month), &month_names(&theirs.month)),
        ])
    }
}

fn month_names(indices: &[String]) -> String {
    let name = |index: &String| MONTHS_SHORT.get(index.parse::<usize>().ok()?).copied();
    indices.iter().filter_map(name).collect::<Vec<_>>().join(" ")
}

/// A price as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct PriceForm {
    pub price: String,
    pub from_day: String,
    pub until_day: String,
}

impl PriceForm {
    /// Reads the form: a price, or every message.
    pub fn parse(&self, formats: &Formats) -> Result<NewPrice, FieldErrors> {
        let mut c = Checker::new(formats);
        let price = read_price(&mut c, &self.price, &self.from_day, &self.until_day);
        c.done(price)
    }
}

fn read_price(c: &mut Checker, price: &str, from: &str, until: &str) -> NewPrice {
    let new = NewPrice {
        price: c.money("price", price),
        from_day: c.day("from_day", from),
        until_day: c.day_or_none("until_day", until),
    };
    if new.until_day.is_some_and(|until| until < new.from_day) {
        c.refuse("until_day", "The last day lies before the first; leave it empty if the price stays open.");
    }
    new
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::studio::Studio;

    fn form() -> OfferForm {
        OfferForm { pack_size: "25".into(), price: "31".into(), ..OfferForm::blank("2026-05-04") }
    }

    fn parsed(form: &OfferForm) -> Result<(NewOffer, NewPrice), FieldErrors> {
        let known = Known { material: Ok(MaterialId(1)), supplier: Ok(SupplierId(2)) };
        form.parse_with_price(&Studio::new_book().formats, &known)
    }

    #[test]
    fn an_offer_is_read_with_its_price() {
        let (offer, price) = parsed(&form()).unwrap();
        assert_eq!((offer.pack_size, offer.least_packs, offer.most_packs), (25, 1, None));
        assert_eq!((price.price.minor(), price.until_day), (3_100, None));
        assert_eq!(offer.season, Season::ALL_YEAR);
    }

    #[test]
    fn each_slip_is_named_at_its_field() {
        for (field, form) in [
            ("pack_size", OfferForm { pack_size: "0".into(), ..form() }),
            ("pack_size", OfferForm { pack_size: "2.5".into(), ..form() }),
            ("price", OfferForm { price: "31.005".into(), ..form() }),
            ("price", OfferForm { price: "-1".into(), ..form() }),
            ("most_packs", OfferForm { least_packs: "4".into(), most_packs: "3".into(), ..form() }),
            ("month", OfferForm { month: Vec::new(), ..form() }),
            ("month", OfferForm { month: vec!["12".into()], ..form() }),
            ("until_day", OfferForm { until_day: "2026-05-03".into(), ..form() }),
            ("from_day", OfferForm { from_day: "4 May".into(), ..form() }),
            ("pack_name", OfferForm { pack_name: " ".into(), ..form() }),
        ] {
            assert!(parsed(&form).unwrap_err().of(field).is_some(), "{field}: {form:?}");
        }
    }
}
