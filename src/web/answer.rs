//! How a handler answers: a page, a way onward, or trouble in a plain sentence.

use askama::Template;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};

/// What a handler returns.
pub type Answer = Result<Response, Trouble>;

/// Renders a page.
pub fn page(template: &impl Template) -> Answer {
    Ok(Html(template.render()?).into_response())
}

/// Renders the page of a refused form: 422, everything typed kept.
pub fn refused(template: &impl Template) -> Answer {
    Ok((StatusCode::UNPROCESSABLE_ENTITY, Html(template.render()?)).into_response())
}

/// Renders the page of a stale save: 409, both values shown.
pub fn stale(template: &impl Template) -> Answer {
    Ok((StatusCode::CONFLICT, Html(template.render()?)).into_response())
}

/// Sends the browser on to a page after a change (303).
pub fn onward(path: impl AsRef<str>) -> Answer {
    Ok(Redirect::to(path.as_ref()).into_response())
}

/// A file to keep: its name, media type and content.
pub fn download(name: &str, media_type: &'static str, content: impl Into<axum::body::Body>) -> Answer {
    let disposition = format!("attachment; {}", file_name(name));
    let headers = [(header::CONTENT_TYPE, media_type.to_owned()), (header::CONTENT_DISPOSITION, disposition)];
    Ok((headers, content.into()).into_response())
}

/// A file's name for a header: in ASCII for every reader, and where that loses something as it is (RFC 6266, RFC 8187).
#[must_use]
pub fn file_name(name: &str) -> String {
    let plain = safe_file_name(name);
    let whole: String = name
        .chars()
        .filter(|c| !c.is_control())
        .map(|c| if "/\\:*?\"<>|".contains(c) { '-' } else { c })
        .collect();
    if plain == whole {
        return format!("filename=\"{plain}\"");
    }
    let encoded: String = whole
        .bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'.' | b'-' | b'_' => char::from(byte).to_string(),
            byte => format!("%{byte:02X}"),
        })
        .collect();
    format!("filename=\"{plain}\"; filename*=UTF-8''{encoded}")
}

fn safe_file_name(name: &str) -> String {
    name.chars()
        .map(|c| if c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_') { c } else { '-' })
        .collect()
}

/// A name offered while one types, with what tells it from others of the same name.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Suggestion {
    /// What goes into the field.
    pub name: String,
    /// Shown beside it; may be empty.
    pub note: String,
}

/// The names offered to `input[data-suggest]`, as JSON.
pub fn suggestions(names: &[Suggestion]) -> Answer {
    Ok(([(header::CONTENT_TYPE, "application/json")], serde_json::to_string(names)?).into_response())
}

/// Why there is no page.
#[derive(Debug)]
pub enum Trouble {
    /// There is no such thing ("recipe", "event").
    NotFound(&'static str),
    /// It cannot be done as things stand; the sentence says why.
    Conflict(String),
    /// Something broke. The cause goes to the log, never to the page.
    Unexpected(anyhow::Error),
}

impl<E: Into<anyhow::Error>> From<E> for Trouble {
    fn from(error: E) -> Trouble {
        Trouble::Unexpected(error.into())
    }
}

#[derive(Template)]
#[template(path = "trouble.html")]
struct TroublePage {
    heading: &'static str,
    sentence: String,
    reference: Option<String>,
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let (status, page) = match self {
            Trouble::NotFound(what) => (
                StatusCode::NOT_FOUND,
                TroublePage {
                    heading: "Not found",
                    sentence: format!(
                        "There is no such {what}. It may have been removed, or the address has a slip in it."
                    ),
                    reference: None,
                },
            ),
            Trouble::Conflict(sentence) => (
                StatusCode::CONFLICT,
                TroublePage { heading: "That cannot be done now", sentence, reference: None },
            ),
            Trouble::Unexpected(error) => unexpected(&error),
        };
        let body = page.render().unwrap_or_else(|_| page.sentence.clone());
        let mut answer = (status, Html(body)).into_response();
        if status == StatusCode::SERVICE_UNAVAILABLE {
            answer.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("10"));
        }
        answer
    }
}

fn unexpected(error: &anyhow::Error) -> (StatusCode, TroublePage) {
    let reference = reference();
    tracing::error!(reference, "{error:#}");
    let (status, sentence) = match sentence_for(error) {
        Some(sentence) => (StatusCode::SERVICE_UNAVAILABLE, sentence),
        None => (
            StatusCode::INTERNAL_SERVER_ERROR,
            "Something went wrong on our side. Nothing was saved by half.",
        ),
    };
    (
        status,
        TroublePage {
            heading: "Something went wrong",
            sentence: sentence.into(),
            reference: Some(reference),
        },
    )
}

/// Troubles of the book that a person can mend.
fn sentence_for(error: &anyhow::Error) -> Option<&'static str> {
    let error = error.chain().find_map(|cause| cause.downcast_ref::<sqlx::Error>())?;
    if matches!(error, sqlx::Error::PoolTimedOut) {
        return Some(
            "More is asked of the book just now than it can answer. Nothing was saved. Go back, where the browser still has what you typed, and try again in a moment.",
        );
    }
    let code = error.as_database_error()?.code()?;
    match code.parse::<u32>().ok()? & 0xff {
        5 | 6 => Some(
            "The book is being written by something else just now. Nothing was saved. Go back, where the browser still has what you typed, and try again in a moment.",
        ),
        8 => Some("The book's file cannot be written to. Nothing was saved; check the file's permissions."),
        10 => Some(
            "The disk did not take it, or did not give it back. Nothing was saved; look at the disk, then try again.",
        ),
        13 => Some(
            "The disk is full. Nothing was saved; make room, then go back, where the browser still has what you typed, and try again.",
        ),
        11 | 26 => Some("The book's file is damaged. Stop Trug and restore the last backup."),
        _ => None,
    }
}

/// Six letters that stand in the log and on the page.
fn reference() -> String {
    use std::sync::atomic::{AtomicU64, Ordering};
    static NEXT: AtomicU64 = AtomicU64::new(1);
    let mut number = NEXT.fetch_add(1, Ordering::Relaxed).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ u64::from(std::process::id());
    (0..6)
        .map(|_| {
            let letter = b"BCDFGHJKLMNPQRSTVWXZ"[usize::try_from(number % 20).unwrap_or(0)];
            number /= 20;
            char::from(letter)
        })
        .collect()
}
