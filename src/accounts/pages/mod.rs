//! The pages of the accounts: an event's account, invoices, a client's account, what is owed, tax, terms.

mod cancelling;
mod client;
mod crediting;
mod event;
mod extras;
mod invoice;
mod invoicing;
mod loan_charges;
pub(crate) mod opening;
mod overview;
mod paying;
mod reports;
mod terms;

use axum::Router;
use axum::routing::{get, post};

use crate::web::state::App;

pub use crediting::credit_invoice;
pub use invoicing::draw_up;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/accounts", get(overview::show))
        .route("/accounts/terms", get(terms::show).post(terms::save))
        .route("/accounts/tax", get(reports::show))
        .route("/accounts/tax.csv", get(reports::tax_file))
        .route("/accounts/books.csv", get(reports::books_file))
        .route("/events/{id}/account", get(event::show))
        .route("/events/{id}/account/parts", post(event::save))
        .route("/events/{id}/invoices", post(invoicing::freeze))
        .route("/events/{id}/invoices/new", get(invoicing::show))
        .route("/events/{id}/cancellation", get(cancelling::show).post(cancelling::settle_it))
        .route("/events/{id}/loan-charges", post(loan_charges::freeze))
        .route("/events/{id}/extras", get(extras::ask).post(extras::freeze))
        .route("/invoices/{id}", get(invoice::show))
        .route("/invoices/{id}/document.pdf", get(invoice::as_pdf))
        .route("/invoices/{id}/document.html", get(invoice::as_html))
        .route("/invoices/{id}/ubl", get(invoice::e_invoice))
        .route("/invoices/{id}/credit", get(crediting::ask).post(crediting::freeze))
        .route("/clients/{id}/account", get(client::show).post(client::save))
        .route("/clients/{id}/payments", post(paying::record))
        .route("/clients/{id}/payments/new", get(paying::ask))
        .route("/payments/{id}/reversal", post(paying::reverse))
}
