//! What one piece is made of, and how: lines, nested parts, steps, picture; need of a recipe (C1) and its cost and price (C4). May import `ground`, `db`, `web`, `studio`, `price_list`.

pub mod binding;
pub mod pages;
