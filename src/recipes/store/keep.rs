//! Keeping recipes: adding, changing, removing.

use sqlx::SqliteConnection;

use super::super::{Ingredient, Measure, NewLine, NewRecipe, Travel};
use crate::ground::dates::Moment;
use crate::ground::ids::{PictureId, RecipeId, RecipeLineId, json_list};
use crate::ground::quantity::{Length, Quantity};

/// Adds a recipe.
pub async fn add(connection: &mut SqliteConnection, recipe: &NewRecipe) -> Result<RecipeId, sqlx::Error> {
    let added = sqlx::query!(
        "INSERT INTO recipe (name, category, minutes, holding_hours, steps, client_words, note, second_binding,
            stem_clearance, cautions) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        recipe.name,
        recipe.category,
        recipe.minutes,
        recipe.holding_hours,
        recipe.steps,
        recipe.client_words,
        recipe.note,
        recipe.second_binding,
        recipe.stem_clearance,
        recipe.cautions
    )
    .execute(&mut *connection)
    .await?;
    let id = RecipeId(added.last_insert_rowid());
    keep_travel(connection, id, &recipe.travel).await?;
    add_lines(connection, id, &recipe.lines).await?;
    Ok(id)
}

/// Changes a recipe and counts the save.
pub async fn change(
    connection: &mut SqliteConnection,
    id: RecipeId,
    recipe: &NewRecipe,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "UPDATE recipe SET version = version + 1, name = ?, category = ?, minutes = ?, holding_hours = ?, steps = ?,
            client_words = ?, note = ?, second_binding = ?, stem_clearance = ?, cautions = ? WHERE id = ?",
        recipe.name,
        recipe.category,
        recipe.minutes,
        recipe.holding_hours,
        recipe.steps,
        recipe.client_words,
        recipe.note,
        recipe.second_binding,
        recipe.stem_clearance,
        recipe.cautions,
        id
    )
    .execute(&mut *connection)
    .await?;
    keep_travel(connection, id, &recipe.travel).await?;
    sqlx::query!("DELETE FROM recipe_line WHERE recipe_id = ?", id).execute(&mut *connection).await?;
    add_lines(connection, id, &recipe.lines).await
}

async fn keep_travel(
    connection: &mut SqliteConnection,
    recipe: RecipeId,
    travel: &Travel,
) -> Result<(), sqlx::Error> {
    sqlx::query!(
        "INSERT INTO recipe_travel (recipe_id, diameter, height, weight) VALUES (?, ?, ?, ?)
        ON CONFLICT (recipe_id) DO UPDATE SET diameter = excluded.diameter, height = excluded.height,
            weight = excluded.weight",
        recipe,
        travel.diameter,
        travel.height,
        travel.weight
    )
    .execute(connection)
    .await
    .map(drop)
}

async fn add_lines(
    connection: &mut SqliteConnection,
    recipe: RecipeId,
    lines: &[NewLine],
) -> Result<(), sqlx::Error> {
    for (position, line) in (0_i64..).zip(lines) {
        let id = add_line(connection, recipe, position, line).await?;
        if line.substitutes.is_empty() {
            continue;
        }
        let substitutes = json_list(&line.substitutes);
        sqlx::query!(
            "INSERT OR IGNORE INTO recipe_substitute (line_id, material_id) SELECT ?, value FROM json_each(?)",
            id,
            substitutes
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}

async fn add_line(
    connection: &mut SqliteConnection,
    recipe: RecipeId,
    position: i64,
    line: &NewLine,
) -> Result<RecipeLineId, sqlx::Error> {
    let (material, part) = match line.ingredient {
        Ingredient::Material(id) => (Some(id), None),
        Ingredient::Part(id) => (None, Some(id)),
    };
    let columns = Columns::of(line.measure);
    let added = sqlx::query!(
        "INSERT INTO recipe_line (recipe_id, position, material_id, part_id, measure, quantity, piece_length, turns,
            diameter, ends, per_count, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        recipe,
        position,
        material,
        part,
        columns.measure,
        columns.quantity,
        columns.piece_length,
        columns.turns,
        columns.diameter,
        columns.ends,
        columns.per_count,
        line.note
    )
    .execute(connection)
    .await?;
    Ok(RecipeLineId(added.last_insert_rowid()))
}

/// A measure as the table has it.
#[derive(Default)]
struct Columns {
    measure: &'static str,
    quantity: Quantity,
    piece_length: Option<Length>,
    turns: Option<Quantity>,
    diameter: Option<Length>,
    ends: Option<Length>,
    per_count: Option<i64>,
}

impl Columns {
    fn of(measure: Measure) -> Columns {
        match measure {
            Measure::Count { quantity } => Columns { measure: "count", quantity, ..Columns::default() },
            Measure::Cut { quantity, length } => {
                Columns { measure: "cut", quantity, piece_length: Some(length), ..Columns::default() }
            }
            Measure::Wound { quantity, turns, diameter, ends } => Columns {
                measure: "wound",
                quantity,
                turns: Some(turns),
                diameter: Some(diameter),
                ends: Some(ends),
                ..Columns::default()
            },
            Measure::OnePer { quantity, per } => {
                Columns { measure: "one_per", quantity, per_count: per, ..Columns::default() }
            }
        }
    }
}

/// Removes a recipe, or brings it back (`None`).
pub async fn set_removed(
    connection: &mut SqliteConnection,
    id: RecipeId,
    at: Option<Moment>,
) -> Result<bool, sqlx::Error> {
    let done =
        sqlx::query!("UPDATE recipe SET removed_at = ? WHERE id = ?", at, id).execute(connection).await?;
    Ok(done.rows_affected() == 1)
}

/// Gives a recipe a picture, or takes it away. It counts as no save: the recipe's form does not hold it.
pub async fn set_picture(
    connection: &mut SqliteConnection,
    id: RecipeId,
    picture: Option<PictureId>,
) -> Result<(), sqlx::Error> {
    sqlx::query!("UPDATE recipe SET picture_id = ? WHERE id = ?", picture, id)
        .execute(connection)
        .await
        .map(drop)
}
