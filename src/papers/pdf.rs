//! A paper as a PDF: PDF 1.7 with tags for readers that read it aloud (PDF/UA-1), faces embedded and cut down to the
//! letters that are used, no clock and no chance in it, so that the same paper gives the same bytes.
//!
//! May import: the PDF library, the room's own layout.

use std::num::{NonZeroU16, NonZeroU32};

use krilla::Document;
use krilla::SerializeSettings;
use krilla::color::rgb;
use krilla::configure::{Accessibility, ConfigurationBuilder, PdfVersion};
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, Node, SpanTag, TableHeaderScope, Tag,
    TagGroup, TagKind, TagTree,
};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use thiserror::Error;

use super::layout::face::{BOLD, REGULAR, Shaped, UNITS, Weight};
use super::layout::{Branch, Drawn, Ink, Laid, Placed, Role, Twig, lay};
use super::sheet::{Image, Sheet};
use crate::studio::Paper;

/// Why there is no PDF: a fault of ours, since every text can be set.
#[derive(Debug, Error)]
#[error("the PDF cannot be written: {0}")]
pub struct NoPdf(String);

/// Writes a paper as a PDF.
///
/// # Errors
/// Where the library refuses what was laid out.
pub fn pdf(sheet: &Sheet, paper: Paper) -> Result<Vec<u8>, NoPdf> {
    let laid = lay(sheet, paper);
    let mut document = Document::new_with(settings()?);
    let fonts = Fonts::new().ok_or_else(|| NoPdf("the faces cannot be read".into()))?;
    let images = laid.images.iter().map(decoded).collect::<Result<Vec<_>, _>>()?;
    let mut writer = Writer { fonts, images, leaves: Vec::new() };
    for placed in &laid.pages {
        let size = Size::from_wh(points(laid.size.0), points(laid.size.1));
        let size = size.ok_or_else(|| NoPdf("a page without size".into()))?;
        let mut page = document.start_page_with(PageSettings::new(size));
        let mut surface = page.surface();
        writer.page(&mut surface, placed);
        surface.finish();
        page.finish();
    }
    let mut tree = TagTree::new();
    for twig in &laid.tree.twigs {
        writer.grow(twig, &mut tree.children);
    }
    document.set_tag_tree(tree);
    document.set_outline(outline(&laid));
    document.set_metadata(metadata(sheet));
    document.finish().map_err(|error| NoPdf(format!("{error:?}")))
}

fn settings() -> Result<SerializeSettings, NoPdf> {
    let configuration = ConfigurationBuilder::new()
        .with_version(PdfVersion::Pdf17)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|error| NoPdf(format!("{error:?}")))?;
    Ok(SerializeSettings { configuration, ..SerializeSettings::default() })
}

fn metadata(sheet: &Sheet) -> Metadata {
    let (year, month, day) = (sheet.dated.0.year(), sheet.dated.0.month(), sheet.dated.0.day());
    let mut dated = DateTime::new(u16::try_from(year).unwrap_or(0));
    if let (Ok(month), Ok(day)) = (u8::try_from(month), u8::try_from(day)) {
        dated = dated.month(month).day(day);
    }
    Metadata::new()
        .title(sheet.title.clone())
        .authors(vec![sheet.head.name.clone()])
        .creator("Trug".to_owned())
        .language("en".to_owned())
        .creation_date(dated)
}

fn outline(laid: &Laid) -> Outline {
    let mut outline = Outline::new();
    for mark in &laid.marks {
        let there = XyzDestination::new(mark.page, Point::from_xy(0.0, points(mark.y)));
        outline.push_child(OutlineNode::new(mark.title.clone(), there));
    }
    outline
}

fn decoded(image: &Image) -> Result<krilla::image::Image, NoPdf> {
    let bytes = image.bytes.clone().into();
    let read = if image.is_png() {
        krilla::image::Image::from_png(bytes, true)
    } else {
        krilla::image::Image::from_jpeg(bytes, true)
    };
    read.map_err(NoPdf)
}

struct Fonts {
    regular: Font,
    bold: Font,
}

impl Fonts {
    fn new() -> Option<Fonts> {
        Some(Fonts {
            regular: Font::new(REGULAR.to_vec().into(), 0)?,
            bold: Font::new(BOLD.to_vec().into(), 0)?,
        })
    }

    fn of(&self, weight: Weight) -> Font {
        match weight {
            Weight::Regular => self.regular.clone(),
            Weight::Bold => self.bold.clone(),
        }
    }
}

struct Writer {
    fonts: Fonts,
    images: Vec<krilla::image::Image>,
    /// Where each leaf of the tree was drawn.
    leaves: Vec<Vec<Identifier>>,
}

impl Writer {
    /// What belongs to one leaf and follows one another is marked as one.
    fn page(&mut self, surface: &mut Surface, placed: &[Placed]) {
        for same in placed.chunk_by(|one, other| one.leaf == other.leaf) {
            let leaf = same.first().and_then(|placed| placed.leaf);
            let picture = same.iter().any(|placed| matches!(placed.drawn, Drawn::Picture(..)));
            let tag = match leaf {
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::PaginationOther)),
                Some(_) if picture => ContentTag::Other,
                Some(_) => ContentTag::Span(SpanTag::empty()),
            };
            let identifier = surface.start_tagged(tag);
            for placed in same {
                self.draw(surface, placed);
            }
            surface.end_tagged();
            if let Some(leaf) = leaf {
                if self.leaves.len() <= leaf {
                    self.leaves.resize_with(leaf + 1, Vec::new);
                }
                self.leaves[leaf].push(identifier);
            }
        }
    }

    fn draw(&self, surface: &mut Surface, placed: &Placed) {
        let (x, y) = (points(placed.x), points(placed.y));
        match &placed.drawn {
            Drawn::Text(shaped, style) => {
                surface.set_fill(Some(fill(style.ink)));
                let glyphs = glyphs(shaped);
                let font = self.fonts.of(style.weight);
                surface.draw_glyphs(
                    Point::from_xy(x, y),
                    &glyphs,
                    font,
                    &shaped.text,
                    points(style.size),
                    false,
                );
            }
            Drawn::Rule(width, thickness, ink) => {
                let Some(bar) = Rect::from_xywh(x, y, points(*width), points(*thickness)) else { return };
                let mut path = PathBuilder::new();
                path.push_rect(bar);
                surface.set_fill(Some(fill(*ink)));
                if let Some(path) = path.finish() {
                    surface.draw_path(&path);
                }
            }
            Drawn::Picture(which, width, height) => {
                let size = Size::from_wh(points(*width), points(*height));
                let (Some(image), Some(size)) = (self.images.get(*which), size) else { return };
                surface.push_transform(&Transform::from_translate(x, y));
                surface.draw_image(image.clone(), size);
                surface.pop();
            }
        }
    }

    fn grow(&self, twig: &Twig, into: &mut Vec<Node>) {
        match twig {
            Twig::Leaf(leaf) => {
                let drawn = self.leaves.get(*leaf).into_iter().flatten();
                into.extend(drawn.map(|identifier| Node::Leaf(*identifier)));
            }
            Twig::Branch(branch) => {
                let mut group = TagGroup::new(kind(branch));
                for twig in &branch.twigs {
                    self.grow(twig, &mut group.children);
                }
                into.push(Node::Group(group));
            }
        }
    }
}

fn kind(branch: &Branch) -> TagKind {
    match &branch.role {
        Role::Section => Tag::Section.into(),
        // A heading without words is none to whoever listens to the paper.
        Role::Heading(_, words) if words.trim().is_empty() => Tag::P.into(),
        Role::Heading(rank, words) => {
            Tag::Hn(NonZeroU16::new(*rank).unwrap_or(NonZeroU16::MIN), Some(words.clone())).into()
        }
        Role::Paragraph => Tag::P.into(),
        Role::List => Tag::L(ListNumbering::None).into(),
        Role::Item => Tag::LI.into(),
        Role::Label => Tag::Lbl.into(),
        Role::Body => Tag::LBody.into(),
        Role::Figure(alt) => Tag::Figure(Some(alt.clone())).into(),
        Role::Table => Tag::Table.into(),
        Role::Caption => Tag::Caption.into(),
        Role::Head => Tag::THead.into(),
        Role::Rows => Tag::TBody.into(),
        Role::Foot => Tag::TFoot.into(),
        Role::Row => Tag::TR.into(),
        Role::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        Role::RowHead(over) => Tag::TH(TableHeaderScope::Row)
            .with_col_span(NonZeroU32::new(*over).filter(|over| over.get() > 1))
            .into(),
        Role::Cell => Tag::TD.into(),
    }
}

fn glyphs(shaped: &Shaped) -> Vec<KrillaGlyph> {
    let glyph = |glyph: &super::layout::face::Glyph| {
        KrillaGlyph::new(
            GlyphId::new(glyph.id),
            in_ems(glyph.advance),
            in_ems(glyph.offset.0),
            in_ems(glyph.offset.1),
            0.0,
            glyph.text.0..glyph.text.1,
            None,
        )
    };
    shaped.glyphs.iter().map(glyph).collect()
}

fn fill(ink: Ink) -> Fill {
    let colour = match ink {
        Ink::Full => rgb::Color::new(0x1d, 0x23, 0x27),
        Ink::Soft => rgb::Color::new(0x4d, 0x58, 0x5e),
        Ink::Pale => rgb::Color::new(0xcc, 0xd3, 0xd3),
    };
    Fill { paint: colour.into(), ..Fill::default() }
}

/// Thousandths of a point as the library's points.
#[expect(
    clippy::cast_precision_loss,
    clippy::float_arithmetic,
    reason = "the library takes points as floats"
)]
fn points(thousandths: i64) -> f32 {
    thousandths as f32 / 1_000.0
}

/// Font units as parts of the letters' body.
#[expect(
    clippy::cast_precision_loss,
    clippy::float_arithmetic,
    reason = "the library takes advances as floats"
)]
fn in_ems(units: i64) -> f32 {
    units as f32 / UNITS as f32
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::papers::sheet::{Cell, Fact, Group, Head, Part, Row, Section, Sum, Table};

    fn sheet(name: &str, words: &str, rows: usize) -> Sheet {
        let row = |place: usize| Row {
            name: format!("{name} {place}"),
            notes: vec![words.to_owned()],
            picture: None,
            cells: vec![Cell::figure("1"), Cell::words(name), Cell::figure("€1,204.00")],
        };
        let table = Table {
            caption: name.to_owned(),
            heads: ["What", "Count", "Each", "Price"].map(str::to_owned).to_vec(),
            groups: vec![Group { heading: name.to_owned(), rows: (0..rows).map(row).collect() }],
            sums: vec![Sum::total("Total", "€1,204.00".into())],
            ..Table::default()
        };
        let parts = vec![
            Part::Paragraph(words.to_owned()),
            Part::List(vec![name.to_owned()]),
            Part::Facts(vec![Fact::new(name, [words.to_owned()])]),
            Part::Table(table),
            Part::Sign(vec!["Name".into(), "Date".into()]),
        ];
        Sheet {
            title: format!("Quote 2, {name}"),
            dated: "2026-05-04".parse().unwrap(),
            head: Head {
                name: name.to_owned(),
                heading: "Quote".into(),
                from: vec![words.to_owned()],
                logo: None,
            },
            facts: vec![Fact::new("For", [name.to_owned()])],
            sections: vec![Section { heading: name.to_owned(), parts }],
        }
    }

    #[test]
    fn the_same_paper_gives_the_same_bytes() {
        let paper = sheet("Łucja Nguyễn", "White roses 🌸 in stone", 3);
        let once = pdf(&paper, Paper::A4).unwrap();
        assert!(once.starts_with(b"%PDF-1.7"));
        assert_eq!(once, pdf(&paper, Paper::A4).unwrap());
        assert_ne!(once, pdf(&paper, Paper::Letter).unwrap());
    }

    #[test]
    fn the_longest_texts_and_tables_are_set() {
        let long = sheet(&"w".repeat(200), &"o\u{301} ".repeat(5_000), 2);
        assert!(pdf(&long, Paper::Letter).is_ok());
        assert!(pdf(&sheet("Low bowl", "White roses", 200), Paper::A4).is_ok());
        assert!(pdf(&sheet("", "", 0), Paper::A4).is_ok());
    }

    #[test]
    fn a_picture_that_cannot_be_read_is_left_out() {
        let mut paper = sheet("Low bowl", "", 1);
        paper.head.logo =
            Some(Image { address: String::new(), alt: "Sign".into(), bytes: b"no picture".to_vec() });
        assert!(pdf(&paper, Paper::A4).is_ok());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]
        #[test]
        fn any_text_can_be_set(name in "\\PC{0,24}", words in "(.|\n){0,120}", rows in 0_usize..4) {
            let made = pdf(&sheet(&name, &words, rows), Paper::A4);
            prop_assert!(made.is_ok(), "{:?}", made.err());
        }
    }
}
