//! The router: every room's routes behind one door.

use axum::Router;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::get;
use tower_http::csrf::CsrfLayer;
use tower_http::trace::TraceLayer;

use crate::studio::people::pages::door::admit;
use crate::web::answer::Trouble;
use crate::web::state::App;
use crate::web::{errand, flash, guard, static_files};
use crate::{
    accounts, clients, close_out, desk, events, papers, prep, price_list, pull_list, quotes, recipes,
    stem_order, studio, ticks,
};

/// The whole app, ready to serve.
pub fn router(app: App) -> Router {
    Router::new()
        .merge(desk::pages::routes())
        .merge(events::pages::routes())
        .merge(clients::pages::routes())
        .merge(recipes::pages::routes())
        .merge(price_list::pages::routes())
        .merge(quotes::pages::routes())
        .merge(ticks::pages::routes())
        .merge(stem_order::pages::routes())
        .merge(prep::pages::routes())
        .merge(pull_list::pages::routes())
        .merge(accounts::pages::routes())
        .merge(close_out::pages::routes())
        .merge(studio::pages::routes())
        .merge(papers::pages::routes())
        .route("/static/{*path}", get(static_files::serve))
        .fallback(async || Trouble::NotFound("page"))
        .layer(from_fn_with_state(app.clone(), desk::history::gone::say_so))
        .layer(from_fn_with_state(app.clone(), errand::of_request))
        .layer(from_fn(flash::clear_shown))
        .layer(from_fn_with_state(app.clone(), admit))
        .layer(own_posts_only(&app))
        .layer(from_fn_with_state(app.clone(), guard::own_host_only))
        .layer(from_fn_with_state(app.clone(), guard::safe_headers))
        .layer(TraceLayer::new_for_http())
        .with_state(app)
}

/// Refuses posts from other sites. Behind a proxy that changes the Host, our own pages' posts come from its origin.
fn own_posts_only(app: &App) -> CsrfLayer {
    let origin = app.door.origin().map(|origin| CsrfLayer::new().add_trusted_origin(origin));
    origin.and_then(Result::ok).unwrap_or_default()
}
