//! The whole price list as one table in a file: which columns it has, how a file is read as lines and written.
//! Plain values; what a line means to the book is decided in `forms::file`.

pub mod columns;
pub mod escape;
pub mod sheet;
pub mod table;
pub mod write;

use std::collections::HashMap;

use super::entries::{NewMaterial, NewOffer, NewPrice, NewSupplier, PriceEntry};
use crate::ground::ids::{MaterialId, OfferId, SupplierId};

/// A name as it is told from others: without needless spaces, letter case of A to Z aside (as the book compares).
#[must_use]
pub fn key(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_ascii_lowercase()
}

/// Supplier, material, pack and size: what tells an offer from others.
pub type OfferKey = (SupplierId, MaterialId, String, i64);

/// An offer of the book with its price history.
#[derive(Debug, Clone)]
pub struct KnownOffer {
    /// Its identity.
    pub id: OfferId,
    /// Its facts.
    pub offer: NewOffer,
    /// Every price ever written.
    pub prices: Vec<PriceEntry>,
}

/// The price list as the book has it; removed things are not in it.
#[derive(Debug, Clone, Default)]
pub struct KnownList {
    /// Suppliers by [`key`].
    pub suppliers: HashMap<String, (SupplierId, NewSupplier)>,
    /// Materials by [`key`].
    pub materials: HashMap<String, (MaterialId, NewMaterial)>,
    /// Offers.
    pub offers: HashMap<OfferKey, KnownOffer>,
}

impl KnownList {
    /// What tells an offer from others.
    #[must_use]
    pub fn offer_key(offer: &NewOffer) -> OfferKey {
        (offer.supplier_id, offer.material_id, key(&offer.pack_name), offer.pack_size)
    }
}

/// What taking a file in writes. What is new carries an identity below nothing, which the store replaces.
#[derive(Debug, Clone, Default, Hash)]
pub struct Writes {
    /// Suppliers to add.
    pub new_suppliers: Vec<(SupplierId, NewSupplier)>,
    /// Suppliers to change.
    pub changed_suppliers: Vec<(SupplierId, NewSupplier)>,
    /// Materials to add.
    pub new_materials: Vec<(MaterialId, NewMaterial)>,
    /// Materials to change.
    pub changed_materials: Vec<(MaterialId, NewMaterial)>,
    /// Offers to add.
    pub new_offers: Vec<(OfferId, NewOffer)>,
    /// Offers to change.
    pub changed_offers: Vec<(OfferId, NewOffer)>,
    /// Prices to add.
    pub prices: Vec<(OfferId, NewPrice)>,
}

impl Writes {
    /// Whether nothing would be written.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.counts().iter().all(|(count, _)| *count == 0)
    }

    /// How many of what, for the sentence after.
    #[must_use]
    pub fn counts(&self) -> [(usize, &'static str); 7] {
        [
            (self.new_materials.len(), "new materials"),
            (self.changed_materials.len(), "changed materials"),
            (self.new_suppliers.len(), "new suppliers"),
            (self.changed_suppliers.len(), "changed suppliers"),
            (self.new_offers.len(), "new offers"),
            (self.changed_offers.len(), "changed offers"),
            (self.prices.len(), "new prices"),
        ]
    }
}
