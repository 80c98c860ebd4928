//! Trug, the order book of a small event-flower studio.
//!
//! The rooms of the house are the stages of the trade, in the order in which an event passes through them.
//! A room knows `ground`, `db`, `web` and the rooms before it, never a later one; a calculation knows plain values only.
//!
//! | room | what it is |
//! |---|---|
//! | [`ground`] | plain values: money, quantities, lengths, days, identities, cautions |
//! | [`db`] | the book: one SQLite file, read and written in immediate transactions |
//! | [`web`] | answers, errors, forms, notices, headers, static files |
//! | [`studio`] | who the studio is and how it reckons |
//! | [`papers`] | what goes to a client: one layout as page, PDF and HTML file; the studio's sign |
//! | [`price_list`] | materials, suppliers, offers, prices |
//! | [`recipes`] | what one piece is made of, and what it costs |
//! | [`clients`] | who asks |
//! | [`events`] | when, where, which pieces, how many |
//! | [`quotes`] | what the client is asked for, what was sent, what was accepted |
//! | [`ticks`] | what is ticked on which sheet, by whom |
//! | [`stem_order`] | one wholesale order for several events |
//! | [`prep`] | the bench's days |
//! | [`pull_list`] | what leaves the door |
//! | [`accounts`] | invoices, payments, what is owed, tax |
//! | [`close_out`] | what an event was quoted, planned and did cost; the season |
//! | [`desk`] | pages that look across the stages |
//! | [`book_check`] | whether the book is whole and its figures tie |
//! | [`book_files`] | the whole book as files, out and in |
//! | [`demo`] | an invented studio with a busy weekend |
//! | [`ten_years`] | a large book to measure with |

pub mod accounts;
pub mod app;
pub mod book_check;
pub mod book_files;
pub mod clients;
pub mod clock;
pub mod close_out;
pub mod config;
pub mod db;
pub mod demo;
pub mod desk;
pub mod events;
pub mod ground;
pub mod papers;
pub mod prep;
pub mod price_list;
pub mod pull_list;
pub mod quotes;
pub mod recipes;
pub mod stem_order;
pub mod studio;
pub mod ten_years;
pub mod ticks;
pub mod web;
