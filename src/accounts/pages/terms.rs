//! How the studio invoices: the form.

use askama::Template;
use axum::extract::State;

use crate::accounts::document::Category;
use crate::accounts::forms::parts::PartRow;
use crate::accounts::forms::terms::{RateRow, TermsForm};
use crate::accounts::store::{invoices, terms};
use crate::ground::choice::Choice;
use crate::quotes::payment::DueKind;
use crate::studio::visit::{Section, Shell, Visit};
use crate::studio::{self, TaxRate};
use crate::web::answer::{Answer, Trouble, page, refused, stale};
use crate::web::flash::onward_saying;
use crate::web::forms::{Difference, FieldErrors, Form};
use crate::web::state::App;

#[derive(Template)]
#[template(path = "accounts/terms.html")]
struct TermsPage {
    shell: Shell,
    rates: Vec<TaxRate>,
    /// The number that the next invoice gets.
    next: i64,
    form: TermsForm,
    errors: FieldErrors,
    differences: Vec<Difference>,
}

impl TermsPage {
    async fn new(visit: &mut Visit, form: TermsForm, rates: Vec<TaxRate>) -> Result<TermsPage, Trouble> {
        let first = form.first_number.parse().unwrap_or(1);
        Ok(TermsPage {
            shell: visit.shell(Section::Accounts, "How we invoice"),
            rates,
            next: invoices::next_number(&mut visit.connection, first).await?,
            form,
            errors: FieldErrors::default(),
            differences: Vec::new(),
        })
    }

    /// From what the usual parts are counted: a typed day makes no sense for every event.
    fn dues(&self) -> Vec<(&'static str, &'static str)> {
        DueKind::options().into_iter().filter(|(code, _)| *code != DueKind::Day.code()).collect()
    }

    fn categories(&self) -> Vec<(&'static str, &'static str)> {
        std::iter::once(("", "Not said yet")).chain(Category::options()).collect()
    }

    fn rate_rows(&self) -> Vec<RateRow> {
        self.form.rate_rows(&self.rates)
    }

    fn message(&self, row: &PartRow, cell: &str) -> Option<&str> {
        self.errors.of(&row.field(cell))
    }

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "a template lends every argument")]
    fn message_at(&self, table: &str, at: &usize, cell: &str) -> Option<&str> {
        self.errors.of(&format!("{table}-{at}-{cell}"))
    }
}

pub(super) async fn show(mut visit: Visit) -> Answer {
    let rates = studio::store::tax_rates(&mut visit.connection).await?;
    let terms = terms::terms(&mut visit.connection).await?;
    let form = TermsForm::of(&terms, &rates, &visit.studio.formats);
    page(&TermsPage::new(&mut visit, form, rates).await?)
}

pub(super) async fn save(State(app): State<App>, mut visit: Visit, Form(form): Form<TermsForm>) -> Answer {
    let formats = visit.studio.formats;
    let mut tx = app.book.write().await?;
    let rates = studio::store::tax_rates(&mut tx).await?;
    let current = terms::terms(&mut tx).await?;
    let new = match form.parse(&rates, &formats) {
        Ok(new) => new,
        Err(errors) => {
            drop(tx);
            return refused(&TermsPage { errors, ..TermsPage::new(&mut visit, form, rates).await? });
        }
    };
    if current.version.to_string() != form.version {
        drop(tx);
        let theirs = TermsForm::of(&current, &rates, &formats);
        let differences = form.differences(&theirs);
        let form = TermsForm { version: theirs.version, ..form };
        return stale(&TermsPage { differences, ..TermsPage::new(&mut visit, form, rates).await? });
    }
    terms::keep(&mut tx, &new).await?;
    tx.commit().await?;
    onward_saying(&app, "/accounts/terms", "Saved. Invoices made from now on follow it.")
}
