//! Which role may open what: one list of all addresses, by method. They are words here, so that no later room is known.
//!
//! Deny by default: what is not named is the owner's alone, and a test fails where a route of the app is not named.

mod routes;

use std::collections::HashMap;
use std::sync::LazyLock;

use matchit::Router;

use super::Role;
use routes::{BENCH, DESK, EVERYONE, OWNER};

/// Who may ask for an address.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Who {
    /// Also somebody who did not log in.
    Everyone,
    /// Whoever logged in.
    Bench,
    /// Desk and owner.
    Desk,
    /// The owner.
    Owner,
}

impl Who {
    /// Whether a role is among them.
    #[must_use]
    pub fn has(self, role: Role) -> bool {
        let from = match role {
            Role::Owner => Who::Owner,
            Role::Desk => Who::Desk,
            Role::Bench => Who::Bench,
        };
        self <= from
    }
}

const LISTS: [(Who, &[&str]); 4] =
    [(Who::Everyone, EVERYONE), (Who::Bench, BENCH), (Who::Desk, DESK), (Who::Owner, OWNER)];

static ROUTES: LazyLock<HashMap<&str, Who>> = LazyLock::new(|| {
    LISTS.iter().flat_map(|(who, list)| list.iter().map(move |route| (*route, *who))).collect()
});

static READ: LazyLock<Router<Who>> = LazyLock::new(|| matching("GET "));
static WRITE: LazyLock<Router<Who>> = LazyLock::new(|| matching("POST "));

fn matching(method: &str) -> Router<Who> {
    let mut router = Router::new();
    for (route, who) in ROUTES.iter() {
        if let Some(path) = route.strip_prefix(method) {
            // Two addresses that cannot stand beside each other cannot do so in the app's own router either.
            let _ = router.insert(path, *who);
        }
    }
    router
}

/// Who may ask for a route of the app, named as the router names it: `GET`, `/prep/{day}`.
#[must_use]
pub fn who(method: &str, route: &str) -> Who {
    let method = if method == "HEAD" { "GET" } else { method };
    ROUTES.get(format!("{method} {route}").as_str()).copied().unwrap_or(Who::Owner)
}

/// Whether a route is named at all.
#[must_use]
pub fn is_named(method: &str, route: &str) -> bool {
    ROUTES.contains_key(format!("{method} {route}").as_str())
}

/// Whether a role may open an address of ours, with what is asked of it or not.
///
/// ```
/// use trug::studio::people::{Role, may::may_read};
/// assert!(may_read(Role::Bench, "/prep/2026-05-14?from=2026-05-11"));
/// assert!(!may_read(Role::Bench, "/events/12/quote") && may_read(Role::Desk, "/events/12/quote"));
/// assert!(!may_read(Role::Desk, "/settings/people") && may_read(Role::Owner, "/settings/people"));
/// ```
#[must_use]
pub fn may_read(role: Role, address: &str) -> bool {
    may(&READ, role, address)
}

/// Whether a role may post to an address of ours.
#[must_use]
pub fn may_write(role: Role, address: &str) -> bool {
    may(&WRITE, role, address)
}

fn may(router: &Router<Who>, role: Role, address: &str) -> bool {
    let path = address.split(['?', '#']).next().unwrap_or_default();
    router.at(path).map_or(Who::Owner, |found| *found.value).has(role)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_route_is_named_twice() {
        let all: usize = LISTS.iter().map(|(_, list)| list.len()).sum();
        assert_eq!(ROUTES.len(), all);
    }

    #[test]
    fn every_named_address_is_found_by_its_path_too() {
        for (route, expected) in ROUTES.iter() {
            let (method, path) = route.split_once(' ').unwrap();
            let sample = path.replace("{*path}", "style.css").replace(['{', '}'], "");
            let router = if method == "GET" { &*READ } else { &*WRITE };
            assert_eq!(router.at(&sample).map(|found| *found.value), Ok(*expected), "{route}");
        }
    }

    #[test]
    fn what_is_not_named_is_the_owners() {
        assert_eq!(who("GET", "/a-new-page"), Who::Owner);
        assert_eq!(who("DELETE", "/prep"), Who::Owner);
        assert_eq!(who("HEAD", "/prep"), Who::Bench);
        assert!(!may_read(Role::Desk, "/a-new-page") && may_read(Role::Owner, "/a-new-page"));
    }

    #[test]
    fn later_roles_may_less() {
        for list in [Who::Everyone, Who::Bench, Who::Desk, Who::Owner] {
            assert!(list.has(Role::Owner));
            assert!(list.has(Role::Desk) || !list.has(Role::Bench));
        }
        assert!(!Who::Desk.has(Role::Bench) && !Who::Owner.has(Role::Desk));
    }
}
