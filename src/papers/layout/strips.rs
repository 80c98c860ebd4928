//! A paper cut into strips: bands across the page that are never broken, each with what is to stand in it.
//!
//! May import: the room's own layout.

use std::io::Cursor;

use super::face::Weight;
use super::lines::{Line, broken};
use super::{Drawn, Ink, POINT, Placed, Style};
use crate::papers::sheet::Image;

const fn style(size: i64, leading: i64, weight: Weight, ink: Ink) -> Style {
    Style { size, leading, weight, ink }
}

/// The studio's name.
pub(super) const NAME: Style = style(20_000, 25_000, Weight::Regular, Ink::Full);
/// What the paper is.
pub(super) const HEADING: Style = style(11_000, 15_000, Weight::Regular, Ink::Full);
/// A section's heading.
pub(super) const SECTION: Style = style(12_500, 17_000, Weight::Regular, Ink::Full);
/// For reading.
pub(super) const BODY: Style = style(10_000, 14_500, Weight::Regular, Ink::Full);
/// A row's name.
pub(super) const ROW: Style = style(10_000, 14_000, Weight::Regular, Ink::Full);
/// What stands beneath or beside.
pub(super) const SMALL: Style = style(9_000, 12_500, Weight::Regular, Ink::Soft);
/// Over a column, over a fact, at a page's foot.
pub(super) const LABEL: Style = style(8_500, 12_000, Weight::Regular, Ink::Soft);
/// Over rows that belong together.
pub(super) const GROUP: Style = style(10_000, 14_000, Weight::Bold, Ink::Full);
/// The sum that counts.
pub(super) const TOTAL: Style = style(12_000, 17_000, Weight::Bold, Ink::Full);

/// A band across the page.
#[derive(Debug, Clone, Default)]
pub(super) struct Strip {
    /// How high it is.
    pub height: i64,
    /// What stands in it, from its upper left corner.
    pub items: Vec<Placed>,
    /// Whether it stays with the strip after it.
    pub keep: bool,
    /// Whether it is only space, which falls away at the top of a page.
    pub gap: bool,
    /// The head that is repeated where this strip begins a page.
    pub table: Option<usize>,
    /// The heading it is.
    pub mark: Option<String>,
}

/// Lines and perhaps a picture, one under another, in a column.
#[derive(Debug, Default)]
pub(super) struct Column {
    pub x: i64,
    pub width: i64,
    /// Whether lines end at its right edge.
    pub right: bool,
    pub lines: Vec<(Line, Style, usize)>,
    /// Which picture, its width and height, its leaf; it stands at the top left.
    pub picture: Option<(usize, (i64, i64), usize)>,
    /// How far lines stand off the column's left edge.
    pub indent: i64,
}

/// Sets a paper into strips.
#[derive(Debug)]
pub(super) struct Setter {
    /// Width and height in which strips stand.
    pub body: (i64, i64),
    pub strips: Vec<Strip>,
    /// Heads of tables, repeated.
    pub heads: Vec<Strip>,
    pub images: Vec<Image>,
    leaves: usize,
}

impl Setter {
    pub(super) fn new(body: (i64, i64)) -> Setter {
        Setter { body, strips: Vec::new(), heads: Vec::new(), images: Vec::new(), leaves: 0 }
    }

    pub(super) fn leaf(&mut self) -> usize {
        self.leaves += 1;
        self.leaves - 1
    }

    pub(super) fn gap(&mut self, points: i64) {
        self.strips.push(Strip { height: points * POINT, gap: true, keep: true, ..Strip::default() });
    }

    pub(super) fn rule(&mut self, ink: Ink) {
        let items = vec![hairline(0, self.body.0, ink)];
        self.strips.push(Strip { height: POINT, items, keep: true, ..Strip::default() });
    }

    /// Takes a picture in, as large as it may be within a frame; none that cannot be read.
    pub(super) fn picture(&mut self, image: &Image, frame: (i64, i64)) -> Option<(usize, (i64, i64), usize)> {
        let reader = image::ImageReader::new(Cursor::new(image.bytes.as_slice()));
        let (width, height) = reader.with_guessed_format().ok()?.into_dimensions().ok()?;
        let (width, height) = (i64::from(width.max(1)), i64::from(height.max(1)));
        let size = if frame.0 * height <= frame.1 * width {
            (frame.0, frame.0 * height / width)
        } else {
            (frame.1 * width / height, frame.1)
        };
        self.images.push(image.clone());
        let leaf = self.leaf();
        Some((self.images.len() - 1, (size.0.max(POINT), size.1.max(POINT)), leaf))
    }

    /// Puts columns side by side: one strip, or, where that would be higher than `limit`, one a line.
    pub(super) fn band(&mut self, columns: &[Column], (above, below): (i64, i64), limit: i64) -> usize {
        let first = self.strips.len();
        let high = columns.iter().map(Column::height).max().unwrap_or(0);
        if above + high + below <= limit {
            let items = columns.iter().flat_map(|column| column.placed(above)).collect();
            self.strips.push(Strip { height: above + high + below, items, ..Strip::default() });
            return first;
        }
        for column in columns.iter().filter(|column| column.picture.is_some()) {
            let (height, items) =
                (column.picture_height() + above, column.picture_placed(above).into_iter().collect());
            self.strips.push(Strip { height, items, ..Strip::default() });
        }
        self.strips.push(Strip { height: above, gap: true, ..Strip::default() });
        let most = columns.iter().map(|column| column.lines.len()).max().unwrap_or(0);
        for place in 0..most {
            let items = columns.iter().filter_map(|column| column.line(place, 0)).collect();
            let leading = columns
                .iter()
                .filter_map(|column| column.lines.get(place))
                .map(|(_, style, _)| style.leading);
            self.strips.push(Strip { height: leading.max().unwrap_or(0), items, ..Strip::default() });
        }
        if let Some(last) = self.strips.last_mut() {
            last.height += below;
        }
        first
    }

    /// Keeps strips together, and with what comes after.
    pub(super) fn keep(&mut self, from: usize) {
        for strip in self.strips.iter_mut().skip(from) {
            strip.keep = true;
        }
    }

    /// Lets the next strip stand on another page.
    pub(super) fn let_go(&mut self) {
        if let Some(strip) = self.strips.last_mut() {
            strip.keep = false;
        }
    }
}

pub(super) fn hairline(y: i64, width: i64, ink: Ink) -> Placed {
    Placed { x: 0, y, drawn: Drawn::Rule(width, 600, ink), leaf: None }
}

impl Column {
    pub(super) fn new(x: i64, width: i64, right: bool) -> Column {
        Column { x, width, right, ..Column::default() }
    }

    /// Writes a text under what stands there.
    pub(super) fn write(&mut self, text: &str, style: Style, leaf: usize) {
        let lines = broken(text, style.weight, style.size, self.width - self.indent);
        self.lines.extend(lines.into_iter().map(|line| (line, style, leaf)));
    }

    fn height(&self) -> i64 {
        let lines: i64 = self.lines.iter().map(|(_, style, _)| style.leading).sum();
        lines.max(self.picture_height())
    }

    fn picture_height(&self) -> i64 {
        self.picture.map_or(0, |(_, (_, height), _)| height)
    }

    fn picture_placed(&self, y: i64) -> Option<Placed> {
        let (picture, (width, height), leaf) = self.picture?;
        Some(Placed { x: self.x, y, drawn: Drawn::Picture(picture, width, height), leaf: Some(leaf) })
    }

    pub(super) fn placed(&self, above: i64) -> Vec<Placed> {
        let mut items: Vec<Placed> = self.picture_placed(above).into_iter().collect();
        let mut y = above;
        for (place, (_, style, _)) in self.lines.iter().enumerate() {
            items.extend(self.line(place, y));
            y += style.leading;
        }
        items
    }

    fn line(&self, place: usize, y: i64) -> Option<Placed> {
        let (line, style, leaf) = self.lines.get(place)?;
        let x = if self.right { self.x + self.width - line.width } else { self.x + self.indent };
        // Capitals, seven tenths of the body high, stand in the middle of the line.
        let y = y + i64::midpoint(style.leading, style.size * 7 / 10);
        Some(Placed { x, y, drawn: Drawn::Text(line.shaped.clone(), *style), leaf: Some(*leaf) })
    }
}
