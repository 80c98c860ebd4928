//! What stands on a paper that goes to a client, before anyone decides how it looks: head, facts, tables, sums, words.
//! The page, the HTML file and the PDF are all made of it, so that none can say another figure than the others.
//!
//! May import: plain values of the ground.

use crate::ground::dates::Day;

/// A whole paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// What it is called, as a file and in a reader's title bar: "Quote 2, North wedding".
    pub title: String,
    /// The day it bears.
    pub dated: Day,
    /// Who sends it, and what it is.
    pub head: Head,
    /// For whom, when, where.
    pub facts: Vec<Fact>,
    /// Everything after that, in order.
    pub sections: Vec<Section>,
}

/// Who sends it, and what it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// The studio's name.
    pub name: String,
    /// "Quote, version 2, 14 May 2026".
    pub heading: String,
    /// Its address and numbers, a line each.
    pub from: Vec<String>,
    /// Its sign.
    pub logo: Option<Image>,
}

/// A label and what stands beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// "Where".
    pub label: String,
    /// One line each.
    pub lines: Vec<String>,
}

/// A part of the paper with or without a heading.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Section {
    /// "Terms"; empty where none is needed.
    pub heading: String,
    /// What stands under it.
    pub parts: Vec<Part>,
}

/// What stands in a section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// Words; a line break in them is kept.
    Paragraph(String),
    /// One thing a line.
    List(Vec<String>),
    /// Labels with what stands beside them.
    Facts(Vec<Fact>),
    /// Rows and sums.
    Table(Table),
    /// Lines to write on, each with what is to be written.
    Sign(Vec<String>),
}

/// Rows under a head, and sums under the rows.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// What it is about.
    pub caption: String,
    /// Whether the caption is read aloud only.
    pub unseen_caption: bool,
    /// The columns; the first holds names, the others mostly figures.
    pub heads: Vec<String>,
    /// The rows, in groups.
    pub groups: Vec<Group>,
    /// What the rows come to.
    pub sums: Vec<Sum>,
}

/// Rows that belong together.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Group {
    /// What they have in common; may be empty.
    pub heading: String,
    /// The rows.
    pub rows: Vec<Row>,
}

/// A row.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Row {
    /// What it is about.
    pub name: String,
    /// What is said of it, a paragraph each.
    pub notes: Vec<String>,
    /// How it looks.
    pub picture: Option<Image>,
    /// One for each further column.
    pub cells: Vec<Cell>,
}

/// A cell beside a row's name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cell {
    /// What stands in it.
    pub text: String,
    /// Whether it is a figure, which stands to the right.
    pub figure: bool,
}

/// A line under the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sum {
    /// What is summed.
    pub label: String,
    /// What stands in the columns before the amount's, in their order; often nothing.
    pub beside: Vec<String>,
    /// How much.
    pub amount: String,
    /// Whether it is the one that counts.
    pub total: bool,
}

/// A picture on a paper: where the page finds it, and for files the picture itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Image {
    /// Its address in the app.
    pub address: String,
    /// What is to be seen.
    pub alt: String,
    /// The file, a PNG or a JPEG; empty on pages.
    pub bytes: Vec<u8>,
}

impl Table {
    fn words(&self) -> Vec<&str> {
        let mut words = vec![self.caption.as_str()];
        words.extend(self.heads.iter().map(String::as_str));
        for group in &self.groups {
            words.push(&group.heading);
            for row in &group.rows {
                words.push(&row.name);
                words.extend(
                    row.notes.iter().chain(row.cells.iter().map(|cell| &cell.text)).map(String::as_str),
                );
            }
        }
        for sum in &self.sums {
            words.extend([sum.label.as_str(), sum.amount.as_str()]);
            words.extend(sum.beside.iter().map(String::as_str));
        }
        words
    }

    /// Whether a column holds figures, which stand to the right.
    #[must_use]
    pub fn holds_figures(&self, column: usize) -> bool {
        let Some(place) = column.checked_sub(1) else { return false };
        let last = column + 1 == self.heads.len() && !self.sums.is_empty();
        let mut rows = self.groups.iter().flat_map(|group| &group.rows);
        last || rows.any(|row| row.cells.get(place).is_some_and(|cell| cell.figure))
    }

    /// The columns: what stands over each, and whether it holds figures.
    #[must_use]
    pub fn columns(&self) -> Vec<(&str, bool)> {
        self.heads
            .iter()
            .enumerate()
            .map(|(place, head)| (head.as_str(), self.holds_figures(place)))
            .collect()
    }

    /// A row's cells, each with what stands over it.
    #[must_use]
    pub fn cells<'a>(&'a self, row: &'a Row) -> Vec<(&'a str, &'a Cell)> {
        self.heads.iter().skip(1).map(String::as_str).zip(&row.cells).collect()
    }

    /// Over how many columns a sum's label stands.
    #[must_use]
    pub fn sum_span(&self, sum: &Sum) -> usize {
        self.heads.len().saturating_sub(1 + sum.beside.len()).max(1)
    }

    /// A sum's figures, each with what stands over it.
    #[must_use]
    pub fn sum_cells<'a>(&'a self, sum: &'a Sum) -> Vec<(&'a str, &'a str)> {
        let figures = sum.beside.iter().chain([&sum.amount]).map(String::as_str);
        self.heads.iter().skip(self.sum_span(sum)).map(String::as_str).zip(figures).collect()
    }
}

impl Cell {
    /// A figure.
    #[must_use]
    pub fn figure(text: impl Into<String>) -> Cell {
        Cell { text: text.into(), figure: true }
    }

    /// Words.
    #[must_use]
    pub fn words(text: impl Into<String>) -> Cell {
        Cell { text: text.into(), figure: false }
    }
}

impl Part {
    fn words(&self) -> Vec<&str> {
        match self {
            Part::Paragraph(words) => vec![words],
            Part::List(lines) | Part::Sign(lines) => lines.iter().map(String::as_str).collect(),
            Part::Facts(facts) => facts.iter().flat_map(Fact::words).collect(),
            Part::Table(table) => table.words(),
        }
    }
}

impl Fact {
    fn words(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.label).chain(&self.lines).map(String::as_str)
    }

    /// A label with what stands beside it; empty lines are left out.
    #[must_use]
    pub fn new(label: impl Into<String>, lines: impl IntoIterator<Item = String>) -> Fact {
        let lines = lines.into_iter().filter(|line| !line.trim().is_empty()).collect();
        Fact { label: label.into(), lines }
    }
}

impl Sum {
    /// A line under the rows.
    #[must_use]
    pub fn new(label: impl Into<String>, amount: String) -> Sum {
        Sum { label: label.into(), beside: Vec::new(), amount, total: false }
    }

    /// The one that counts.
    #[must_use]
    pub fn total(label: impl Into<String>, amount: String) -> Sum {
        Sum { total: true, ..Sum::new(label, amount) }
    }
}

impl Section {
    /// A text under a heading, in its paragraphs; none where there is no text.
    #[must_use]
    pub fn words(heading: &str, text: &str) -> Option<Section> {
        let parts = paragraphs(text);
        (!parts.is_empty()).then(|| Section { heading: heading.to_owned(), parts })
    }
}

impl Image {
    /// Whether it is a PNG; else it is a JPEG.
    #[must_use]
    pub fn is_png(&self) -> bool {
        self.bytes.starts_with(b"\x89PNG")
    }
}

impl Sheet {
    /// Every table, in order.
    pub fn tables(&self) -> impl Iterator<Item = &Table> {
        self.sections.iter().flat_map(|section| &section.parts).filter_map(|part| match part {
            Part::Table(table) => Some(table),
            _ => None,
        })
    }

    /// Every word on it, in no order: to look for letters.
    #[must_use]
    pub fn words(&self) -> String {
        let mut words = vec![self.title.as_str(), &self.head.name, &self.head.heading];
        words.extend(self.head.from.iter().map(String::as_str));
        words.extend(self.facts.iter().flat_map(Fact::words));
        for section in &self.sections {
            words.push(&section.heading);
            words.extend(section.parts.iter().flat_map(Part::words));
        }
        words.concat()
    }

    /// Every picture, the studio's sign first.
    pub fn images_mut(&mut self) -> impl Iterator<Item = &mut Image> {
        let rows =
            self.sections.iter_mut().flat_map(|section| &mut section.parts).filter_map(|part| match part {
                Part::Table(table) => Some(table.groups.iter_mut().flat_map(|group| &mut group.rows)),
                _ => None,
            });
        self.head.logo.iter_mut().chain(rows.flatten().filter_map(|row| row.picture.as_mut()))
    }
}

/// A text's paragraphs: what empty lines part.
#[must_use]
pub fn paragraphs(text: &str) -> Vec<Part> {
    let text = text.replace("\r\n", "\n");
    text.split("\n\n")
        .filter(|words| !words.trim().is_empty())
        .map(|words| Part::Paragraph(words.trim().to_owned()))
        .collect()
}

/// A text's lines, without empty ones.
#[must_use]
pub fn lines(text: &str) -> Vec<String> {
    text.lines().map(str::trim).filter(|line| !line.is_empty()).map(str::to_owned).collect()
}
