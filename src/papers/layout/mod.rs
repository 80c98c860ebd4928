//! Where everything on a paper stands, page by page, in thousandths of a point from the upper left corner: whole
//! numbers, so that a paper is laid out the same on every machine. Nothing here knows of PDF.
//!
//! Rows are not broken over a page unless they are longer than one; a table's head is repeated; sums stay with the
//! last row; headings stay with what they head; a text leaves no line of its own behind.
//!
//! May import: plain values of the ground, the room's sheet, the studio's paper.

pub mod face;
pub mod lines;

mod blocks;
mod paging;
mod strips;
mod tables;
mod tree;

use self::face::{Shaped, Weight};
pub use self::tree::{Branch, Role, Twig};
use super::sheet::{Image, Sheet};
use crate::studio::Paper;

/// Thousandths in a point.
pub const POINT: i64 = 1_000;

/// The free edge to the left and to the right.
const SIDE: i64 = 60 * POINT;
/// The free edge above.
const ABOVE: i64 = 54 * POINT;
/// The free edge below, in which the page's number stands.
const BELOW: i64 = 68 * POINT;

/// A paper laid out.
#[derive(Debug, Clone)]
pub struct Laid {
    /// Width and height of every page.
    pub size: (i64, i64),
    /// What stands on each page, in the order in which it is read.
    pub pages: Vec<Vec<Placed>>,
    /// What the parts of it are to someone who does not see them.
    pub tree: Branch,
    /// Headings with their page and height on it.
    pub marks: Vec<Mark>,
    /// The pictures that are drawn.
    pub images: Vec<Image>,
}

/// A heading, for the list that readers show beside the pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Its words.
    pub title: String,
    /// The page, from 0.
    pub page: usize,
    /// How far down.
    pub y: i64,
}

/// Something drawn at a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// From the left; of a text its beginning.
    pub x: i64,
    /// From above; of a text the line it stands on.
    pub y: i64,
    /// What is drawn.
    pub drawn: Drawn,
    /// Which leaf of the tree it belongs to; none for what is no part of the text.
    pub leaf: Option<usize>,
}

/// What is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Drawn {
    /// A line of text.
    Text(Shaped, Style),
    /// A rule: how wide, how thick, in which ink.
    Rule(i64, i64, Ink),
    /// One of the pictures: which, how wide, how high.
    Picture(usize, i64, i64),
}

/// How a text looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// How high its letters' bodies are.
    pub size: i64,
    /// From one line to the next.
    pub leading: i64,
    /// How heavy it is.
    pub weight: Weight,
    /// In which ink.
    pub ink: Ink,
}

/// The inks of a paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// For what is read.
    Full,
    /// For what stands beside it.
    Soft,
    /// For hairlines.
    Pale,
}

/// Lays a paper out. Pictures that cannot be read are left out.
#[must_use]
pub fn lay(sheet: &Sheet, paper: Paper) -> Laid {
    let size = match paper {
        Paper::A4 => (595_276, 841_890),
        Paper::Letter => (612_000, 792_000),
    };
    let body = (size.0 - 2 * SIDE, size.1 - ABOVE - BELOW);
    let mut setter = strips::Setter::new(body);
    let tree = setter.sheet(sheet);
    let strips::Setter { strips, heads, images, .. } = setter;
    let (mut pages, marks) = paging::paged(strips, &heads, body.1);
    let all = pages.len();
    for (place, page) in pages.iter_mut().enumerate() {
        for placed in page.iter_mut() {
            placed.x += SIDE;
            placed.y += ABOVE;
        }
        page.extend(foot(sheet, size, (place + 1, all)));
    }
    let marks = marks.into_iter().map(|mark| Mark { y: mark.y + ABOVE, ..mark }).collect();
    Laid { size, pages, tree, marks, images }
}

/// Who and what at the left of every page's foot, the page's number at the right.
fn foot(sheet: &Sheet, (width, height): (i64, i64), (page, all): (usize, usize)) -> Vec<Placed> {
    let style = strips::LABEL;
    let y = height - 34 * POINT;
    let number = lines::single(&format!("Page {page} of {all}"), style.weight, style.size);
    let room = width - 2 * SIDE - number.width - 20 * POINT;
    let what = format!("{} · {}", sheet.head.name, sheet.head.heading);
    let what = lines::broken(&what, style.weight, style.size, room).into_iter().next();
    let number_x = width - SIDE - number.width;
    let at = |x, line: lines::Line| Placed { x, y, drawn: Drawn::Text(line.shaped, style), leaf: None };
    what.map(|line| at(SIDE, line)).into_iter().chain([at(number_x, number)]).collect()
}

#[cfg(test)]
mod tests;
