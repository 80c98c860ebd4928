//! What a typed name stands for, and names to offer as one types.

use std::collections::HashMap;

use serde::Serialize;
use sqlx::SqliteConnection;

use super::super::names::{Named, Names};
use super::super::{Category, Ingredient};
use crate::ground::choice::Choice;
use crate::ground::ids::{MaterialId, RecipeId, json_list};
use crate::price_list::MaterialKind;

/// How many names are offered at once.
const OFFERED: i64 = 20;

/// A name to choose, with a word about it.
#[derive(Debug, Serialize)]
pub struct Offered {
    /// The name.
    pub name: String,
    /// What it is.
    pub note: String,
}

/// What these names stand for among materials and recipes, with every name there is where one is unknown.
pub async fn names(connection: &mut SqliteConnection, typed: &[String]) -> Result<Names, sqlx::Error> {
    let list = json_list(typed);
    let rows = sqlx::query!(
        r#"SELECT name AS "name!: String", id AS "material: MaterialId", NULL AS "part: RecipeId",
            removed_at IS NOT NULL AS "removed!: bool"
        FROM material WHERE name IN (SELECT value FROM json_each(?1))
        UNION ALL SELECT name, NULL, id, removed_at IS NOT NULL
        FROM recipe WHERE name IN (SELECT value FROM json_each(?1))"#,
        list
    )
    .fetch_all(&mut *connection)
    .await?;
    let mut known: HashMap<String, Named> = HashMap::new();
    for row in rows {
        let named = known.entry(Names::key(&row.name)).or_default();
        if row.removed {
            let part = row.part.map(Ingredient::Part);
            named.removed = row.material.map(Ingredient::Material).or(part);
        } else {
            named.material = named.material.or(row.material);
            named.part = named.part.or(row.part);
        }
    }
    let unknown = typed.iter().any(|name| known.get(&Names::key(name)).is_none_or(Named::is_gone));
    let all = if unknown { every_name(connection).await? } else { Vec::new() };
    Ok(Names { known, all })
}

async fn every_name(connection: &mut SqliteConnection) -> Result<Vec<String>, sqlx::Error> {
    sqlx::query_scalar!(
        r#"SELECT name AS "name!: String" FROM material WHERE removed_at IS NULL
        UNION SELECT name FROM recipe WHERE removed_at IS NULL"#
    )
    .fetch_all(connection)
    .await
}

/// Every recipe by name, but for removed ones.
pub async fn every_recipe(connection: &mut SqliteConnection) -> Result<Vec<(RecipeId, String)>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT id AS "id: RecipeId", name FROM recipe WHERE removed_at IS NULL ORDER BY name"#
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.name)).collect())
}

/// Recipes whose name holds the words, those that begin with them first.
pub async fn offer_recipes(
    connection: &mut SqliteConnection,
    words: &str,
) -> Result<Vec<Offered>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT name, category AS "category: Category" FROM recipe
        WHERE removed_at IS NULL AND instr(lower(name), lower(?1)) > 0
        ORDER BY instr(lower(name), lower(?1)) > 1, name LIMIT ?2"#,
        words,
        OFFERED
    )
    .fetch_all(connection)
    .await?;
    Ok(rows.into_iter().map(|row| Offered { name: row.name, note: row.category.label().into() }).collect())
}

/// Materials and (unless only materials are wanted) recipes whose name holds the words.
pub async fn offer_ingredients(
    connection: &mut SqliteConnection,
    words: &str,
    only_materials: bool,
) -> Result<Vec<Offered>, sqlx::Error> {
    let rows = sqlx::query!(
        r#"SELECT name AS "name!: String", kind AS "kind: MaterialKind" FROM (
            SELECT name, kind, id FROM material WHERE removed_at IS NULL
            UNION ALL SELECT name, NULL, id FROM recipe WHERE removed_at IS NULL AND NOT ?2)
        WHERE instr(lower(name), lower(?1)) > 0
        ORDER BY instr(lower(name), lower(?1)) > 1, name LIMIT ?3"#,
        words,
        only_materials,
        OFFERED
    )
    .fetch_all(connection)
    .await?;
    let note = |kind: Option<MaterialKind>| kind.map_or("Recipe", Choice::label).to_owned();
    Ok(rows.into_iter().map(|row| Offered { name: row.name, note: note(row.kind) }).collect())
}
