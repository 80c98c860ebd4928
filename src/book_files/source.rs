//! Where the files to read come from: a folder, or the program itself. Names are plain file names, never paths;
//! only ordinary files are read, so that a link in a folder from elsewhere leads nowhere.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufReader, Read};
use std::path::Path;
use std::rc::Rc;

use super::PICTURES;

/// Files by name; pictures under `pictures/`.
pub type MemoryFiles = BTreeMap<String, Vec<u8>>;

/// Where files are read from.
#[derive(Debug, Clone, Copy)]
pub enum Source<'a> {
    /// A folder.
    Folder(&'a Path),
    /// Files in memory: the demo's, or ones that were just made.
    Memory(&'a MemoryFiles),
}

/// A picture larger than this is refused.
const LARGEST_PICTURE: u64 = 64 * 1024 * 1024;

impl<'a> Source<'a> {
    /// Opens a CSV file for reading in turn.
    ///
    /// # Errors
    /// A sentence that says why it cannot be read.
    pub fn table_file(self, name: &str) -> Result<Box<dyn Read + 'a>, String> {
        match self {
            Source::Folder(folder) => {
                let (file, _) = ordinary(&folder.join(name))?;
                Ok(Box::new(BufReader::new(file)))
            }
            Source::Memory(files) => match files.get(name) {
                Some(bytes) => Ok(Box::new(bytes.as_slice())),
                None => Err("this file is missing.".into()),
            },
        }
    }

    /// Reads a picture's file.
    ///
    /// # Errors
    /// A sentence that says why it cannot be read.
    pub fn picture(self, name: &str) -> Result<Vec<u8>, String> {
        if !plain_name(name) {
            return Err("this is not the name of a file in pictures/.".into());
        }
        match self {
            Source::Folder(folder) => picture_file(&folder.join(PICTURES).join(name)),
            Source::Memory(files) => files
                .get(&format!("{PICTURES}/{name}"))
                .cloned()
                .ok_or_else(|| "there is no such file in pictures/.".into()),
        }
    }
}

/// A bare file name of letters, digits, points, dashes: no folder, no way up, no drive.
fn plain_name(name: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    !name.is_empty() && name.len() <= 200 && !name.starts_with('.') && name.chars().all(plain)
}

fn ordinary(path: &Path) -> Result<(File, u64), String> {
    let about = fs::symlink_metadata(path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => "this file is missing.".to_owned(),
        _ => format!("this file cannot be read: {error}."),
    })?;
    if !about.is_file() {
        return Err("this is not an ordinary file.".into());
    }
    let file = File::open(path).map_err(|error| format!("this file cannot be read: {error}."))?;
    Ok((file, about.len()))
}

fn picture_file(path: &Path) -> Result<Vec<u8>, String> {
    let (mut file, size) = ordinary(path).map_err(|reason| format!("of the picture's file: {reason}"))?;
    if size > LARGEST_PICTURE {
        return Err("the picture's file is larger than 64 MB.".into());
    }
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes).map_err(|error| format!("the picture's file cannot be read: {error}."))?;
    Ok(bytes)
}

/// A reader that ends a row without end: it fails once so many bytes were read since [`RowLimit::begin_row`].
pub(super) struct RowLimit<R> {
    inner: R,
    left: Rc<Cell<usize>>,
}

/// The largest row that is read.
const LARGEST_ROW: usize = 64 * 1024 * 1024;

/// Starts the count of a [`RowLimit`] anew.
#[derive(Clone)]
pub(super) struct RowCount(Rc<Cell<usize>>);

impl RowCount {
    pub(super) fn begin_row(&self) {
        self.0.set(LARGEST_ROW);
    }
}

pub(super) fn row_limit<R: Read>(inner: R) -> (RowLimit<R>, RowCount) {
    let left = Rc::new(Cell::new(LARGEST_ROW));
    (RowLimit { inner, left: Rc::clone(&left) }, RowCount(left))
}

impl<R: Read> Read for RowLimit<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.left.get() == 0 {
            return Err(io::Error::other("a row is larger than 64 MB, or a quotation mark is never closed"));
        }
        let read = self.inner.read(buffer)?;
        self.left.set(self.left.get().saturating_sub(read));
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_name_leads_nowhere_else() {
        assert!(plain_name("picture-12-full.jpg"));
        for wrong in
            ["", ".", "..", "../x.jpg", "a/b.jpg", "a\\b.jpg", "/etc/passwd", "C:x", ".hidden", "x\0y"]
        {
            assert!(!plain_name(wrong), "{wrong}");
        }
    }

    #[test]
    fn a_row_without_end_is_not_read_for_ever() {
        let (mut reader, count) = row_limit(io::repeat(b'x'));
        let read = io::copy(&mut reader, &mut io::sink());
        assert!(read.unwrap_err().to_string().contains("64 MB"));
        count.begin_row();
        assert_eq!(reader.read(&mut [0; 10]).unwrap(), 10);
    }
}
