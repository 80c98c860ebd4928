//! What is owed to the studio: open invoices by age, what is to be invoiced next.

use std::collections::BTreeMap;

use askama::Template;
use serde::Deserialize;

use super::opening::standing;
use crate::accounts::ledger::{Account, Ageing, Ledger, ledgers};
use crate::accounts::store::{invoices, payments};
use crate::ground::ids::ClientId;
use crate::ground::money::Money;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::forms::Query;

/// How many invoices a page holds.
const PAGE: usize = 50;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Asked {
    /// `open`, `overdue` or `all`.
    show: String,
    q: String,
    page: String,
}

#[derive(Template)]
#[template(path = "accounts/overview.html")]
struct OverviewPage {
    shell: Shell,
    asked: Asked,
    number: usize,
    more: bool,
    /// Invoices of the page, with the client's name.
    rows: Vec<(Account, String)>,
    found: usize,
    ageing: Ageing,
    on_account: Money,
    any: bool,
}

impl OverviewPage {
    fn path(&self) -> String {
        self.shell.list_path("/accounts", &[("show", &self.asked.show), ("q", &self.asked.q)])
    }

    fn columns(&self) -> Vec<(&'static str, String)> {
        Ageing::HEADS.into_iter().zip(self.ageing.0.map(|amount| self.shell.formats.money(amount))).collect()
    }

    fn is_shown(&self, code: &str) -> bool {
        let shown = if self.asked.show.is_empty() { "open" } else { &self.asked.show };
        shown == code
    }

    fn standing(&self, account: &Account) -> (&'static str, String) {
        standing(account, self.shell.formats, self.shell.today)
    }

    fn money(&self, amount: Money) -> String {
        self.shell.formats.money(amount)
    }
}

pub(super) async fn show(mut visit: Visit, Query(asked): Query<Asked>) -> Answer {
    let billed = invoices::billed(&mut visit.connection, None).await?;
    let paid = payments::paid(&mut visit.connection, None).await?;
    let names = invoices::client_names(&mut visit.connection).await?;
    let any = !billed.is_empty();
    let ledgers = ledgers(billed, paid);
    let today = visit.today;
    let ageing = ledgers.values().fold(Ageing::default(), |sum, ledger| sum.and(ledger.ageing(today)));
    let on_account = ledgers.values().map(|ledger| ledger.on_account).sum();
    let mut rows = found(ledgers, &names, &asked, |account| account.overdue(today).is_some());
    let found = rows.len();
    let number = asked.page.parse::<usize>().unwrap_or(1).max(1);
    let more = rows.len() > number.saturating_mul(PAGE);
    rows = rows.into_iter().skip((number - 1).saturating_mul(PAGE)).take(PAGE).collect();
    let shell = visit.shell(Section::Accounts, "Accounts");
    page(&OverviewPage { shell, asked, number, more, rows, found, ageing, on_account, any })
}

/// The invoices that are asked for: open ones oldest due first, all of them latest first.
fn found(
    ledgers: BTreeMap<ClientId, Ledger>,
    names: &BTreeMap<ClientId, String>,
    asked: &Asked,
    overdue: impl Fn(&Account) -> bool,
) -> Vec<(Account, String)> {
    let words = asked.q.trim().to_lowercase();
    let name = |client: ClientId| names.get(&client).cloned().unwrap_or_default();
    let all = ledgers.into_values().flat_map(|ledger| ledger.invoices);
    let wanted = |account: &Account| match asked.show.as_str() {
        "all" => true,
        "overdue" => overdue(account),
        _ => account.open() > Money::ZERO,
    };
    let rows = all.filter(wanted).map(|account| {
        let name = name(account.invoice.client_id);
        (account, name)
    });
    let matches = |(account, name): &(Account, String)| {
        words.is_empty()
            || name.to_lowercase().contains(&words)
            || account.invoice.number.to_lowercase().contains(&words)
    };
    let mut rows: Vec<(Account, String)> = rows.filter(matches).collect();
    if asked.show == "all" {
        rows.sort_by_key(|(account, _)| std::cmp::Reverse(account.invoice.id));
    } else {
        rows.sort_by_key(|(account, _)| (account.invoice.due_on, account.invoice.id));
    }
    rows
}
