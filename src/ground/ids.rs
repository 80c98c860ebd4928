//! Identities of records, one type a table, so that a client's number never lands in an event's place:
//! SQLite's macros do not check bind types, the compiler does.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, sqlx::Type)]
        #[sqlx(transparent)]
        #[serde(transparent)]
        pub struct $name(pub i64);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = std::num::ParseIntError;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                text.trim().parse().map($name)
            }
        }
    )*};
}

ids! {
    /// Someone who may come in.
    PersonId
    /// A tax rate of the studio's.
    TaxRateId
    /// A wholesaler or grower.
    SupplierId
    /// Anything a recipe can call for.
    MaterialId
    /// A pack of one material from one supplier.
    OfferId
    /// One price of an offer, from a day on.
    OfferPriceId
    /// A recipe.
    RecipeId
    /// A line of a recipe.
    RecipeLineId
    /// A stored picture.
    PictureId
    /// A sign of the studio's.
    LogoId
    /// A client.
    ClientId
    /// An event.
    EventId
    /// A place within an event.
    PlaceId
    /// A recipe with a count at a place.
    PieceId
    /// An event's quote.
    QuoteId
    /// A line of a quote.
    QuoteLineId
    /// A frozen version of a quote, as sent.
    QuoteVersionId
    /// A kit item that goes along to every event.
    KitItemId
    /// Something one event needs beside its pieces.
    PullExtraId
    /// A kind of crate.
    CrateKindId
    /// A van.
    VanId
    /// An order that was placed with a supplier.
    PlacedOrderId
    /// A delivery of a placed order.
    PlacedDeliveryId
    /// Packs of one offer on a placed delivery.
    PlacedLineId
    /// Stems lost at the bench.
    BenchLossId
    /// What lies in the cooler or on the shelf, all of one age.
    StockLotId
    /// Work of the bench plan that the designer wants on a day.
    BenchPinId
    /// A day on which nothing is delivered.
    ClosedDayId
    /// A named set of pieces.
    PieceSetId
    /// A part of an event's payment.
    InstalmentId
    /// An invoice or a credit note.
    InvoiceId
    /// A payment, a refund, or the reversal of one.
    PaymentId
}

/// A list of identities, or of rows of plain values, as JSON: for `IN (SELECT value FROM json_each(?))`.
#[must_use]
pub fn json_list<T: Serialize>(ids: &[T]) -> String {
    // Numbers and texts always make JSON.
    serde_json::to_string(ids).unwrap_or_else(|_| "[]".into())
}
