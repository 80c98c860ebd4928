//! Where the book of ten years lies while it is measured, and the address of its fullest weekend's order.

use std::fmt::Write as _;
use std::path::PathBuf;

/// The order of the weekend that has twelve events.
pub(crate) fn order_of_twelve() -> String {
    (2989..=3000).fold(String::from("/stem-order"), |mut path, event| {
        let _ = write!(path, "{}event={event}", if path.contains('?') { "&" } else { "?" });
        path
    })
}

/// A folder that is removed at the end.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    pub(crate) fn new() -> Folder {
        let folder = std::env::temp_dir().join(format!("trug-bench-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        Folder(folder)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
