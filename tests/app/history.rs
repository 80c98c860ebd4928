//! The book's history: what is written down of each act, by whom, and that no table is forgotten.

mod kept;
