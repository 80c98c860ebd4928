//! Every fresh material with what was counted of it.

use askama::Template;
use serde::Deserialize;

use super::super::store::{self, Narrowed};
use super::rate::{Rate, rates};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::forms::Query;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ListQuery {
    q: String,
    show: String,
    page: String,
}

impl ListQuery {
    fn narrowed(&self) -> Narrowed {
        match self.show.as_str() {
            "counted" => Narrowed::Counted,
            "fixed" => Narrowed::Fixed,
            _ => Narrowed::All,
        }
    }
}

#[derive(Template)]
#[template(path = "stem_order/losses_list.html")]
struct ListPage {
    shell: Shell,
    query: ListQuery,
    number: i64,
    rates: Vec<Rate>,
    total: i64,
}

impl ListPage {
    fn path(&self) -> String {
        self.shell.list_path("/losses", &[("q", &self.query.q), ("show", &self.query.show)])
    }

    fn more(&self) -> bool {
        self.number.saturating_mul(store::PAGE) < self.total
    }

    fn choices(&self) -> [(&'static str, &'static str); 3] {
        [("", "Everything fresh"), ("counted", "What was counted"), ("fixed", "What the studio fixed")]
    }

    fn asks(&self) -> bool {
        !(self.query.q.trim().is_empty() && self.query.show.is_empty())
    }
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<ListQuery>) -> Answer {
    let number = query.page.parse::<i64>().unwrap_or(1).max(1);
    let (ids, total) =
        store::fresh_materials(&mut visit.connection, &query.q, query.narrowed(), number - 1).await?;
    let studio = std::sync::Arc::clone(&visit.studio);
    let rates = rates(&mut visit.connection, &studio, &ids).await?;
    page(&ListPage { shell: visit.shell(Section::StemOrder, "Losses"), query, number, rates, total })
}
