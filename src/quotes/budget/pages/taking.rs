//! Taking a choice: the quote's grid is filled in with it and saved as if typed.

use axum::extract::State;

use super::fitting::{Choosing, changed, choosing};
use crate::ground::ids::EventId;
use crate::quotes::budget::alternatives::By;
use crate::quotes::budget::fit::taken;
use crate::quotes::budget::forms::TakingForm;
use crate::quotes::forms::QuoteForm;
use crate::quotes::pages::grid::keep;
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, Trouble};
use crate::web::flash::onward_saying;
use crate::web::forms::{Checker, Form};
use crate::web::path::Path;
use crate::web::state::App;

pub(super) async fn take(
    State(app): State<App>,
    visit: Visit,
    Path(id): Path<EventId>,
    Form(form): Form<TakingForm>,
) -> Answer {
    let mut tx = app.book.write().await?;
    let choosing = choosing(&mut tx, (&visit.studio, visit.today), id).await?;
    let Some(filled) = filled_in(&choosing, &form, &visit) else {
        return changed(&visit, choosing, &form.budget);
    };
    let known = &choosing.opened.known;
    let new = filled.parse(known).map_err(|_| {
        Trouble::Conflict("The quote has a field that cannot be saved: save the quote itself first.".into())
    })?;
    keep(&mut tx, &choosing.opened, &new, visit.today).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/events/{id}/quote"), "The choice stands in the quote now.")
}

/// The grid with the best choice in it; none where that is no longer the one that was shown.
fn filled_in(choosing: &Choosing, form: &TakingForm, visit: &Visit) -> Option<QuoteForm> {
    if form.version != choosing.form.version || form.seen != choosing.form.seen {
        return None;
    }
    let mut c = Checker::new(&visit.studio.formats);
    let budget = c.money_or_none("budget", &form.budget);
    let budget = c.done(budget).ok().flatten()?;
    let fit = choosing.fit(budget).ok()?;
    let best = fit.best.and_then(|best| fit.steps.get(best))?;
    (best.total.minor().to_string() == form.total).then(|| {
        let mut filled = choosing.form.clone();
        for (group, way) in taken(&choosing.offered.groups, &best.picks) {
            for (row, made) in group.rows.iter().zip(&way.rows) {
                put(&mut filled, &row.piece.to_string(), made.by, &made.name);
            }
        }
        filled
    })
}

/// A piece's row by another recipe, at its computed price; or emptied, which removes it.
fn put(form: &mut QuoteForm, piece: &str, by: By, name: &str) {
    let Some(row) = form.piece_id.iter().position(|id| id == piece) else { return };
    let set = |column: &mut Vec<String>, text: &str| {
        if let Some(cell) = column.get_mut(row) {
            text.clone_into(cell);
        }
    };
    match by {
        By::AsTheyStand => {}
        By::Recipe(_) => {
            set(&mut form.recipe, name);
            set(&mut form.price, "");
        }
        By::LeftOut => {
            let columns = [
                &mut form.place,
                &mut form.recipe,
                &mut form.count,
                &mut form.note,
                &mut form.price,
                &mut form.discount,
            ];
            for column in columns {
                set(column, "");
            }
        }
    }
}
