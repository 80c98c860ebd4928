//! Style, script, fonts and pictures, carried inside the binary.

use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;

use super::answer::Trouble;
use super::path::Path;

#[derive(RustEmbed)]
#[folder = "static/"]
struct Static;

/// Serves `/static/{path}` with an entity tag, so that a browser asks again but rarely loads again.
pub async fn serve(Path(path): Path<String>, headers: HeaderMap) -> Result<Response, Trouble> {
    let file = Static::get(&path).ok_or(Trouble::NotFound("file"))?;
    let tag = tag(&file.metadata.sha256_hash());
    let unchanged = headers.get(header::IF_NONE_MATCH).is_some_and(|sent| sent.as_bytes() == tag.as_bytes());
    let common = [(header::ETAG, tag), (header::CACHE_CONTROL, "no-cache".to_owned())];
    if unchanged {
        return Ok((StatusCode::NOT_MODIFIED, common).into_response());
    }
    Ok((common, [(header::CONTENT_TYPE, media_type(&path))], file.data).into_response())
}

/// A file carried inside the binary.
#[must_use]
pub fn bytes(path: &str) -> Option<std::borrow::Cow<'static, [u8]>> {
    Static::get(path).map(|file| file.data)
}

fn tag(hash: &[u8]) -> String {
    let number = hash.iter().take(8).fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
    format!("\"{number:016x}\"")
}

fn media_type(path: &str) -> &'static str {
    match path.rsplit('.').next().unwrap_or_default() {
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "svg" => "image/svg+xml",
        "woff2" => "font/woff2",
        "png" => "image/png",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
