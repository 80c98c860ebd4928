//! One's own account: a new passphrase, one's sessions.

use askama::Template;
use axum::Extension;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse};
use serde::Deserialize;

use super::super::forms::{PassphraseForm, read_passphrase};
use super::super::hashing::{self, HashError};
use super::super::{Caller, Session, Signed, name_key, passphrase, session, store};
use super::log_in::{begun, gone, patience, succeeded};
use crate::ground::dates::Moment;
use crate::studio::visit::{Section, Shell, Visit};
use crate::web::answer::{Answer, Trouble, page, refused};
use crate::web::flash::onward_saying;
use crate::web::forms::{FieldErrors, Form, Query};
use crate::web::path::Path;
use crate::web::state::App;
use crate::web::throttle::By;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct ShownQuery {
    pub(super) shown: String,
}

#[derive(Template)]
#[template(path = "studio/people/account.html")]
struct AccountPage {
    shell: Shell,
    signed: Option<Signed>,
    sessions: Vec<Session>,
    shown: bool,
    errors: FieldErrors,
}

impl AccountPage {
    async fn new(visit: &mut Visit, errors: FieldErrors) -> Result<AccountPage, Trouble> {
        let signed = visit.caller.signed.clone();
        let sessions = match &signed {
            Some(signed) => {
                let moments = (visit.now, session::idle_since(visit.now));
                store::sessions(&mut visit.connection, signed.person, moments).await?
            }
            None => Vec::new(),
        };
        let shell = visit.shell(Section::Settings, "Your account");
        Ok(AccountPage { shell, signed, sessions, shown: false, errors })
    }

    fn role(&self) -> &'static str {
        use crate::ground::choice::Choice;
        self.shell.caller.role.label()
    }

    fn may(&self) -> &'static str {
        self.shell.caller.role.may()
    }

    fn moment(&self, moment: &Moment) -> String {
        self.shell.formats.moment(*moment, &self.shell.zone)
    }

    fn is_this(&self, session: &Session) -> bool {
        self.signed.as_ref().is_some_and(|signed| signed.token_hash == session.token_hash)
    }
}

pub(super) async fn show(mut visit: Visit, Query(query): Query<ShownQuery>) -> Answer {
    let seen = AccountPage::new(&mut visit, FieldErrors::default()).await?;
    page(&AccountPage { shown: !query.shown.is_empty(), ..seen })
}

fn signed(caller: &Caller) -> Result<Signed, Trouble> {
    let nobody = || Trouble::Conflict("Nobody is logged in here: Trug listens on this machine only.".into());
    caller.signed.clone().ok_or_else(nobody)
}

/// Takes a new passphrase from whoever knows the present one; their other sessions end.
pub(super) async fn change_passphrase(
    State(app): State<App>,
    mut visit: Visit,
    Form(form): Form<PassphraseForm>,
) -> Answer {
    let signed = signed(&visit.caller)?;
    let by = [By::Name(name_key(&visit.caller.name))];
    if let Err(seconds) = begun(&app, &by) {
        return slowed(&mut visit, seconds).await;
    }
    let kept = store::hash_of(&mut visit.connection, signed.person).await?;
    let fits = match hashing::fits(passphrase::kept(&form.present), kept).await {
        Err(HashError::Busy) => return slowed(&mut visit, 5).await,
        fits => fits?,
    };
    if !fits {
        let errors = FieldErrors::one("present", "This is not your present passphrase.");
        return refused(&AccountPage::new(&mut visit, errors).await?);
    }
    succeeded(&app, &by);
    let names = [visit.caller.name.as_str(), &visit.studio.name];
    let new = match read_passphrase("passphrase", &form.passphrase, &names) {
        Ok(new) => new,
        Err(errors) => return refused(&AccountPage::new(&mut visit, errors).await?),
    };
    let hash = hashing::hash(new).await?;
    let mut tx = app.book.write().await?;
    store::keep_hash(&mut tx, signed.person, &hash).await?;
    let ended = store::end_all(&mut tx, signed.person, Some(&signed.token_hash)).await?;
    tx.commit().await?;
    onward_saying(&app, "/my-account", said(ended))
}

fn said(ended: u64) -> String {
    match ended {
        0 => "Your passphrase is changed.".into(),
        1 => "Your passphrase is changed. You were logged in elsewhere too; that is ended.".into(),
        more => {
            format!("Your passphrase is changed. You were logged in at {more} other places; those are ended.")
        }
    }
}

async fn slowed(visit: &mut Visit, seconds: i64) -> Answer {
    let page = AccountPage::new(visit, FieldErrors::one("present", patience(seconds))).await?;
    let headers = [(header::RETRY_AFTER, HeaderValue::from(seconds))];
    Ok((StatusCode::TOO_MANY_REQUESTS, HeaderMap::from_iter(headers), Html(page.render()?)).into_response())
}

/// Ends one of one's own sessions; the present one is a log-out.
pub(super) async fn end_one(State(app): State<App>, mut visit: Visit, Path(mark): Path<String>) -> Answer {
    let signed = signed(&visit.caller)?;
    let moments = (visit.now, session::idle_since(visit.now));
    let sessions = store::sessions(&mut visit.connection, signed.person, moments).await?;
    let session =
        sessions.iter().find(|session| session.mark() == mark).ok_or(Trouble::NotFound("session"))?;
    let mut tx = app.book.write().await?;
    store::end(&mut tx, &session.token_hash).await?;
    tx.commit().await?;
    if session.token_hash == signed.token_hash {
        return gone(&app, "/log-in");
    }
    onward_saying(&app, "/my-account", format!("{} is logged out.", session.device))
}

/// Ends all of one's sessions but this one.
pub(super) async fn end_others(State(app): State<App>, Extension(caller): Extension<Caller>) -> Answer {
    let signed = signed(&caller)?;
    let mut tx = app.book.write().await?;
    store::end_all(&mut tx, signed.person, Some(&signed.token_hash)).await?;
    tx.commit().await?;
    onward_saying(&app, "/my-account", "You are logged in here only.")
}
