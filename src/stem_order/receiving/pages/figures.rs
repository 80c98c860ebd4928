//! What is short as one types: nothing is saved.

use askama::Template;

use super::super::forms::count::{CountForm, Values};
use super::super::standing::against;
use super::counted;
use super::delivery::expected;
use crate::ground::ids::{PlacedDeliveryId, PlacedLineId};
use crate::studio::visit::Visit;
use crate::web::answer::{Answer, page};
use crate::web::forms::Form;
use crate::web::path::Path;

#[derive(Template)]
#[template(path = "stem_order/receiving_figures.html")]
struct Figures {
    rows: Vec<Figure>,
}

/// What one line says now.
struct Figure {
    line: PlacedLineId,
    /// Empty where nothing, or nothing readable, is typed.
    said: String,
    short: bool,
}

pub(super) async fn figures(
    mut visit: Visit,
    Path(id): Path<PlacedDeliveryId>,
    Form(form): Form<CountForm>,
) -> Answer {
    let (delivery, _) = counted(&mut visit, id).await?;
    let expected = expected(&delivery);
    let rows = form.preview(&expected, &visit.studio.formats).into_iter().map(|(line, values)| {
        let all = expected.get(&line).copied().unwrap_or(0);
        let said = values.map_or_else(String::new, |Values { good, lost }| against(all, good, lost));
        let short = !said.is_empty();
        let said = if values.is_some() && !short { "as expected".to_owned() } else { said };
        Figure { line, said, short }
    });
    page(&Figures { rows: rows.collect() })
}
