//! What is known of a workbook before its cells are read: its sheets, its shared texts, what its styles make of numbers. Pure.

use std::collections::HashMap;

use quick_xml::events::Event;

use super::super::table::MOST_BYTES;
use super::archive::Parts;
use super::number_formats::{Shown, coded, known};
use super::xml::{BROKEN, Wanted, attribute, refusal, text_within};

/// The most texts that cells may share: in each row one for each column that we know, and as many again.
const MOST_TEXTS: usize = 9_000_000;

/// A workbook without its cells.
#[derive(Debug, Default)]
pub(super) struct Workbook {
    /// The parts of its visible sheets, in their order.
    pub(super) sheets: Vec<String>,
    /// Whether days are counted from 1904.
    pub(super) since_1904: bool,
    /// Texts that cells refer to by number.
    pub(super) texts: Vec<Box<str>>,
    /// What each style shows a number as.
    pub(super) styles: Vec<Shown>,
}

/// Another part that a part refers to.
struct Reference {
    kind: String,
    target: String,
}

/// Reads all but the cells.
pub(super) fn read(parts: &mut Parts<'_>) -> Result<Workbook, String> {
    let none = || {
        "This is a packed file, but no .xlsx spreadsheet. Save the sheet as .xlsx or CSV, then choose it again.".to_owned()
    };
    let main = references(parts, "_rels/.rels", "")?.into_values().find(|to| to.kind == "officeDocument");
    let main = main.ok_or_else(none)?.target;
    let (folder, name) = main.rsplit_once('/').unwrap_or(("", &main));
    let within = if folder.is_empty() { String::new() } else { format!("{folder}/") };
    let references = references(parts, &format!("{within}_rels/{name}.rels"), folder)?;
    let mut book = Workbook::default();
    sheets(parts, &main, &references, &mut book)?;
    for reference in references.values() {
        match reference.kind.as_str() {
            "sharedStrings" => book.texts = texts(parts, &reference.target)?,
            "styles" => book.styles = styles(parts, &reference.target)?,
            _ => {}
        }
    }
    if book.sheets.is_empty() { Err(none()) } else { Ok(book) }
}

/// What a part refers to, by mark.
fn references(parts: &mut Parts<'_>, part: &str, folder: &str) -> Result<HashMap<String, Reference>, String> {
    let mut found = HashMap::new();
    let Some(mut xml) = parts.xml(part)? else { return Ok(found) };
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(refusal)? {
            Event::Start(tag) if tag.local_name().as_ref() == "Relationship" => {
                let mark = attribute(&tag, "Id")?.unwrap_or_default().into_owned();
                let kind = attribute(&tag, "Type")?.unwrap_or_default();
                let kind = kind.rsplit('/').next().unwrap_or_default().to_owned();
                let target = resolved(folder, &attribute(&tag, "Target")?.unwrap_or_default());
                found.insert(mark, Reference { kind, target });
            }
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

/// The name in the archive of what is named from a folder in it.
fn resolved(folder: &str, target: &str) -> String {
    if let Some(whole) = target.strip_prefix('/') {
        return whole.to_owned();
    }
    let mut steps: Vec<&str> = folder.split('/').filter(|step| !step.is_empty()).collect();
    for step in target.split('/') {
        match step {
            ".." => {
                steps.pop();
            }
            "." | "" => {}
            step => steps.push(step),
        }
    }
    steps.join("/")
}

fn sheets(
    parts: &mut Parts<'_>,
    part: &str,
    references: &HashMap<String, Reference>,
    book: &mut Workbook,
) -> Result<(), String> {
    let Some(mut xml) = parts.xml(part)? else { return Ok(()) };
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(refusal)? {
            Event::Start(tag) if tag.local_name().as_ref() == "sheet" => {
                let visible = attribute(&tag, "state")?.is_none_or(|state| state == "visible");
                let mark = attribute(&tag, "id")?.unwrap_or_default();
                let target = references.get(mark.as_ref()).filter(|to| to.kind == "worksheet");
                if let Some(target) = target.filter(|_| visible && book.sheets.len() < super::MOST_SHEETS) {
                    book.sheets.push(target.target.clone());
                }
            }
            Event::Start(tag) if tag.local_name().as_ref() == "workbookPr" => {
                let since = attribute(&tag, "date1904")?;
                book.since_1904 |= since.is_some_and(|since| since == "1" || since == "true");
            }
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

/// The shared texts. How many the part promises is not heeded.
fn texts(parts: &mut Parts<'_>, part: &str) -> Result<Vec<Box<str>>, String> {
    let mut found: Vec<Box<str>> = Vec::new();
    let Some(mut xml) = parts.xml(part)? else { return Ok(found) };
    let (mut buffer, mut bytes) = (Vec::new(), 0);
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(refusal)? {
            Event::Start(tag) if tag.local_name().as_ref() == "si" => {
                let text = text_within(&mut xml, Wanted::Runs)?;
                bytes += text.len();
                found.push(text.into_boxed_str());
                if bytes > MOST_BYTES || found.len() > MOST_TEXTS {
                    return Err(too_much_text());
                }
            }
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

/// What is said of more text than a file may have.
pub(super) fn too_much_text() -> String {
    format!(
        "It holds more than {} MB of text, the most that is taken in at once. Split it into several files.",
        MOST_BYTES / 1024 / 1024
    )
}

/// What each style of a cell shows a number as.
fn styles(parts: &mut Parts<'_>, part: &str) -> Result<Vec<Shown>, String> {
    let mut found = Vec::new();
    let Some(mut xml) = parts.xml(part)? else { return Ok(found) };
    let (mut codes, mut of_cells, mut buffer) = (HashMap::new(), false, Vec::new());
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(refusal)? {
            Event::Start(tag) => match tag.local_name().as_ref() {
                "numFmt" => {
                    let number = attribute(&tag, "numFmtId")?.and_then(|number| number.parse::<u32>().ok());
                    let code = attribute(&tag, "formatCode")?.unwrap_or_default();
                    codes.extend(number.map(|number| (number, coded(&code))));
                }
                "cellXfs" => of_cells = true,
                "xf" if of_cells => {
                    let number = attribute(&tag, "numFmtId")?.and_then(|number| number.parse::<u32>().ok());
                    let shown = |number| codes.get(&number).copied().unwrap_or_else(|| known(number));
                    found.push(number.map_or(Shown::Number, shown));
                }
                _ => {}
            },
            Event::End(tag) if tag.local_name().as_ref() == "cellXfs" => of_cells = false,
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

impl Workbook {
    /// A shared text by its number.
    pub(super) fn text(&self, number: &str) -> Result<&str, String> {
        let text = number.trim().parse::<usize>().ok().and_then(|number| self.texts.get(number));
        text.map(AsRef::as_ref).ok_or_else(|| BROKEN.to_owned())
    }

    /// What a style, by its number, shows a number as.
    pub(super) fn shown(&self, style: Option<&str>) -> Shown {
        let number = style.and_then(|style| style.parse::<usize>().ok()).unwrap_or(0);
        self.styles.get(number).copied().unwrap_or_default()
    }
}
