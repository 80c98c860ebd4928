//! A text broken into lines that fit a width: at spaces and after hyphens, a word that is too long where it must.
//!
//! May import: the room's faces.

use super::face::{Glyph, Shaped, UNITS, Weight, shaped};

/// One line of a text, as it is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// What is written; where the text goes on in the next line, with the space between.
    pub shaped: Shaped,
    /// How wide it is without spaces at its end, in thousandths of a point.
    pub width: i64,
}

/// Breaks a text into lines of at most `width`, all in thousandths of a point. Line breaks in it are kept.
///
/// The lines together hold every letter of the text that can be seen.
#[must_use]
pub fn broken(text: &str, weight: Weight, size: i64, width: i64) -> Vec<Line> {
    let room = (width * UNITS / size).max(1);
    text.lines().flat_map(|line| wrapped(&shaped(line, weight), room, size)).collect()
}

/// A text on one line.
#[must_use]
pub fn single(text: &str, weight: Weight, size: i64) -> Line {
    let whole = shaped(text, weight);
    let all = 0..whole.glyphs.len();
    cut(&whole, all, size)
}

fn wrapped(whole: &Shaped, room: i64, size: i64) -> Vec<Line> {
    let glyphs = &whole.glyphs;
    let (mut lines, mut start, mut width, mut chance) = (Vec::new(), 0, 0, None);
    let mut place = 0;
    while place < glyphs.len() {
        let glyph = glyphs[place];
        if is_space(whole, glyph) {
            chance = Some(place + 1);
        } else if width + glyph.advance > room && place > start {
            let end = chance.unwrap_or_else(|| whole_letter(glyphs, start, place));
            lines.push(cut(whole, start..end, size));
            (start, width, chance, place) = (end, 0, None, end);
            continue;
        } else if breaks_after(whole, glyph) {
            chance = Some(place + 1);
        }
        width += glyph.advance;
        place += 1;
    }
    lines.push(cut(whole, start..glyphs.len(), size));
    lines
}

/// A letter and its marks are not parted, unless they alone are too wide.
fn whole_letter(glyphs: &[Glyph], start: usize, place: usize) -> usize {
    let begin = (start + 1..=place).rev().find(|at| glyphs[*at].text.0 != glyphs[*at - 1].text.0);
    begin.unwrap_or(place)
}

fn cut(whole: &Shaped, part: std::ops::Range<usize>, size: i64) -> Line {
    let glyphs = whole.glyphs.get(part).unwrap_or_default();
    let from = glyphs.first().map_or(0, |glyph| glyph.text.0);
    let to = glyphs.last().map_or(from, |glyph| glyph.text.1);
    let moved = |glyph: &Glyph| Glyph { text: (glyph.text.0 - from, glyph.text.1 - from), ..*glyph };
    let shaped = Shaped {
        text: whole.text.get(from..to).unwrap_or_default().to_owned(),
        glyphs: glyphs.iter().map(moved).collect(),
    };
    let seen = shaped.glyphs.iter().rposition(|glyph| !is_space(&shaped, *glyph)).map_or(0, |last| last + 1);
    let width: i64 = shaped.glyphs[..seen].iter().map(|glyph| glyph.advance).sum();
    Line { shaped, width: width * size / UNITS }
}

fn is_space(whole: &Shaped, glyph: Glyph) -> bool {
    whole.text.get(glyph.text.0..glyph.text.1) == Some(" ")
}

fn breaks_after(whole: &Shaped, glyph: Glyph) -> bool {
    let ends = whole
        .text
        .get(glyph.text.0..glyph.text.1)
        .is_some_and(|text| text.ends_with(['-', '–', '—', '/', '‐']));
    // Not before a figure or within a row of signs: "2026-05-14" stays whole.
    ends && whole
        .text
        .get(glyph.text.1..)
        .and_then(|rest| rest.chars().next())
        .is_some_and(char::is_alphabetic)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn texts(text: &str, width: i64) -> Vec<String> {
        broken(text, Weight::Regular, 10_000, width).into_iter().map(|line| line.shaped.text).collect()
    }

    #[test]
    fn a_text_is_broken_at_spaces_and_hyphens() {
        assert_eq!(texts("white roses in stone", 60_000), ["white roses ", "in stone"]);
        assert_eq!(texts("pearl-white\n\nrose", 400_000), ["pearl-white", "", "rose"]);
        assert_eq!(texts("pearl-white", 40_000), ["pearl-", "white"]);
        assert_eq!(texts("2026-05-14", 40_000).concat(), "2026-05-14");
        assert_eq!(texts("€1\u{a0}000", 400_000), ["€1\u{a0}000"]);
    }

    #[test]
    fn a_word_that_is_too_long_is_broken_anywhere() {
        let lines = texts(&"w".repeat(10_000), 100_000);
        assert!(lines.len() > 100);
        assert_eq!(lines.concat().len(), 10_000);
    }

    proptest! {
        #[test]
        fn nothing_is_lost_and_every_line_fits(text in "[a-zA-Zőß –/0-9-]{0,80}", width in 20_000_i64..300_000) {
            let lines = broken(&text, Weight::Bold, 10_000, width);
            let all: String = lines.iter().map(|line| line.shaped.text.as_str()).collect();
            prop_assert_eq!(all, text);
            for line in &lines {
                prop_assert!(line.width <= width);
            }
        }
    }
}
