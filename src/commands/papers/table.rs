//! Prep sheets and pull lists as CSV: a row a task or thing. Cells that a spreadsheet would take for a formula get an
//! apostrophe in front.

use csv::{Terminator, Writer, WriterBuilder};
use trug::book_files::cell::text_cell;
use trug::ground::choice::Choice;
use trug::prep::plan::PrepSheets;
use trug::pull_list::pull::PullList;

pub(super) fn prep(sheets: &PrepSheets) -> anyhow::Result<Vec<u8>> {
    let heads = ["day", "step", "count", "unit", "what", "for", "not before", "minutes", "how"];
    let mut table = begun(&heads)?;
    for day in &sheets.days {
        for step in &day.steps {
            for task in &step.tasks {
                let row = [
                    day.day.to_string(),
                    step.step.code().to_owned(),
                    task.count.to_string(),
                    safe(&task.unit),
                    safe(&task.what),
                    safe(&task.wanted_for),
                    task.not_before.map(|moment| moment.to_string()).unwrap_or_default(),
                    task.minutes.to_string(),
                    safe(&task.how.join("\n")),
                ];
                table.write_record(row)?;
            }
        }
    }
    ended(table)
}

pub(super) fn pull(lists: &[PullList]) -> anyhow::Result<Vec<u8>> {
    let heads =
        ["event", "day", "place", "count", "unit", "what", "kind", "comes back", "two people", "note", "sum"];
    let mut table = begun(&heads)?;
    for list in lists {
        for group in &list.groups {
            for line in &group.lines {
                let row = [
                    safe(&list.event),
                    list.day.to_string(),
                    safe(&group.heading),
                    line.count.to_string(),
                    safe(&line.unit),
                    safe(&line.name),
                    safe(&line.kind),
                    yes_no(line.comes_back),
                    yes_no(line.two_people),
                    safe(&line.note),
                    safe(&line.working),
                ];
                table.write_record(row)?;
            }
        }
    }
    ended(table)
}

fn begun(heads: &[&str]) -> anyhow::Result<Writer<Vec<u8>>> {
    let mut table = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new());
    table.write_record(heads)?;
    Ok(table)
}

fn ended(table: Writer<Vec<u8>>) -> anyhow::Result<Vec<u8>> {
    Ok(table.into_inner().map_err(csv::IntoInnerError::into_error)?)
}

fn safe(text: &str) -> String {
    text_cell(text, false)
}

fn yes_no(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}
