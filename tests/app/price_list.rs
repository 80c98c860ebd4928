//! The price list through its pages: by hand here, by file in `price_list/files.rs`.

mod by_hand;
mod files;
