//! The ground everything stands on: plain values of the trade (money, shares, quantities, lengths,
//! days, identities, cautions) and how the studio writes them. It knows nothing of the rest of the house.

pub mod caution;
pub mod choice;
pub mod dates;
pub mod fingerprint;
pub mod formats;
pub mod ids;
pub mod largest_remainder;
pub mod money;
pub mod near_names;
pub mod plural;
pub mod quantity;
pub mod weight;
