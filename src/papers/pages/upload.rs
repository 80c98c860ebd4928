//! A picture that is uploaded in a form: read as far as one may be large, made anew beside the threads that answer pages.

use axum::extract::multipart::{Multipart, MultipartError};
use axum::http::StatusCode;

use crate::papers::picture::{MOST_BYTES, PictureError};
use crate::web::answer::Trouble;

/// So many bytes of an upload are read, though fewer are taken: a browser shows our sentence only
/// once it has sent its file.
pub const MOST_READ: usize = 100_000_000;

/// The picture in a form's field, made anew, or why it is not taken.
pub async fn uploaded<T: Send + 'static>(
    multipart: Multipart,
    field: &str,
    read: fn(&[u8]) -> Result<T, PictureError>,
) -> Result<Result<T, PictureError>, Trouble> {
    let file = match file(multipart, field).await {
        Ok(Some(file)) => file,
        Ok(None) => return Ok(Err(PictureError::Empty)),
        Err(error) => {
            let too_large = error.status() == StatusCode::PAYLOAD_TOO_LARGE;
            return Ok(Err(if too_large { PictureError::TooLarge } else { PictureError::Broken }));
        }
    };
    Ok(tokio::task::spawn_blocking(move || read(&file)).await?)
}

/// The file in the form; of one that is too large only so much that it is seen to be.
async fn file(mut multipart: Multipart, name: &str) -> Result<Option<Vec<u8>>, MultipartError> {
    while let Some(mut field) = multipart.next_field().await? {
        if field.name() != Some(name) {
            continue;
        }
        let mut file = Vec::new();
        while let Some(chunk) = field.chunk().await? {
            let room = (MOST_BYTES + 1).saturating_sub(file.len());
            file.extend_from_slice(&chunk[..chunk.len().min(room)]);
        }
        return Ok(Some(file));
    }
    Ok(None)
}
