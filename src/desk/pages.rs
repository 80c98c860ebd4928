//! The week ahead.

use askama::Template;
use axum::Router;
use axum::routing::get;

use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};
use crate::web::state::App;

/// The routes of this room.
pub fn routes() -> Router<App> {
    Router::new().route("/", get(week))
}

#[derive(Template)]
#[template(path = "desk/week.html")]
struct WeekPage {
    shell: Shell,
}

async fn week(visit: Visit) -> Answer {
    page(&WeekPage { shell: visit.shell(Section::Week, "This week") })
}
