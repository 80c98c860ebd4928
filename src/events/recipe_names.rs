//! The recipes that may be named in an event's grid: from a typed name to an identity, or to names near it.

use crate::ground::ids::RecipeId;
use crate::ground::near_names;

/// Names of recipes, live ones before removed ones that the event still uses.
#[derive(Debug, Clone, Default)]
pub struct RecipeNames(pub Vec<(RecipeId, String)>);

impl RecipeNames {
    /// The recipe with a name; letter case does not matter where no other is meant.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<RecipeId> {
        let lower = name.to_lowercase();
        let same = self.0.iter().find(|(_, known)| known == name);
        same.or_else(|| self.0.iter().find(|(_, known)| known.to_lowercase() == lower)).map(|(id, _)| *id)
    }

    /// A few names near to one that does not exist.
    #[must_use]
    pub fn near(&self, name: &str) -> Vec<&str> {
        near_names::near(name, self.0.iter().map(|(_, known)| known.as_str()), 3)
    }
}
