//! One visit to the app: the settings as they are now, the day, the notice carried over. Every handler takes one;
//! every page is made from its [`Shell`].

use std::ops::Deref;
use std::sync::Arc;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use sqlx::pool::PoolConnection;
use sqlx::{Sqlite, SqliteConnection};

use super::people::Caller;
use super::people::may::{may_read, may_write};
use super::{Studio, record_pages, store};
use crate::db::history;
use crate::ground::choice::Choice;
use crate::ground::dates::{Day, Moment};
use crate::web::answer::Trouble;
use crate::web::flash::{self, Flash};
use crate::web::state::App;

/// The parts of the menu, in the trade's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Section {
    /// The week ahead.
    Week,
    /// Events.
    Events,
    /// Clients.
    Clients,
    /// Recipes.
    Recipes,
    /// Materials, suppliers, offers.
    PriceList,
    /// The combined wholesale order.
    StemOrder,
    /// What comes in, counted.
    Receiving,
    /// Bench work by day.
    Prep,
    /// What leaves the shelves.
    PullLists,
    /// Invoices, payments, tax.
    Accounts,
    /// Settings.
    Settings,
}

impl Section {
    /// Every part of the menu.
    pub const ALL: [Section; 11] = [
        Section::Week,
        Section::Events,
        Section::Clients,
        Section::Recipes,
        Section::PriceList,
        Section::StemOrder,
        Section::Receiving,
        Section::Prep,
        Section::PullLists,
        Section::Accounts,
        Section::Settings,
    ];

    /// Its name in the menu.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Section::Week => "This week",
            Section::Events => "Events",
            Section::Clients => "Clients",
            Section::Recipes => "Recipes",
            Section::PriceList => "Price list",
            Section::StemOrder => "Stem order",
            Section::Receiving => "Receiving",
            Section::Prep => "Prep",
            Section::PullLists => "Pull lists",
            Section::Accounts => "Accounts",
            Section::Settings => "Settings",
        }
    }

    /// Its address.
    #[must_use]
    pub const fn path(self) -> &'static str {
        match self {
            Section::Week => "/",
            Section::Events => "/events",
            Section::Clients => "/clients",
            Section::Recipes => "/recipes",
            Section::PriceList => "/materials",
            Section::StemOrder => "/stem-order",
            Section::Receiving => "/receiving",
            Section::Prep => "/prep",
            Section::PullLists => "/pull-lists",
            Section::Accounts => "/accounts",
            Section::Settings => "/settings",
        }
    }
}

/// A request with what every handler needs.
#[derive(Debug)]
pub struct Visit {
    /// The running app.
    pub app: App,
    /// The settings as they are now.
    pub studio: Arc<Studio>,
    /// The moment of the request.
    pub now: Moment,
    /// The studio's day at that moment.
    pub today: Day,
    /// Who asks.
    pub caller: Caller,
    /// A connection to read with, taken for the whole visit.
    pub connection: PoolConnection<Sqlite>,
    flash: Option<Flash>,
    /// The record whose page is asked for, if it is one's.
    record: Option<String>,
}

impl FromRequestParts<App> for Visit {
    type Rejection = Trouble;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Visit, Trouble> {
        let mut connection = app.book.read().await?;
        let studio = Arc::new(store::studio(&mut connection).await?);
        let now = app.clock.now();
        let today = app.clock.today(&studio.zone);
        // Whoever was not looked at by the door is nobody we know.
        let caller = parts.extensions.get::<Caller>().cloned().unwrap_or_else(Caller::stranger);
        let flash = match flash::carried(app, &parts.headers) {
            Some(flash) => Some(with_undo(&mut connection, &caller, flash).await?),
            None => None,
        };
        let record = record_pages::of_path(parts.uri.path());
        Ok(Visit { app: app.clone(), studio, now, today, caller, connection, flash, record })
    }
}

/// Offers to take back what the notice speaks of, where the history allows it.
async fn with_undo(
    connection: &mut SqliteConnection,
    caller: &Caller,
    flash: Flash,
) -> Result<Flash, sqlx::Error> {
    let (None, Some((act, at, page))) = (&flash.undo, &flash.act) else { return Ok(flash) };
    let undo = record_pages::undo_path(*act, page);
    let may_be = may_write(caller.role, &undo)
        && history::is_act_of(connection, *act, *at).await?
        && history::undo::hindrance(connection, *act).await?.is_none();
    let undo = may_be.then_some(undo);
    Ok(Flash { undo, ..flash })
}

impl Visit {
    /// Does something that takes long. The connection is given back meanwhile, so that others can read.
    pub async fn apart<T>(self, work: impl Future<Output = T>) -> Result<(Visit, T), sqlx::Error> {
        drop(self.connection);
        let done = work.await;
        let connection = self.app.book.read().await?;
        Ok((Visit { connection, ..self }, done))
    }

    /// The frame of a page in a part of the menu.
    #[must_use]
    pub fn shell(&self, section: Section, title: impl Into<String>) -> Shell {
        Shell {
            title: title.into(),
            section,
            studio: Arc::clone(&self.studio),
            flash: self.flash.clone(),
            today: self.today,
            caller: self.caller.clone(),
            record: self.record.clone(),
        }
    }
}

/// The frame of every page. It lends its page the studio's settings: `shell.formats.money(…)`.
#[derive(Debug, Clone)]
pub struct Shell {
    /// The page's own title.
    pub title: String,
    /// Its part of the menu.
    pub section: Section,
    /// A notice carried over.
    pub flash: Option<Flash>,
    /// The studio's day.
    pub today: Day,
    /// Who sees the page.
    pub caller: Caller,
    studio: Arc<Studio>,
    record: Option<String>,
}

impl Shell {
    /// A frame for a page that renders from a sample, without a visit.
    #[must_use]
    pub fn sample(studio: Studio, section: Section, title: &str, today: Day) -> Shell {
        Shell {
            title: title.into(),
            section,
            flash: None,
            today,
            caller: Caller::at_the_machine(),
            studio: Arc::new(studio),
            record: None,
        }
    }

    /// The history of what the page shows, or of the whole book.
    #[must_use]
    pub fn history_path(&self) -> String {
        match &self.record {
            Some(record) => format!("/history?of={record}"),
            None => "/history".into(),
        }
    }

    /// The address of a list with what is asked of it, ready for `page=N` behind it.
    #[must_use]
    pub fn list_path(&self, path: &str, asked: &[(&str, &str)]) -> String {
        let mut query = form_urlencoded::Serializer::for_suffix(format!("{path}?"), path.len() + 1);
        for (name, value) in asked.iter().filter(|(_, value)| !value.is_empty()) {
            query.append_pair(name, value);
        }
        let path = query.finish();
        if path.ends_with('?') { path } else { path + "&" }
    }

    /// The paper's code, for the print style.
    #[must_use]
    pub fn paper_code(&self) -> &'static str {
        self.paper.code()
    }

    /// The menu: what whoever sees the page may open.
    #[must_use]
    pub fn menu(&self) -> Vec<Section> {
        Section::ALL.into_iter().filter(|section| self.may_open(section.path())).collect()
    }

    /// The page to begin with.
    #[must_use]
    pub fn home(&self) -> &'static str {
        self.caller.role.home()
    }

    /// Whether whoever sees the page may open an address of ours.
    #[must_use]
    pub fn may_open(&self, address: &str) -> bool {
        may_read(self.caller.role, address)
    }

    /// Whether whoever sees the page may post to an address of ours.
    #[must_use]
    pub fn may_post(&self, address: &str) -> bool {
        may_write(self.caller.role, address)
    }

    /// The name of whoever logged in.
    #[must_use]
    pub fn signed_in(&self) -> Option<&str> {
        self.caller.signed.as_ref().map(|_| self.caller.name.as_str())
    }
}

impl Deref for Shell {
    type Target = Studio;
    fn deref(&self) -> &Studio {
        &self.studio
    }
}
