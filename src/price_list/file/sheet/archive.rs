//! The zip archive that such a file is: its parts by name, unpacked within a ration. What an archive says of its sizes is
//! never believed: bytes are counted as they come out. Names are only looked up here, never used as paths. Pure.

use std::cell::Cell;
use std::collections::HashMap;
use std::io::{self, BufReader, Cursor, Read};
use std::rc::Rc;

use quick_xml::Reader;
use zip::ZipArchive;
use zip::read::ZipFile;

use super::xml::BROKEN;

/// The most files in an archive.
const MOST_FILES: usize = 2_000;
/// The most bytes that are unpacked.
const MOST_UNPACKED: u64 = 256 * 1024 * 1024;
/// So many bytes are unpacked of the smallest archive.
const FREE: u64 = 10 * 1024 * 1024;
/// Beyond these, so many bytes for each packed one.
const FOR_EACH: u64 = 100;
/// The end of a zip archive's directory in its large form: its mark, its length, where its number of files stands
/// (APPNOTE.TXT, 4.3.14).
const LARGE_MARK: &[u8] = b"PK\x06\x06";
const LARGE_LENGTH: usize = 56;
const LARGE_COUNT: std::ops::Range<usize> = 32..40;

/// A part's XML as it is unpacked.
pub(super) type Xml<'p, 'a> = Reader<BufReader<Rationed<ZipFile<'p, Cursor<&'a [u8]>>>>>;

/// An archive's parts.
pub(super) struct Parts<'a> {
    archive: ZipArchive<Cursor<&'a [u8]>>,
    /// Places by name, in small letters: some programs write the names otherwise than they refer to them.
    places: HashMap<String, usize>,
    ration: Ration,
}

impl<'a> Parts<'a> {
    /// Opens an archive; of its parts nothing is unpacked yet.
    pub(super) fn open(bytes: &'a [u8]) -> Result<Parts<'a>, String> {
        let too_many =
            || format!("This file packs more than {MOST_FILES} files; no price list needs as many.");
        if !directory_is_small(bytes) {
            return Err(too_many());
        }
        let archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| BROKEN.to_owned())?;
        if archive.len() > MOST_FILES {
            return Err(too_many());
        }
        let mut places = HashMap::new();
        for place in 0..archive.len() {
            if let Some(Ok(name)) = archive.name_for_index(place) {
                places.insert(name.replace('\\', "/").to_ascii_lowercase(), place);
            }
        }
        Ok(Parts { archive, places, ration: Ration::for_packed(bytes.len()) })
    }

    /// A part to be read from its beginning; none where the archive has no such part.
    pub(super) fn xml(&mut self, name: &str) -> Result<Option<Xml<'_, 'a>>, String> {
        let Some(place) = self.places.get(&name.to_ascii_lowercase()) else { return Ok(None) };
        let file = self.archive.by_index(*place).map_err(|_| BROKEN.to_owned())?;
        let mut reader = Reader::from_reader(BufReader::new(Rationed { file, ration: self.ration.clone() }));
        reader.config_mut().expand_empty_elements = true;
        Ok(Some(reader))
    }
}

/// Whether each directory in the large form promises no more files than are opened at all. Looked at first, since opening
/// sets memory aside for as many as are promised; the usual form cannot promise enough to matter.
fn directory_is_small(bytes: &[u8]) -> bool {
    let large = bytes.windows(LARGE_LENGTH).filter(|end| end.starts_with(LARGE_MARK));
    let promised = large.map(|end| end[LARGE_COUNT].try_into().map_or(u64::MAX, u64::from_le_bytes));
    promised.map(usize::try_from).all(|count| count.is_ok_and(|count| count <= MOST_FILES))
}

/// How much may still be unpacked, of all parts together.
#[derive(Clone)]
struct Ration {
    left: Rc<Cell<u64>>,
    whole: u64,
}

impl Ration {
    fn for_packed(bytes: usize) -> Ration {
        let packed = u64::try_from(bytes).unwrap_or(u64::MAX);
        let whole = packed.saturating_mul(FOR_EACH).saturating_add(FREE).min(MOST_UNPACKED);
        Ration { left: Rc::new(Cell::new(whole)), whole }
    }
}

/// A reader that fails once the ration is used up.
pub(super) struct Rationed<R> {
    file: R,
    ration: Ration,
}

impl<R: Read> Read for Rationed<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let left = self.ration.left.get();
        if left == 0 {
            let sentence = format!(
                "This file unpacks to more than {} MB, far more than a price list needs.",
                self.ration.whole / 1024 / 1024
            );
            return Err(io::Error::new(io::ErrorKind::FileTooLarge, sentence));
        }
        let most = usize::try_from(left).unwrap_or(usize::MAX).min(buffer.len());
        let read = self.file.read(&mut buffer[..most])?;
        self.ration.left.set(left.saturating_sub(u64::try_from(read).unwrap_or(u64::MAX)));
        Ok(read)
    }
}
