//! What an act did, told: by record, line by line, what was before and what is after. Lines of a list that were written anew
//! with the list are matched: what is the same is not told. Plain values in, words out.

use std::collections::{BTreeMap, BTreeSet};

use super::store::columns;
use super::values::{references, words};
use super::words::{column_words, is_told, kind_words, part_words, parts_of, sentence_case};
use super::{Act, Changed, Columns, Names};
use crate::db::history::records::{Part, part_of};
use crate::db::schema::{Column, Table};
use crate::studio::Studio;
use crate::studio::record_pages::page_of;

/// What one needs to tell: the tables, what rows are called, how the studio writes.
#[derive(Debug, Clone, Copy)]
pub struct Teller<'a> {
    /// The book's tables.
    pub tables: &'a [Table],
    /// What rows are called.
    pub names: &'a Names,
    /// How amounts and days are written.
    pub studio: &'a Studio,
}

/// An act as the page shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Its number.
    pub id: i64,
    /// The day, with its weekday.
    pub day: String,
    /// The time of day.
    pub time: String,
    /// Who did it.
    pub who: String,
    /// Whether it takes an earlier one back.
    pub undoes: bool,
    /// What it did, by record.
    pub records: Vec<ToldRecord>,
    /// Where a POST takes it back, while it may be.
    pub undo: Option<String>,
    /// How many rows more it changed than are told.
    pub more: i64,
}

/// What an act did to one record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldRecord {
    /// "Client", "Kit".
    pub kind: String,
    /// What it is called; empty for a list.
    pub name: String,
    /// Its page, if it has one.
    pub page: Option<String>,
    /// What became of it.
    pub lines: Vec<Line>,
}

/// So many lines are shown at once; the rest are folded.
const MOST_SHOWN: usize = 8;

impl ToldRecord {
    /// The lines that are shown at once.
    #[must_use]
    pub fn shown(&self) -> &[Line] {
        &self.lines[..self.lines.len().min(MOST_SHOWN)]
    }

    /// The lines that are folded.
    #[must_use]
    pub fn folded(&self) -> &[Line] {
        &self.lines[self.lines.len().min(MOST_SHOWN)..]
    }
}

/// One row's change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// "Line: Garden rose"; empty for the record itself.
    pub what: String,
    /// "added", "changed", "removed", "put back".
    pub verb: &'static str,
    /// What was before and what is after.
    pub fields: Vec<Field>,
}

/// A column's change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    /// What it is called.
    pub label: String,
    /// What it held.
    pub before: Option<String>,
    /// What it holds since.
    pub after: Option<String>,
}

/// The rows whose names are needed to tell of changes.
#[must_use]
pub fn wanted(tables: &[Table], changes: &[Changed]) -> BTreeSet<(String, i64)> {
    let mut wanted = BTreeSet::new();
    for changed in changes {
        if let (kind, Some(number)) = parts_of(&changed.change.record) {
            wanted.insert((kind.to_owned(), number));
        }
        if let Some(table) = tables.iter().find(|table| table.name == changed.change.table_name) {
            wanted.extend(references(table, &changed.row));
            wanted.extend(references(table, &columns(changed.change.before.as_deref())));
        }
    }
    wanted
}

impl<'a> Teller<'a> {
    /// An act with its changes, told. `in_all` is how many rows it changed.
    #[must_use]
    pub fn tell(self, act: &Act, changes: &[Changed], in_all: i64) -> Told {
        let at = act.done_at.0.to_zoned_datetime(self.studio.zone.clone());
        let told = i64::try_from(changes.len()).unwrap_or(i64::MAX);
        Told {
            id: act.id,
            day: self.studio.formats.weekday(crate::ground::dates::Day(at.date())),
            time: format!("{:02}:{:02}", at.hour(), at.minute()),
            who: who_words(&act.who),
            undoes: act.undoes_id.is_some(),
            records: self.records(changes),
            undo: None,
            more: in_all - told,
        }
    }

    fn records(self, changes: &[Changed]) -> Vec<ToldRecord> {
        let mut by_record: BTreeMap<&str, Vec<&Changed>> = BTreeMap::new();
        for changed in changes {
            by_record.entry(&changed.change.record).or_default().push(changed);
        }
        let mut records: Vec<(i64, ToldRecord)> = by_record
            .into_iter()
            .map(|(record, changes)| (changes[0].change.id, self.record(record, &changes)))
            .collect();
        records.sort_by_key(|(first, _)| *first);
        records.into_iter().map(|(_, record)| record).collect()
    }

    fn record(self, record: &str, changes: &[&Changed]) -> ToldRecord {
        let (kind, number) = parts_of(record);
        let name = match number {
            Some(number) => self.called(kind, number),
            None => String::new(),
        };
        ToldRecord { kind: kind_words(kind), name, page: page_of(record), lines: self.lines(changes) }
    }

    fn called(self, table: &str, number: i64) -> String {
        let known = self.names.get(&(table.to_owned(), number)).cloned();
        known.unwrap_or_else(|| format!("no. {number}"))
    }

    fn lines(self, changes: &[&Changed]) -> Vec<Line> {
        let mut lines = Vec::new();
        let net = net(changes);
        let mut added: Vec<&Changed> = net.iter().filter(|changed| changed.change.before.is_none()).collect();
        for changed in net.iter().filter(|changed| changed.change.before.is_some()) {
            let Some(table) = self.table(changed) else { continue };
            if changed.change.after.is_some() {
                lines.extend(self.changed(table, changed));
                continue;
            }
            // A list that is saved is written anew: the same line again is no change, one at the same place is another one.
            match anew(changed, &added) {
                Some(place) => {
                    let new = added.remove(place);
                    lines.extend(self.line(table, &new.row, "changed", &changed.row, Some(&new.row)));
                }
                None => lines.extend(self.line(table, &changed.row, "removed", &changed.row, None)),
            }
        }
        for new in added {
            if let Some(table) = self.table(new) {
                lines.extend(self.line(table, &new.row, "added", &Columns::new(), Some(&new.row)));
            }
        }
        lines
    }

    fn table(self, changed: &Changed) -> Option<&'a Table> {
        self.tables.iter().find(|table| table.name == changed.change.table_name)
    }

    /// A row that was changed in place.
    fn changed(self, table: &Table, changed: &Changed) -> Option<Line> {
        let before = columns(changed.change.before.as_deref());
        let after = columns(changed.change.after.as_deref());
        let verb = match (before.get("removed_at"), after.get("removed_at")) {
            (Some(_), Some(serde_json::Value::Null)) => "put back",
            (Some(serde_json::Value::Null), Some(_)) => "removed",
            _ => "changed",
        };
        self.line(table, &changed.row, verb, &before, Some(&after))
    }

    /// A line; none where nothing shows that it changed.
    fn line(
        self,
        table: &Table,
        row: &Columns,
        verb: &'static str,
        before: &Columns,
        after: Option<&Columns>,
    ) -> Option<Line> {
        // What is 0 by itself when a row is added says nothing.
        let nothing = |column: &str| verb != "changed" && row.get(column) == Some(&0.into());
        let told = |column: &&Column| {
            is_told(&column.name) && !is_owner(&table.name, &column.name) && !nothing(&column.name)
        };
        let said = |columns: &Columns, column: &Column| {
            let value = columns.get(&column.name)?;
            Some(words(table, column, value, self.names, self.studio))
        };
        let fields: Vec<Field> = table
            .columns
            .iter()
            .filter(told)
            .map(|column| Field {
                label: column_words(&table.name, &column.name),
                before: said(before, column),
                after: after.and_then(|after| said(after, column)),
            })
            .filter(|field| differs(field, verb))
            .collect();
        if fields.is_empty() && verb == "changed" {
            return None;
        }
        Some(Line { what: self.title(table, row), verb, fields })
    }

    /// What a row is called within its record: its kind, and its own name or what it names.
    fn title(self, table: &Table, row: &Columns) -> String {
        if part_of(&table.name) == Part::Itself || table.name == "studio" {
            return String::new();
        }
        let part = sentence_case(&part_words(&table.name));
        let own = ["name", "label", "what", "words", "set_name", "task"]
            .iter()
            .find_map(|column| row.get(*column)?.as_str())
            .filter(|own| !own.is_empty());
        let named = || {
            let named = references(table, row).into_iter().filter(|(parent, _)| {
                !matches!(parent.as_str(), "tax_rate" | "picture") && !owns(&table.name, parent)
            });
            named.filter_map(|reference| self.names.get(&reference).cloned()).collect::<Vec<_>>().join(", ")
        };
        let name = own.map_or_else(named, |own| own.chars().take(80).collect());
        if name.is_empty() { part } else { format!("{part}: {name}") }
    }
}

/// Who did it, in words.
#[must_use]
pub fn who_words(who: &str) -> String {
    if who.is_empty() { "At the studio’s computer".to_owned() } else { who.to_owned() }
}

/// The changes with one for each row: what one act did to a row in several steps is told as what came of it.
fn net(changes: &[&Changed]) -> Vec<Changed> {
    let mut net: Vec<Changed> = Vec::new();
    for changed in changes {
        let same = |earlier: &&mut Changed| {
            earlier.change.table_name == changed.change.table_name
                && earlier.change.row_key == changed.change.row_key
        };
        match net.iter_mut().find(same) {
            Some(earlier) => take_on(earlier, changed),
            None => net.push((*changed).clone()),
        }
    }
    net
}

fn take_on(earlier: &mut Changed, later: &Changed) {
    earlier.row.clone_from(&later.row);
    // Added, and changed in the same act: added as it was left.
    if earlier.change.before.is_none() {
        return;
    }
    let mut before = columns(later.change.before.as_deref());
    before.extend(columns(earlier.change.before.as_deref()));
    let mut after = columns(earlier.change.after.as_deref());
    after.extend(columns(later.change.after.as_deref()));
    if later.change.after.is_some() {
        before.retain(|column, was| after.get(column) != Some(was));
        after.retain(|column, _| before.contains_key(column));
        earlier.change.after = serde_json::to_string(&after).ok();
    } else {
        earlier.row.extend(before.clone());
        earlier.change.after = None;
    }
    earlier.change.before = serde_json::to_string(&before).ok();
}

/// Which of the added rows stands for a deleted one: the same content, else the same place in the list.
fn anew(deleted: &Changed, added: &[&Changed]) -> Option<usize> {
    let same_list = |new: &&Changed| new.change.table_name == deleted.change.table_name;
    let by = |like: &dyn Fn(&Changed) -> bool| added.iter().position(|new| same_list(new) && like(new));
    by(&|new| content(&new.row) == content(&deleted.row)).or_else(|| {
        let place = deleted.row.get("position")?;
        by(&|new| new.row.get("position") == Some(place))
    })
}

/// A row without its keys and its place; what is empty is as good as not there.
fn content(row: &Columns) -> Columns {
    let told = |(column, value): &(&String, &serde_json::Value)| is_told(column) && !value.is_null();
    row.iter().filter(told).map(|(column, value)| (column.clone(), value.clone())).collect()
}

/// Whether a field is worth telling: an added or removed row tells what it holds, a changed one what is otherwise.
fn differs(field: &Field, verb: &str) -> bool {
    let held = |words: &Option<String>| words.as_ref().is_some_and(|words| words != "–");
    match verb {
        "added" => held(&field.after),
        "removed" => held(&field.before),
        _ => field.before != field.after && (held(&field.before) || held(&field.after)),
    }
}

/// Whether a column says only of which record the row is part.
fn is_owner(table: &str, column: &str) -> bool {
    matches!(part_of(table), Part::Of(_, by) | Part::By(_, by) if by == column)
}

fn owns(table: &str, parent: &str) -> bool {
    matches!(part_of(table), Part::Of(of, _) | Part::By(of, _) if of == parent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::db::history::undo::Change;

    fn changed(before: Option<&str>, after: Option<&str>) -> Changed {
        let owned = |text: Option<&str>| text.map(str::to_owned);
        let change = Change {
            id: 1,
            act_id: 1,
            table_name: "kit_item".into(),
            row_key: "1".into(),
            record: "kit".into(),
            before: owned(before),
            after: owned(after),
        };
        Changed { change, row: Columns::new() }
    }

    /// A list that is saved marks its rows as removed first, and brings back those that are still in it.
    #[test]
    fn several_steps_are_told_as_what_came_of_them() {
        let removed = changed(Some(r#"{"removed_at":null}"#), Some(r#"{"removed_at":"x"}"#));
        let back =
            changed(Some(r#"{"removed_at":"x","quantity":1}"#), Some(r#"{"removed_at":null,"quantity":3}"#));
        let net_of = |list: &[&Changed]| {
            let net = net(list);
            assert_eq!(net.len(), 1);
            (net[0].change.before.clone().unwrap(), net[0].change.after.clone())
        };
        assert_eq!(
            net_of(&[&removed, &back]),
            (r#"{"quantity":1}"#.into(), Some(r#"{"quantity":3}"#.into()))
        );
        let gone = changed(Some(r#"{"name":"Snips","quantity":3}"#), None);
        let (before, after) = net_of(&[&back, &gone]);
        assert_eq!((columns(Some(&before)).get("quantity"), after), (Some(&1.into()), None));
    }
}
