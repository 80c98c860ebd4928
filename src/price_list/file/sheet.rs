//! A spreadsheet's own file (.xlsx, ECMA-376) as the CSV text of its first sheet that holds anything, so that what a
//! wholesaler sends goes the way of an uploaded CSV file. Pure: bytes in, text out.
//!
//! Such a file is a zip archive of XML parts, and may be made to harm: it may unpack to thousands of times its size, name a
//! cell a billion rows down, or count its texts in advance by a number that no memory holds. So nothing that it says of
//! itself is trusted: parts are unpacked within a ration, cells are read one by one, and only filled ones count.
//! A row keeps its number; a day becomes an ISO day, a time hh:mm, a yes or no those words, a share the number before
//! its per-cent sign; a formula is the value that the spreadsheet kept beside it.

mod archive;
mod cells;
mod number_formats;
mod workbook;
mod xml;

use archive::Parts;

/// So many sheets are looked through for one that holds anything.
const MOST_SHEETS: usize = 100;

/// The first visible sheet that holds anything, as CSV text with commas.
///
/// # Errors
/// A sentence for whoever chose the file: it is broken, too large, no .xlsx, or a cell holds what cannot be taken in.
pub fn read(bytes: &[u8]) -> Result<String, String> {
    let mut parts = Parts::open(bytes)?;
    let book = workbook::read(&mut parts)?;
    for part in book.sheets.iter().take(MOST_SHEETS) {
        if let Some(text) = cells::text(&mut parts, &book, part)? {
            return Ok(text);
        }
    }
    Err("There is nothing in its sheets.".into())
}

#[cfg(test)]
mod tests;
