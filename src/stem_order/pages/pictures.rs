//! The cutting list as a picture: one bar a pattern, drawn to scale. All geometry is in whole units of a 420 wide view.

use crate::ground::formats::Formats;
use crate::stem_order::order::{CutPattern, CuttingLine};

const LEFT: i64 = 64;
const WIDTH: i64 = 350;
const ROW: i64 = 34;
const BAR: i64 = 24;

/// More patterns than this are left to the table.
const MOST_ROWS: usize = 12;

/// One cut piece of a bar.
pub(super) struct Cut {
    pub(super) x: i64,
    pub(super) width: i64,
    /// 1 to 6: which tone.
    pub(super) tone: usize,
    /// Its length, where there is room for it.
    pub(super) label: String,
    pub(super) middle: i64,
}

/// One pattern.
pub(super) struct Bar {
    pub(super) y: i64,
    pub(super) text_y: i64,
    pub(super) times: String,
    pub(super) cuts: Vec<Cut>,
}

/// A cutting list drawn.
pub(super) struct Picture {
    pub(super) height: i64,
    pub(super) left: i64,
    pub(super) width: i64,
    pub(super) bar: i64,
    pub(super) bars: Vec<Bar>,
    pub(super) words: String,
}

/// Draws a cutting list.
pub(super) fn picture(line: &CuttingLine, formats: Formats) -> Picture {
    let mut lengths: Vec<i64> =
        line.patterns.iter().flat_map(|p| &p.pieces).map(|piece| piece.length.um()).collect();
    lengths.sort_unstable_by(|a, b| b.cmp(a));
    lengths.dedup();
    let bars: Vec<Bar> = line
        .patterns
        .iter()
        .take(MOST_ROWS)
        .zip(0_i64..)
        .map(|(pattern, row)| bar(pattern, row, line.usable_length.um(), &lengths, formats))
        .collect();
    let words: Vec<String> = line
        .patterns
        .iter()
        .take(MOST_ROWS)
        .map(|pattern| format!("{} times {}", pattern.times, pattern.words(&formats)))
        .collect();
    let height = i64::try_from(bars.len()).unwrap_or(0) * ROW + 4;
    Picture { height, left: LEFT, width: WIDTH, bar: BAR, bars, words: words.join("; ") }
}

fn bar(pattern: &CutPattern, row: i64, usable: i64, lengths: &[i64], formats: Formats) -> Bar {
    let scaled = |um: i64| um.saturating_mul(WIDTH) / usable.max(1);
    let (mut cuts, mut from) = (Vec::new(), 0_i64);
    for piece in &pattern.pieces {
        let um = piece.length.um();
        let tone = lengths.iter().position(|length| *length == um).unwrap_or(0) % 6 + 1;
        for _ in 0..piece.count.min(200) {
            let (x, end) = (LEFT + scaled(from), LEFT + scaled(from + um));
            let width = (end - x).max(1);
            let label = if width > 36 { formats.length_input(piece.length) } else { String::new() };
            cuts.push(Cut { x, width, tone, label, middle: x + width / 2 });
            from += um;
        }
    }
    let y = row * ROW + 4;
    Bar { y, text_y: y + 18, times: format!("{} ×", pattern.times), cuts }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ground::ids::MaterialId;
    use crate::ground::quantity::Length;
    use crate::stem_order::order::CutPiece;
    use crate::studio::Studio;

    #[test]
    fn bars_are_to_scale_and_stay_within_the_stem() {
        let inches = |length: i64| Length::from_um(length * 25_400);
        let pieces =
            vec![CutPiece { length: inches(10), count: 2 }, CutPiece { length: inches(7), count: 1 }];
        let line = CuttingLine {
            material: MaterialId(1),
            name: "Ruscus".into(),
            cut_from: "stem",
            usable_length: inches(27),
            stems: 20,
            proven: true,
            working: String::new(),
            patterns: vec![CutPattern { times: 20, pieces, waste: inches(0) }],
        };
        let picture = picture(&line, Studio::new_book().formats);
        let cuts = &picture.bars[0].cuts;
        assert_eq!(cuts.iter().map(|cut| cut.tone).collect::<Vec<_>>(), [1, 1, 2]);
        assert_eq!(cuts.last().map(|cut| cut.x + cut.width), Some(LEFT + WIDTH));
        assert_eq!(picture.words, "20 times 2 × 25.4\u{a0}cm, 1 × 17.78\u{a0}cm");
    }
}
