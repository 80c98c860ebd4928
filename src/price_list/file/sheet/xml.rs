//! The few things that are asked of an XML part: a tag's attribute, the text within an element. No document type is heeded,
//! so that no part can define a text that unfolds. Pure.

use std::borrow::Cow;
use std::io::{self, BufRead};

use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::{Error, Reader, XmlVersion};

/// What is said of a file that cannot be read to its end.
pub(super) const BROKEN: &str = "This spreadsheet file is broken or encrypted: it cannot be read to its end. Open it, save it again as .xlsx without a password, then choose it again.";

/// A trouble of reading in a sentence.
pub(super) fn refusal(error: Error) -> String {
    match error {
        Error::Io(error) if error.kind() == io::ErrorKind::FileTooLarge => error.to_string(),
        _ => BROKEN.to_owned(),
    }
}

/// A tag's attribute, whatever its prefix.
pub(super) fn attribute<'t>(tag: &'t BytesStart<'_>, name: &str) -> Result<Option<Cow<'t, str>>, String> {
    // Without checks: looking each name up among all before would take for ever in a tag with a million of them.
    for attribute in tag.attributes().with_checks(false) {
        let attribute = attribute.map_err(|_| BROKEN.to_owned())?;
        if attribute.key.local_name().as_ref() == name {
            return attribute.normalized_value(XmlVersion::Implicit1_0).map(Some).map_err(refusal);
        }
    }
    Ok(None)
}

/// Which text within an element is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wanted {
    /// None: the element is passed over.
    Nothing,
    /// Its own.
    Own,
    /// That of its runs (`t`), without the reading aids of East Asian texts (`rPh`).
    Runs,
}

/// The text within the element that was begun just now, up to its end.
pub(super) fn text_within<R: BufRead>(xml: &mut Reader<R>, wanted: Wanted) -> Result<String, String> {
    let (mut text, mut buffer) = (String::new(), Vec::new());
    // Depths: of the element we are in, of the one whose text is taken, of the one that is left aside; 0 is none.
    let (mut depth, mut aside) = (1_usize, 0);
    let mut open = usize::from(wanted == Wanted::Own);
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(refusal)? {
            Event::Start(tag) => {
                depth += 1;
                match tag.local_name().as_ref() {
                    "rPh" if aside == 0 => aside = depth,
                    "t" if wanted == Wanted::Runs && aside == 0 && open == 0 => open = depth,
                    _ => {}
                }
            }
            Event::End(_) => {
                open = if open == depth { 0 } else { open };
                aside = if aside == depth { 0 } else { aside };
                depth -= 1;
                if depth == 0 {
                    return Ok(text);
                }
            }
            Event::Text(part) if open > 0 => text.push_str(&part.xml10_content()),
            Event::CData(part) if open > 0 => text.push_str(&part.xml10_content()),
            Event::GeneralRef(name) if open > 0 => text.push(letter(&name)?),
            Event::Eof => return Err(BROKEN.to_owned()),
            _ => {}
        }
    }
}

/// What `&…;` stands for.
fn letter(name: &BytesRef<'_>) -> Result<char, String> {
    match name.as_ref() {
        "lt" => Ok('<'),
        "gt" => Ok('>'),
        "amp" => Ok('&'),
        "quot" => Ok('"'),
        "apos" => Ok('\''),
        _ => name.resolve_char_ref().ok().flatten().ok_or_else(|| BROKEN.to_owned()),
    }
}
