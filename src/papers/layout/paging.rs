//! Strips onto pages.
//!
//! May import: the room's own layout.

use super::strips::Strip;
use super::{Mark, Placed};

struct Pages<'a> {
    heads: &'a [Strip],
    height: i64,
    filled: Vec<Vec<Placed>>,
    marks: Vec<Mark>,
    /// How far the last page is filled; 0 at its top.
    y: i64,
}

/// Puts strips onto pages of a height; what must stay together begins a new page where it does not fit, unless it is
/// longer than a page.
pub(super) fn paged(strips: Vec<Strip>, heads: &[Strip], height: i64) -> (Vec<Vec<Placed>>, Vec<Mark>) {
    let mut pages = Pages { heads, height, filled: vec![Vec::new()], marks: Vec::new(), y: 0 };
    let mut chain = Vec::new();
    for strip in strips {
        let more = strip.keep;
        chain.push(strip);
        if !more {
            pages.chain(std::mem::take(&mut chain));
        }
    }
    pages.chain(chain);
    (pages.filled, pages.marks)
}

impl Pages<'_> {
    fn chain(&mut self, chain: Vec<Strip>) {
        let high: i64 = chain.iter().map(|strip| strip.height).sum();
        let head = chain
            .iter()
            .find(|strip| !strip.gap)
            .and_then(|strip| self.head(strip))
            .map_or(0, |head| head.height);
        if self.y > 0 && self.y + high > self.height && high + head <= self.height {
            self.turn(chain.iter().find(|strip| !strip.gap));
        }
        for strip in chain {
            if strip.gap && self.y == 0 {
                continue;
            }
            if self.y > 0 && self.y + strip.height > self.height {
                self.turn(Some(&strip));
            }
            self.place(strip);
        }
    }

    fn head(&self, strip: &Strip) -> Option<&Strip> {
        strip.table.and_then(|table| self.heads.get(table))
    }

    /// Begins a page; within a table with its head.
    fn turn(&mut self, next: Option<&Strip>) {
        let head = next.and_then(|strip| self.head(strip)).cloned();
        self.filled.push(Vec::new());
        self.y = 0;
        if let Some(head) = head {
            self.place(head);
        }
    }

    fn place(&mut self, strip: Strip) {
        let page = self.filled.len() - 1;
        if let Some(title) = strip.mark {
            self.marks.push(Mark { title, page, y: self.y });
        }
        let y = self.y;
        let placed = strip.items.into_iter().map(|item| Placed { y: item.y + y, ..item });
        if let Some(page) = self.filled.last_mut() {
            page.extend(placed);
        }
        self.y += strip.height;
    }
}
