//! What lies on hand: one form within the order, counted on the day it is saved.

use axum::extract::State;

use super::order_page::OrderPage;
use super::{asked, planned};
use crate::price_list;
use crate::stem_order::forms::{StockForm, address};
use crate::stem_order::store;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::Form;
use crate::web::state::App;

pub(super) async fn keep(State(app): State<App>, mut visit: Visit, Form(form): Form<StockForm>) -> Answer {
    let (asked, _) = asked(&visit, &form.query())?;
    let counts = match form.parse(&visit.studio.formats).ok_or(Trouble::NotFound("material"))? {
        Ok(counts) => counts,
        Err(errors) => {
            let ordered = planned(&mut visit, &asked).await?;
            return refused(&OrderPage::new(&mut visit, &asked, ordered, Some(form), errors).await?);
        }
    };
    let ids: Vec<_> = counts.iter().map(|(material, _)| *material).collect();
    let mut tx = app.book.write().await?;
    let known = price_list::store::materials(&mut tx, &ids).await?;
    if !ids.iter().all(|id| known.contains_key(id)) {
        return Err(Trouble::NotFound("material"));
    }
    store::keep_counts(&mut tx, &counts, visit.today).await?;
    tx.commit().await?;
    let counted = match counts.len() {
        0 => "Nothing was counted.".to_owned(),
        1 => "1 material counted: the order takes it off.".to_owned(),
        more => format!("{more} materials counted: the order takes them off."),
    };
    onward_saying(&app, address("/stem-order", &asked), counted)
}
