//! The week ahead.

use askama::Template;

use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, page};

#[derive(Template)]
#[template(path = "desk/week.html")]
struct WeekPage {
    shell: Shell,
}

pub(super) async fn week(visit: Visit) -> Answer {
    page(&WeekPage { shell: visit.shell(Section::Week, "This week") })
}
