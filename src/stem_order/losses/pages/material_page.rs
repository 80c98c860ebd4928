//! One material's losses: what they are reckoned from, every count behind them, and the form in which the studio says
//! what it makes of them.

use askama::Template;
use axum::extract::State;

use super::super::LossRule;
use super::super::forms::{RuleForm, UndoQuery};
use super::super::store::{self, Count};
use super::rate::{Rate, rates};
use crate::ground::ids::MaterialId;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_undo;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::path::Path;
use crate::web::state::App;

#[derive(Template)]
#[template(path = "stem_order/losses_material.html")]
struct MaterialPage {
    shell: Shell,
    rate: Rate,
    counts: Vec<Count>,
    form: RuleForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl MaterialPage {
    async fn new(visit: &mut Visit, id: MaterialId) -> Result<MaterialPage, Trouble> {
        let rate = rate(visit, id).await?;
        let counts = store::latest(&mut visit.connection, id).await?;
        let form = RuleForm::of(&rate.rule, &visit.studio.formats);
        let shell = visit.shell(Section::StemOrder, format!("Losses of {}", rate.material.name));
        let (errors, differences) = (FieldErrors::default(), Vec::new());
        Ok(MaterialPage { shell, rate, counts, form, errors, differences })
    }

    /// Whether the form holds what is not saved yet.
    fn typed(&self) -> bool {
        !self.errors.is_empty() || !self.differences.is_empty()
    }

    /// Whether a count still speaks.
    fn speaks(&self, count: &Count) -> bool {
        self.rate.rule.counted_from.is_none_or(|from| from <= count.on)
    }

    /// Whether the price list says something else.
    fn differs_from_price_list(&self) -> bool {
        self.rate.material.loss != Some(self.rate.share()) && self.rate.counted.total() > 0
    }
}

/// A fresh material's losses; there are none of anything else.
pub(super) async fn rate(visit: &mut Visit, id: MaterialId) -> Result<Rate, Trouble> {
    let studio = std::sync::Arc::clone(&visit.studio);
    let rate = rates(&mut visit.connection, &studio, &[id]).await?.pop();
    rate.filter(|rate| rate.material.is_fresh()).ok_or(Trouble::NotFound("fresh material"))
}

pub(super) async fn show(mut visit: Visit, Path(id): Path<MaterialId>) -> Answer {
    page(&MaterialPage::new(&mut visit, id).await?)
}

pub(super) async fn save(
    State(app): State<App>,
    mut visit: Visit,
    Path(id): Path<MaterialId>,
    Form(form): Form<RuleForm>,
) -> Answer {
    let now = MaterialPage::new(&mut visit, id).await?;
    let rule = match form.parse(&visit.studio.formats) {
        Ok(rule) => rule,
        Err(errors) => return refused(&MaterialPage { form, errors, ..now }),
    };
    let mut tx = app.book.write().await?;
    let before = store::rule(&mut tx, id).await?;
    if before.version.to_string() != form.version {
        let theirs = RuleForm::of(&before, &visit.studio.formats);
        let differences = form.differences(&theirs);
        let form = RuleForm { version: theirs.version, ..form };
        return stale(&MaterialPage { form, differences, ..now });
    }
    store::keep_rule(&mut tx, id, &rule).await?;
    tx.commit().await?;
    let name = &now.rate.material.name;
    onward_undo(&app, format!("/losses/{id}"), saved(name, &rule), undo(id, &before))
}

fn saved(name: &str, rule: &LossRule) -> String {
    match (rule.overruled, rule.counted_from) {
        (Some(_), _) => format!("The loss of {name} is fixed; its counts are left out."),
        (None, Some(_)) => format!("The loss of {name} is learned from the counts of that day on."),
        (None, None) => format!("The loss of {name} is learned from every count."),
    }
}

/// Where a change of a material's rule is taken back.
pub(super) fn undo(id: MaterialId, before: &LossRule) -> String {
    UndoQuery::path(&format!("/losses/{id}/restoration"), before)
}
