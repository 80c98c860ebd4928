//! All SQL for recipes, their lines and pictures: here what is read of them, in `keep` what is written,
//! in `names` what a typed name stands for, in `pictures` what they look like.

pub mod keep;
pub mod names;
pub mod pictures;

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::{Category, Ingredient, Measure, Recipe, RecipeBook, RecipeLine, Travel};
use crate::db::remembered::{Remembered, State};
use crate::ground::caution::Cautions;
use crate::ground::dates::Day;
use crate::ground::ids::{MaterialId, PictureId, RecipeId, RecipeLineId};
use crate::ground::quantity::{Length, Quantity};
use crate::ground::weight::Weight;
use crate::price_list::{self, UnitCost};

/// These recipes with all their parts, and every material they call for. Removed recipes are included:
/// an event that uses one still knows what it is made of.
pub async fn recipe_book(
    connection: &mut SqliteConnection,
    roots: &[RecipeId],
) -> Result<RecipeBook, sqlx::Error> {
    static ALL: Remembered<State, HashMap<RecipeId, Recipe>> = Remembered::new(2, State::of_one_book);
    let state = State::of(connection, &TABLES).await?;
    let all = ALL.or_read(state, all_recipes(connection)).await?;
    let recipes = reached(&all, roots);
    let mut wanted: Vec<MaterialId> =
        recipes.values().flat_map(|recipe| &recipe.lines).flat_map(RecipeLine::materials).collect();
    wanted.sort_unstable();
    wanted.dedup();
    let materials = price_list::store::materials(connection, &wanted).await?;
    Ok(RecipeBook { recipes, materials })
}

/// What recipes are read from: they are remembered while none of it changes.
const TABLES: [&str; 4] = ["recipe", "recipe_line", "recipe_substitute", "recipe_travel"];

/// Some recipes and all that are parts of them.
fn reached(all: &HashMap<RecipeId, Recipe>, roots: &[RecipeId]) -> HashMap<RecipeId, Recipe> {
    let mut reached: HashMap<RecipeId, Recipe> = HashMap::new();
    let mut open = roots.to_vec();
    while let Some(id) = open.pop() {
        let Some(recipe) = all.get(&id).filter(|_| !reached.contains_key(&id)) else { continue };
        open.extend(recipe.lines.iter().filter_map(|line| match line.ingredient {
            Ingredient::Part(part) => Some(part),
            Ingredient::Material(_) => None,
        }));
        reached.insert(id, recipe.clone());
    }
    reached
}

async fn all_recipes(connection: &mut SqliteConnection) -> Result<HashMap<RecipeId, Recipe>, sqlx::Error> {
    let mut recipes = recipes(connection).await?;
    for (recipe, line) in lines(connection).await? {
        if let Some(recipe) = recipes.get_mut(&recipe) {
            recipe.lines.push(line);
        }
    }
    Ok(recipes)
}

/// The book of some recipes with what each of its materials costs on a day.
pub async fn priced_book(
    connection: &mut SqliteConnection,
    roots: &[RecipeId],
    on: Day,
) -> Result<(RecipeBook, HashMap<MaterialId, UnitCost>), sqlx::Error> {
    let book = recipe_book(connection, roots).await?;
    let materials: Vec<MaterialId> = book.materials.keys().copied().collect();
    let costs = price_list::store::unit_costs(connection, &materials, on).await?;
    Ok((book, costs))
}

/// One recipe with the book of its parts, unless removed.
pub async fn recipe(
    connection: &mut SqliteConnection,
    id: RecipeId,
) -> Result<Option<(Recipe, RecipeBook)>, sqlx::Error> {
    let kept = sqlx::query_scalar!(r#"SELECT id FROM recipe WHERE id = ? AND removed_at IS NULL"#, id)
        .fetch_optional(&mut *connection)
        .await?;
    if kept.is_none() {
        return Ok(None);
    }
    let book = recipe_book(connection, &[id]).await?;
    Ok(book.recipes.get(&id).cloned().map(|recipe| (recipe, book)))
}

/// How many rows a list page holds.
pub const PAGE: i64 = 50;

/// The recipes whose name or words hold what is asked, of one category or (`None`) of all, by name;
/// one more than a page, to tell whether more follow.
pub async fn search(
    connection: &mut SqliteConnection,
    words: &str,
    category: Option<Category>,
    page: i64,
) -> Result<Vec<RecipeId>, sqlx::Error> {
    let (limit, offset) = (PAGE + 1, page.saturating_mul(PAGE));
    sqlx::query_scalar!(
        r#"SELECT id AS "id: RecipeId" FROM recipe
        WHERE removed_at IS NULL AND instr(lower(name || ' ' || client_words), lower(?)) > 0
            AND category = ifnull(?, category)
        ORDER BY name, id LIMIT ? OFFSET ?"#,
        words,
        category,
        limit,
        offset
    )
    .fetch_all(connection)
    .await
}

/// The names of the recipes, not removed, that have a recipe as a part.
pub async fn users_of(connection: &mut SqliteConnection, id: RecipeId) -> Result<Vec<String>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT DISTINCT name FROM recipe JOIN recipe_line ON recipe_id = recipe.id
        WHERE part_id = ? AND removed_at IS NULL ORDER BY name"#,
        id
    )
    .fetch_all(connection)
    .await
}

async fn recipes(connection: &mut SqliteConnection) -> Result<HashMap<RecipeId, Recipe>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id: RecipeId", version, name, category AS "category: Category", minutes AS "minutes: Quantity",
            holding_hours, steps, client_words, note, second_binding AS "second_binding: Length",
            stem_clearance AS "stem_clearance: Length", cautions AS "cautions: Cautions",
            picture_id AS "picture_id: PictureId", recipe_travel.diameter AS "diameter: Length",
            recipe_travel.height AS "height: Length", recipe_travel.weight AS "weight: Weight"
        FROM recipe LEFT JOIN recipe_travel ON recipe_id = id"#
    )
    .fetch_all(connection)
    .await?;
    let recipes = rows.into_iter().map(|row| Recipe {
        id: row.id,
        version: row.version,
        name: row.name,
        category: row.category,
        minutes: row.minutes,
        holding_hours: row.holding_hours,
        steps: row.steps,
        client_words: row.client_words,
        note: row.note,
        second_binding: row.second_binding,
        stem_clearance: row.stem_clearance,
        cautions: row.cautions,
        picture_id: row.picture_id,
        travel: Travel { diameter: row.diameter, height: row.height, weight: row.weight },
        lines: Vec::new(),
    });
    Ok(recipes.map(|recipe| (recipe.id, recipe)).collect())
}

async fn lines(connection: &mut SqliteConnection) -> Result<Vec<(RecipeId, RecipeLine)>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id: RecipeLineId", recipe_id AS "recipe_id: RecipeId", material_id AS "material_id: MaterialId",
            part_id AS "part_id: RecipeId", measure, quantity AS "quantity: Quantity",
            piece_length AS "piece_length: Length", turns AS "turns: Quantity", diameter AS "diameter: Length",
            ends AS "ends: Length", per_count, note,
            (SELECT json_group_array(s.material_id) FROM recipe_substitute s WHERE s.line_id = recipe_line.id)
                AS "substitutes!: String"
        FROM recipe_line ORDER BY recipe_id, position, id"#
    )
    .fetch_all(connection)
    .await?;
    rows.into_iter()
        .map(|row| {
            let ingredient = match (row.material_id, row.part_id) {
                (Some(material), _) => Ingredient::Material(material),
                (None, Some(part)) => Ingredient::Part(part),
                (None, None) => return Err(sqlx::Error::Decode("a recipe line calls for nothing".into())),
            };
            let quantity = row.quantity;
            let measure = match (row.measure.as_str(), row.piece_length, row.turns, row.diameter) {
                ("cut", Some(length), _, _) => Measure::Cut { quantity, length },
                ("wound", _, Some(turns), Some(diameter)) => {
                    Measure::Wound { quantity, turns, diameter, ends: row.ends.unwrap_or_default() }
                }
                ("one_per", ..) => Measure::OnePer { quantity, per: row.per_count },
                _ => Measure::Count { quantity },
            };
            let substitutes =
                serde_json::from_str(&row.substitutes).map_err(|error| sqlx::Error::Decode(error.into()))?;
            Ok((row.recipe_id, RecipeLine { id: row.id, ingredient, measure, note: row.note, substitutes }))
        })
        .collect()
}

/// The recipe with a name, unless removed; letter case does not matter.
pub async fn recipe_named(
    connection: &mut SqliteConnection,
    name: &str,
) -> Result<Option<RecipeId>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT id AS "id: RecipeId" FROM recipe WHERE name = ? AND removed_at IS NULL"#,
        name
    )
    .fetch_optional(connection)
    .await
}
