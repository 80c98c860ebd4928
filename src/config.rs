//! Where the book lies.

use std::path::PathBuf;

use anyhow::Context;
use directories::ProjectDirs;

/// The file that holds the book inside its folder.
pub const BOOK_FILE: &str = "studio.trug";

/// The folder of the studio's data: the chosen one, or the platform's own for application data.
pub fn data_folder(chosen: Option<PathBuf>) -> anyhow::Result<PathBuf> {
    if let Some(folder) = chosen {
        return Ok(folder);
    }
    let dirs = ProjectDirs::from("", "", "trug")
        .context("This machine names no home folder to keep the book in; choose one with --data FOLDER.")?;
    Ok(dirs.data_dir().to_owned())
}
