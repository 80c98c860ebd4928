//! Search over events, clients, recipes and materials.

use askama::Template;
use serde::Deserialize;

use crate::clients::{self, Client};
use crate::desk::store::{self, MOST_FOUND};
use crate::events::store::When;
use crate::events::{self, Event};
use crate::ground::formats::clipped;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::forms::Query;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct SearchQuery {
    q: String,
}

#[derive(Template)]
#[template(path = "desk/search.html")]
struct SearchPage {
    shell: Shell,
    q: String,
    events: Vec<Event>,
    clients: Vec<Client>,
    recipes: Vec<(RecipeId, String)>,
    materials: Vec<(MaterialId, String)>,
}

impl SearchPage {
    fn nothing(&self) -> bool {
        let all = [self.events.len(), self.clients.len(), self.recipes.len(), self.materials.len()];
        all.iter().all(|found| *found == 0)
    }

    /// Said where there may be more than is shown.
    fn more(&self, shown: usize) -> &'static str {
        if i64::try_from(shown) == Ok(MOST_FOUND) { "the first 20; more words find fewer" } else { "" }
    }

    fn asked(&self) -> String {
        clipped(&self.q)
    }
}

pub(super) async fn search(mut visit: Visit, Query(query): Query<SearchQuery>) -> Answer {
    let shell = visit.shell(Section::Week, "Search");
    let q: String = query.q.trim().chars().take(200).collect();
    if q.is_empty() {
        let none = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let (events, clients, recipes, materials) = none;
        return page(&SearchPage { shell, q, events, clients, recipes, materials });
    }
    let most = usize::try_from(MOST_FOUND)?;
    let connection = &mut visit.connection;
    let mut events = events::store::search(connection, When::All, &q, visit.today, 0).await?;
    events.truncate(most);
    let mut clients = clients::store::search(connection, &q, 0).await?;
    clients.truncate(most);
    let recipes = store::recipes(connection, &q).await?;
    let materials = store::materials(connection, &q).await?;
    page(&SearchPage { shell, q, events, clients, recipes, materials })
}
