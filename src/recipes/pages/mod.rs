//! The pages of this room: the list here, a recipe's sheet, its card, its picture.

pub mod card;
mod figures;
mod pictures;
mod sheet;
mod tied;
mod working;

use askama::Template;
use axum::Router;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::header;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use serde::Deserialize;

use super::cost::Costing;
use super::forms::USUAL_BATCH;
use super::store::names::Offered;
use super::{Category, Recipe, RecipeBook, store};
use crate::ground::choice::Choice;
use crate::ground::ids::{MaterialId, PictureId, RecipeId};
use crate::ground::money::Money;
use crate::papers::pages::MOST_READ;
use crate::price_list::UnitCost;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page};
use crate::web::flash::{onward_saying, onward_undo};
use crate::web::forms::Query;
use crate::web::path::Path;
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/recipes", get(list).post(sheet::add))
        .route("/recipes/new", get(sheet::blank))
        .route("/recipes/preview", post(sheet::preview))
        .route("/recipes/names", get(names))
        .route("/recipes/ingredients", get(ingredients))
        .route("/recipes/substitutes", get(substitutes))
        .route("/recipes/{id}", get(sheet::show).post(sheet::save))
        .route("/recipes/{id}/card", get(card::show))
        .route("/recipes/{id}/copies", post(sheet::copy))
        .route("/recipes/{id}/removal", post(remove))
        .route("/recipes/{id}/restoration", post(restore))
        .route("/recipes/{id}/picture", post(pictures::upload).layer(DefaultBodyLimit::max(MOST_READ)))
        .route("/recipes/{id}/picture/removal", post(pictures::remove))
        .route("/recipes/{id}/picture/{picture}", post(pictures::set))
        .route("/pictures/{id}/{size}", get(pictures::serve))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct ListQuery {
    q: String,
    category: String,
    page: String,
}

#[derive(Template)]
#[template(path = "recipes/list.html")]
struct ListPage {
    shell: Shell,
    q: String,
    category: String,
    number: i64,
    recipes: Vec<Row>,
    more: bool,
}

struct Row {
    id: RecipeId,
    name: String,
    category: &'static str,
    picture: Option<PictureId>,
    minutes: String,
    /// Cost, price and margin as shown, or why there are none.
    price: Result<(String, String, String), String>,
    unpriced: usize,
}

impl ListPage {
    fn path(&self) -> String {
        self.shell.list_path("/recipes", &[("q", &self.q), ("category", &self.category)])
    }

    fn categories(&self) -> Vec<(&'static str, &'static str)> {
        Category::options()
    }

    fn has_pictures(&self) -> bool {
        self.recipes.iter().any(|recipe| recipe.picture.is_some())
    }

    fn asks_for_all(&self) -> bool {
        self.q.trim().is_empty() && self.category.is_empty()
    }
}

async fn list(mut visit: Visit, Query(query): Query<ListQuery>) -> Answer {
    let number = query.page.parse::<i64>().unwrap_or(1).max(1);
    let category = Category::from_code(&query.category);
    let connection = &mut visit.connection;
    let mut ids = store::search(connection, query.q.trim(), category, number - 1).await?;
    let more = ids.len() > usize::try_from(store::PAGE)?;
    ids.truncate(usize::try_from(store::PAGE)?);
    let (book, costs) = store::priced_book(connection, &ids, visit.today).await?;
    let recipes = ids.iter().filter_map(|id| book.recipes.get(id));
    let recipes = recipes.map(|recipe| row(&visit, recipe, &book, &costs)).collect();
    let shell = visit.shell(Section::Recipes, "Recipes");
    let category = category.map_or("", Choice::code).to_owned();
    page(&ListPage { shell, q: query.q, category, number, recipes, more })
}

fn row(
    visit: &Visit,
    recipe: &Recipe,
    book: &RecipeBook,
    costs: &std::collections::HashMap<MaterialId, UnitCost>,
) -> Row {
    let formats = visit.studio.formats;
    let price = Costing::of(&visit.studio, book, costs).piece(recipe.id, USUAL_BATCH);
    let (minutes, unpriced) =
        price.as_ref().map_or((recipe.minutes.decimal(), 0), |price| (price.minutes, price.unpriced.len()));
    let price = price.map_err(|error| error.to_string()).map(|price| {
        let margin = price.margin_at(price.price).map(figures::percent);
        (formats.money(Money::rounded(price.cost())), formats.money(price.price), margin.unwrap_or_default())
    });
    Row {
        id: recipe.id,
        name: recipe.name.clone(),
        category: recipe.category.label(),
        picture: recipe.picture_id,
        minutes: formats.number(minutes, 1),
        price,
        unpriced,
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct NameQuery {
    q: String,
}

async fn names(mut visit: Visit, Query(query): Query<NameQuery>) -> Answer {
    json(&store::names::offer_recipes(&mut visit.connection, query.q.trim()).await?)
}

async fn ingredients(mut visit: Visit, Query(query): Query<NameQuery>) -> Answer {
    json(&store::names::offer_ingredients(&mut visit.connection, query.q.trim(), false).await?)
}

/// Offers for the last of several names with semicolons between: what stands before it is kept.
async fn substitutes(mut visit: Visit, Query(query): Query<NameQuery>) -> Answer {
    let (before, last) =
        query.q.rsplit_once(';').map_or(("", query.q.as_str()), |(before, last)| (before, last));
    let offered = store::names::offer_ingredients(&mut visit.connection, last.trim(), true).await?;
    let whole = |name: String| if before.is_empty() { name } else { format!("{}; {name}", before.trim()) };
    let offered: Vec<Offered> =
        offered.into_iter().map(|one| Offered { name: whole(one.name), ..one }).collect();
    json(&offered)
}

fn json(offered: &[Offered]) -> Answer {
    let body = serde_json::to_string(offered)?;
    Ok(([(header::CONTENT_TYPE, "application/json")], body).into_response())
}

async fn remove(State(app): State<App>, visit: Visit, Path(id): Path<RecipeId>) -> Answer {
    let mut tx = app.book.write().await?;
    let (recipe, _) = store::recipe(&mut tx, id).await?.ok_or(Trouble::NotFound("recipe"))?;
    let users = store::users_of(&mut tx, id).await?;
    if !users.is_empty() {
        let users = users.iter().map(|name| format!("\u{201c}{name}\u{201d}")).collect::<Vec<_>>().join(", ");
        let sentence = format!(
            "\u{201c}{}\u{201d} is a part of {users}. Take it out there first, then remove it.",
            recipe.name
        );
        return Err(Trouble::Conflict(sentence));
    }
    store::keep::set_removed(&mut tx, id, Some(visit.now)).await?;
    tx.commit().await?;
    onward_undo(&app, "/recipes", format!("{} removed.", recipe.name), format!("/recipes/{id}/restoration"))
}

async fn restore(State(app): State<App>, Path(id): Path<RecipeId>) -> Answer {
    let mut tx = app.book.write().await?;
    let book = store::recipe_book(&mut tx, &[id]).await?;
    let recipe = book.recipes.get(&id).ok_or(Trouble::NotFound("recipe"))?;
    let namesake = store::recipe_named(&mut tx, &recipe.name).await?;
    if namesake.is_some_and(|other| other != id) {
        let name = &recipe.name;
        let sentence = format!(
            "There is another recipe named \u{201c}{name}\u{201d} by now. Give that one another name, then bring this one back."
        );
        return Err(Trouble::Conflict(sentence));
    }
    store::keep::set_removed(&mut tx, id, None).await?;
    tx.commit().await?;
    onward_saying(&app, format!("/recipes/{id}"), "Brought back.")
}
