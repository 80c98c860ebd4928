//! What names typed into a recipe stand for: a material of the price list, or another recipe as a part.
//! May import: `ground`, `recipes`.

use std::collections::HashMap;

use super::Ingredient;
use crate::ground::formats::clipped;
use crate::ground::ids::{MaterialId, RecipeId};
use crate::ground::near_names::{near, suggestion};

/// Behind a name that is a material's too, it says that the recipe is meant.
const AS_RECIPE: &str = " (recipe)";

/// What one name stands for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Named {
    /// The material of this name.
    pub material: Option<MaterialId>,
    /// The recipe of this name.
    pub part: Option<RecipeId>,
    /// What had this name and was removed.
    pub removed: Option<Ingredient>,
}

impl Named {
    /// Whether nothing of this name is left.
    #[must_use]
    pub fn is_gone(&self) -> bool {
        self.material.is_none() && self.part.is_none()
    }
}

/// What typed names stand for; letter case does not matter.
#[derive(Debug, Clone, Default)]
pub struct Names {
    /// By [`Names::key`].
    pub known: HashMap<String, Named>,
    /// Every name, to suggest near ones; empty where all are known.
    pub all: Vec<String>,
}

impl Names {
    /// A name without its letter case, as the book compares names.
    #[must_use]
    pub fn key(name: &str) -> String {
        name.trim().to_ascii_lowercase()
    }

    /// The same, but what was removed counts as being there: a recipe that calls for it still costs what it costs.
    #[must_use]
    pub fn with_removed(&self) -> Names {
        let mut names = self.clone();
        for named in names.known.values_mut().filter(|named| named.is_gone()) {
            match named.removed {
                Some(Ingredient::Material(id)) => named.material = Some(id),
                Some(Ingredient::Part(id)) => named.part = Some(id),
                None => {}
            }
        }
        names
    }

    /// Whether a name was a material's or a recipe's that is removed now.
    #[must_use]
    pub fn is_removed(&self, typed: &str) -> bool {
        let named = self.known.get(&Names::key(&Names::asked(typed)));
        named.is_some_and(|named| named.is_gone() && named.removed.is_some())
    }

    /// The names to look up for a typed one.
    #[must_use]
    pub fn asked(typed: &str) -> String {
        let typed = typed.split_whitespace().collect::<Vec<_>>().join(" ");
        typed.strip_suffix(AS_RECIPE).unwrap_or(&typed).to_owned()
    }

    /// The material or recipe of a name. A material comes first where there are both.
    ///
    /// # Errors
    /// A sentence, with names that are near.
    pub fn ingredient(&self, typed: &str) -> Result<Ingredient, String> {
        let asked = Names::asked(typed);
        let named = self.known.get(&Names::key(&asked)).copied().unwrap_or_default();
        let material = named.material.filter(|_| !typed.trim().ends_with(AS_RECIPE));
        match (material, named.part) {
            (Some(id), _) => Ok(Ingredient::Material(id)),
            (None, Some(id)) => Ok(Ingredient::Part(id)),
            (None, None) => Err(self.unknown(&asked, named.removed.is_some(), "material or recipe")),
        }
    }

    /// The material of a name.
    ///
    /// # Errors
    /// A sentence, with names that are near.
    pub fn material(&self, typed: &str) -> Result<MaterialId, String> {
        let asked = Names::asked(typed);
        let named = self.known.get(&Names::key(&asked)).copied().unwrap_or_default();
        named.material.ok_or_else(|| self.unknown(&asked, named.removed.is_some(), "material"))
    }

    /// How a recipe is written so that it is found again.
    #[must_use]
    pub fn written(&self, recipe: &str) -> String {
        let twice = self.known.get(&Names::key(recipe)).is_some_and(|named| named.material.is_some());
        if twice { format!("{recipe}{AS_RECIPE}") } else { recipe.to_owned() }
    }

    fn unknown(&self, asked: &str, removed: bool, what: &str) -> String {
        let near = suggestion(&near(asked, self.all.iter().map(String::as_str), 3));
        let asked = clipped(asked);
        if removed {
            return format!("\u{201c}{asked}\u{201d} was removed; choose another.{near}");
        }
        format!("There is no {what} \u{201c}{asked}\u{201d}.{near}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> Names {
        let both = Named { material: Some(MaterialId(1)), part: Some(RecipeId(2)), removed: None };
        let gone = Named { removed: Some(Ingredient::Material(MaterialId(3))), ..Named::default() };
        let known = [("garland", both), ("old rose", gone)].map(|(name, named)| (name.to_owned(), named));
        Names { known: known.into(), all: vec!["Rose, white".into(), "Garland".into()] }
    }

    #[test]
    fn a_material_comes_first_unless_the_recipe_is_meant() {
        let names = names();
        assert_eq!(names.ingredient(" GARLAND "), Ok(Ingredient::Material(MaterialId(1))));
        assert_eq!(names.ingredient(&names.written("Garland")), Ok(Ingredient::Part(RecipeId(2))));
        assert_eq!(names.written("Arch"), "Arch");
    }

    #[test]
    fn what_is_not_there_is_named_with_what_is_near() {
        let names = names();
        let message = names.ingredient("rose, whte").unwrap_err();
        assert!(
            message.starts_with("There is no material or recipe \u{201c}rose, whte\u{201d}."),
            "{message}"
        );
        assert!(message.contains("\u{201c}Rose, white\u{201d}"), "{message}");
        assert!(names.material("Old rose").unwrap_err().contains("was removed"));
        assert!(names.is_removed("OLD rose") && !names.is_removed("Garland") && !names.is_removed("rose"));
        assert_eq!(names.with_removed().material("Old rose"), Ok(MaterialId(3)));
    }
}
