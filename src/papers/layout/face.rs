//! The two faces a PDF is set in, and a text as glyphs of one of them.
//!
//! May import: the shaping library.

use std::ops::RangeInclusive;
use std::sync::LazyLock;

use harfrust::{BufferClusterLevel, Direction, FontRef, ShapeOptions, ShaperData, UnicodeBuffer};

/// Literata, regular; made by `fonts/remake.py`.
pub const REGULAR: &[u8] = include_bytes!("../fonts/literata-regular.ttf");
/// Literata, bold.
pub const BOLD: &[u8] = include_bytes!("../fonts/literata-bold.ttf");

/// Font units in the height of a letter's body.
pub const UNITS: i64 = 1_000;

/// How heavy letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weight {
    /// For reading.
    Regular,
    /// For what counts.
    Bold,
}

/// A glyph in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Glyph {
    /// Its number in the face.
    pub id: u32,
    /// How far it moves the pen, in font units.
    pub advance: i64,
    /// How far it stands off the pen.
    pub offset: (i64, i64),
    /// Which bytes of the text it stands for.
    pub text: (usize, usize),
}

/// A text with its glyphs, which stand in the order of the text.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Shaped {
    /// What is written.
    pub text: String,
    /// How.
    pub glyphs: Vec<Glyph>,
}

struct Face {
    font: FontRef<'static>,
    data: ShaperData,
}

static FACES: LazyLock<Option<[Face; 2]>> = LazyLock::new(|| Some([face(REGULAR)?, face(BOLD)?]));

fn face(file: &'static [u8]) -> Option<Face> {
    let font = FontRef::new(file).ok()?;
    Some(Face { data: ShaperData::new(&font), font })
}

/// Sets one line of text. What the face lacks becomes a box that still stands for the letter, so that it is seen, and
/// found by whoever searches or copies the text. Signs that are never seen are left out.
#[must_use]
pub fn shaped(text: &str, weight: Weight) -> Shaped {
    let text: String = text.chars().filter_map(seen).collect();
    let Some(faces) = FACES.as_ref() else { return Shaped::default() };
    let face = match weight {
        Weight::Regular => &faces[0],
        Weight::Bold => &faces[1],
    };
    let mut glyphs = set(face, &text);
    if glyphs.iter().any(|glyph| glyph.id == 0) {
        let boxed = set(face, "\u{fffd}");
        for glyph in glyphs.iter_mut().filter(|glyph| glyph.id == 0) {
            let Some(stand_in) = boxed.first() else { continue };
            *glyph = Glyph { text: glyph.text, ..*stand_in };
        }
    }
    Shaped { text, glyphs }
}

/// Letters of a text that the faces lack, each once.
#[must_use]
pub fn lacking(text: &str) -> Vec<char> {
    let mut lacking = Vec::new();
    let Some(faces) = FACES.as_ref() else { return lacking };
    for letter in text.chars().filter_map(seen).filter(|letter| !letter.is_ascii()) {
        if !lacking.contains(&letter) && set(&faces[0], &letter.to_string()).iter().any(|glyph| glyph.id == 0)
        {
            lacking.push(letter);
        }
    }
    lacking
}

fn set(face: &Face, text: &str) -> Vec<Glyph> {
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    buffer.set_direction(Direction::LeftToRight);
    buffer.set_cluster_level(BufferClusterLevel::MonotoneGraphemes);
    let shaper = face.data.shaper(&face.font).build();
    let set = shaper.shape(buffer, ShapeOptions::new());
    let starts: Vec<usize> =
        set.glyph_infos().iter().map(|info| usize::try_from(info.cluster).unwrap_or(0)).collect();
    let mut glyphs = Vec::with_capacity(starts.len());
    for (place, (info, position)) in set.glyph_infos().iter().zip(set.glyph_positions()).enumerate() {
        let start = starts[place];
        let end = starts[place..].iter().copied().find(|next| *next > start).unwrap_or(text.len());
        glyphs.push(Glyph {
            id: info.glyph_id,
            advance: position.x_advance.into(),
            offset: (position.x_offset.into(), position.y_offset.into()),
            text: (start, end),
        });
    }
    glyphs
}

/// Spaces of every width are written as one of two; what is never seen is left out.
fn seen(letter: char) -> Option<char> {
    match letter {
        '\t'
        | '\n'
        | '\r'
        | '\u{b}'
        | '\u{c}'
        | '\u{85}'
        | '\u{2028}'
        | '\u{2029}'
        | '\u{1680}'
        | '\u{2000}'..='\u{2006}'
        | '\u{2008}'..='\u{200a}'
        | '\u{205f}'
        | '\u{3000}' => Some(' '),
        '\u{2007}' | '\u{202f}' => Some('\u{a0}'),
        '\u{2011}' => Some('\u{2010}'),
        letter if letter.is_control() || UNSEEN.iter().any(|unseen| unseen.contains(&letter)) => None,
        letter => Some(letter),
    }
}

/// What Unicode calls default ignorable (`DerivedCoreProperties.txt`), and what is no letter.
const UNSEEN: [RangeInclusive<char>; 18] = [
    '\u{ad}'..='\u{ad}',
    '\u{34f}'..='\u{34f}',
    '\u{61c}'..='\u{61c}',
    '\u{115f}'..='\u{1160}',
    '\u{17b4}'..='\u{17b5}',
    '\u{180b}'..='\u{180f}',
    '\u{200b}'..='\u{200f}',
    '\u{202a}'..='\u{202e}',
    '\u{2060}'..='\u{206f}',
    '\u{3164}'..='\u{3164}',
    '\u{fe00}'..='\u{fe0f}',
    '\u{feff}'..='\u{feff}',
    '\u{ffa0}'..='\u{ffa0}',
    '\u{fff0}'..='\u{fffb}',
    '\u{fffe}'..='\u{ffff}',
    '\u{1bca0}'..='\u{1bca3}',
    '\u{1d173}'..='\u{1d17a}',
    '\u{e0000}'..='\u{e0fff}',
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_latin_letter_has_its_glyph() {
        let names =
            "Łucja Nowák-Sørensen, Őrs, Groß, İpek, Þóra, Nguyễn Thị Hồng, Ħal, D’Arcy – €12.50 × 3 ½ “so” …";
        assert_eq!(lacking(names), Vec::<char>::new());
        assert_eq!(lacking("Ελένη, Наталия"), Vec::<char>::new());
        for weight in [Weight::Regular, Weight::Bold] {
            assert!(shaped(names, weight).glyphs.iter().all(|glyph| glyph.id != 0));
        }
    }

    #[test]
    fn what_the_face_lacks_is_a_box_that_stands_for_it() {
        let flower = shaped("a🌸b", Weight::Regular);
        let boxed = shaped("\u{fffd}", Weight::Regular).glyphs[0];
        assert_eq!(flower.text, "a🌸b");
        assert_eq!(flower.glyphs[1], Glyph { text: (1, 5), ..boxed });
        assert!(boxed.advance > 0);
        assert_eq!(lacking("春 a 春🌸"), ['春', '🌸']);
    }

    #[test]
    fn digits_are_of_one_width() {
        for weight in [Weight::Regular, Weight::Bold] {
            let digits = shaped("0123456789", weight).glyphs;
            assert!(digits.iter().all(|digit| digit.advance == digits[0].advance));
        }
    }

    #[test]
    fn what_is_never_seen_is_left_out() {
        assert_eq!(shaped("a\u{200b}\u{0}\u{feff}b\tc", Weight::Regular).text, "ab c");
    }

    #[test]
    fn letters_with_marks_of_their_own_are_one_with_them() {
        let apart = shaped("o\u{301}", Weight::Regular);
        assert_eq!(apart.glyphs.len(), 1);
        assert_eq!(apart.glyphs[0].text, (0, 3));
    }
}
