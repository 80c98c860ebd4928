//! All SQL for recipes, their lines and pictures.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::{Category, Ingredient, Measure, Recipe, RecipeBook, RecipeLine};
use crate::ground::caution::Cautions;
use crate::ground::ids::{MaterialId, PictureId, RecipeId, RecipeLineId, json_list};
use crate::ground::quantity::{Length, Quantity};
use crate::price_list;

/// These recipes with all their parts, and every material they call for. Removed recipes are included:
/// an event that uses one still knows what it is made of.
pub async fn recipe_book(
    connection: &mut SqliteConnection,
    roots: &[RecipeId],
) -> Result<RecipeBook, sqlx::Error> {
    let ids = with_parts(connection, roots).await?;
    let mut recipes = recipes(connection, &ids).await?;
    for (recipe, line) in lines(connection, &ids).await? {
        if let Some(recipe) = recipes.get_mut(&recipe) {
            recipe.lines.push(line);
        }
    }
    let mut wanted: Vec<MaterialId> = recipes
        .values()
        .flat_map(|recipe| &recipe.lines)
        .flat_map(|line| {
            let own = match line.ingredient {
                Ingredient::Material(id) => Some(id),
                Ingredient::Part(_) => None,
            };
            own.into_iter().chain(line.substitutes.iter().copied())
        })
        .collect();
    wanted.sort_unstable();
    wanted.dedup();
    let materials = price_list::store::materials(connection, &wanted).await?;
    Ok(RecipeBook { recipes, materials })
}

async fn with_parts(
    connection: &mut SqliteConnection,
    roots: &[RecipeId],
) -> Result<Vec<RecipeId>, sqlx::Error> {
    let roots = json_list(roots);
    // UNION, not UNION ALL: a loop ends the walk instead of running on.
    sqlx::query_scalar!(
        r#"WITH RECURSIVE reached(id) AS (
            SELECT value FROM json_each(?)
            UNION SELECT part_id FROM recipe_line JOIN reached ON recipe_id = reached.id WHERE part_id IS NOT NULL)
        SELECT id AS "id!: RecipeId" FROM reached"#,
        roots
    )
    .fetch_all(connection)
    .await
}

async fn recipes(
    connection: &mut SqliteConnection,
    ids: &[RecipeId],
) -> Result<HashMap<RecipeId, Recipe>, sqlx::Error> {
    let ids = json_list(ids);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: RecipeId", version, name, category AS "category: Category", minutes AS "minutes: Quantity",
            holding_hours, steps, client_words, note, second_binding AS "second_binding: Length",
            stem_clearance AS "stem_clearance: Length", cautions AS "cautions: Cautions",
            picture_id AS "picture_id: PictureId"
        FROM recipe WHERE id IN (SELECT value FROM json_each(?))"#,
        ids
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
        lines: Vec::new(),
    });
    Ok(recipes.map(|recipe| (recipe.id, recipe)).collect())
}

async fn lines(
    connection: &mut SqliteConnection,
    recipes: &[RecipeId],
) -> Result<Vec<(RecipeId, RecipeLine)>, sqlx::Error> {
    let recipes = json_list(recipes);
    let rows = sqlx::query!(
        r#"SELECT id AS "id: RecipeLineId", recipe_id AS "recipe_id: RecipeId", material_id AS "material_id: MaterialId",
            part_id AS "part_id: RecipeId", measure, quantity AS "quantity: Quantity",
            piece_length AS "piece_length: Length", turns AS "turns: Quantity", diameter AS "diameter: Length",
            ends AS "ends: Length", per_count, note,
            (SELECT json_group_array(s.material_id) FROM recipe_substitute s WHERE s.line_id = recipe_line.id)
                AS "substitutes!: String"
        FROM recipe_line WHERE recipe_id IN (SELECT value FROM json_each(?)) ORDER BY recipe_id, position, id"#,
        recipes
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
