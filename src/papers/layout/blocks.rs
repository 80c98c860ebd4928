//! Head, facts, words and lines to sign, as strips.
//!
//! May import: the room's own layout and sheet.

use super::strips::{BODY, Column, HEADING, LABEL, NAME, SECTION, SMALL, Setter, Strip, hairline};
use super::{Branch, Ink, POINT, Role, Twig};
use crate::papers::sheet::{Fact, Head, Part, Section, Sheet};

/// Between columns.
const GUTTER: i64 = 16 * POINT;
/// How large the studio's sign may be.
const LOGO: (i64, i64) = (190 * POINT, 46 * POINT);

impl Setter {
    pub(super) fn sheet(&mut self, sheet: &Sheet) -> Branch {
        let mut twigs = self.head(&sheet.head);
        if !sheet.facts.is_empty() {
            self.gap(14);
            twigs.push(self.facts(&sheet.facts));
        }
        for section in &sheet.sections {
            twigs.push(self.section(section));
        }
        self.let_go();
        Branch::new(Role::Section, twigs)
    }

    fn head(&mut self, head: &Head) -> Vec<Twig> {
        let mut twigs = Vec::new();
        let left = self.body.0 * 58 / 100;
        let mut name = Column::new(0, left, false);
        let mut from = Column::new(left + GUTTER, self.body.0 - left - GUTTER, true);
        if let Some((logo, picture)) =
            head.logo.as_ref().and_then(|logo| Some((logo, self.picture(logo, LOGO)?)))
        {
            let mut sign = Column::new(0, left, false);
            sign.picture = Some(picture);
            let first = self.band(&[sign], (0, 10 * POINT), self.body.1);
            self.keep(first);
            twigs.push(Branch::leaf(Role::Figure(logo.alt.clone()), picture.2));
        }
        let (title, heading, address) = (self.leaf(), self.leaf(), self.leaf());
        name.write(&head.name, NAME, title);
        name.write(&head.heading, HEADING, heading);
        for line in &head.from {
            from.write(line, SMALL, address);
        }
        let first = self.band(&[name, from], (0, 8 * POINT), self.body.1);
        if let Some(strip) = self.strips.get_mut(first) {
            strip.mark = Some(head.heading.clone());
        }
        self.let_go();
        self.rule(Ink::Full);
        twigs.push(Branch::leaf(Role::Heading(1, head.name.clone()), title));
        twigs.push(Branch::leaf(Role::Paragraph, heading));
        if !head.from.is_empty() {
            twigs.push(Branch::leaf(Role::Paragraph, address));
        }
        twigs
    }

    /// Three abreast.
    fn facts(&mut self, facts: &[Fact]) -> Twig {
        let width = (self.body.0 - 2 * GUTTER) / 3;
        let mut items = Vec::new();
        for three in facts.chunks(3) {
            let mut columns = Vec::new();
            for (place, fact) in (0_i64..).zip(three) {
                let (label, body) = (self.leaf(), self.leaf());
                let mut column = Column::new(place * (width + GUTTER), width, false);
                column.write(&fact.label, LABEL, label);
                for line in &fact.lines {
                    column.write(line, BODY, body);
                }
                columns.push(column);
                let mut twigs = vec![Branch::leaf(Role::Label, label)];
                if !fact.lines.is_empty() {
                    twigs.push(Branch::leaf(Role::Body, body));
                }
                items.push(Twig::Branch(Branch::new(Role::Item, twigs)));
            }
            self.band(&columns, (0, 8 * POINT), self.body.1);
        }
        Twig::Branch(Branch::new(Role::List, items))
    }

    fn section(&mut self, section: &Section) -> Twig {
        let first = self.strips.len();
        let mut twigs = Vec::new();
        self.gap(if section.heading.is_empty() { 10 } else { 18 });
        if !section.heading.is_empty() {
            twigs.push(self.heading(&section.heading));
        }
        for part in &section.parts {
            twigs.push(self.part(part));
        }
        let high: i64 = self.strips.iter().skip(first).map(|strip| strip.height).sum();
        if high < self.body.1 / 3 {
            self.keep(first);
        }
        self.let_go();
        Twig::Branch(Branch::new(Role::Section, twigs))
    }

    pub(super) fn heading(&mut self, words: &str) -> Twig {
        let leaf = self.leaf();
        let mut column = Column::new(0, self.body.0, false);
        column.write(words, SECTION, leaf);
        let first = self.band(&[column], (0, 4 * POINT), self.body.1);
        self.keep(first);
        if let Some(strip) = self.strips.get_mut(first) {
            strip.mark = Some(words.to_owned());
        }
        Branch::leaf(Role::Heading(2, words.to_owned()), leaf)
    }

    fn part(&mut self, part: &Part) -> Twig {
        match part {
            Part::Paragraph(words) => self.paragraph(words),
            Part::List(lines) => self.list(lines),
            Part::Facts(facts) => self.facts(facts),
            Part::Table(table) => self.table(table),
            Part::Sign(labels) => self.sign(labels),
        }
    }

    /// A strip a line; the first two and the last two stay together.
    fn paragraph(&mut self, words: &str) -> Twig {
        let leaf = self.leaf();
        self.text(words, 0, leaf);
        self.space();
        Branch::leaf(Role::Paragraph, leaf)
    }

    fn list(&mut self, lines: &[String]) -> Twig {
        let mut items = Vec::new();
        for line in lines {
            let leaf = self.leaf();
            self.text(&format!("– {line}"), 0, leaf);
            let body = Branch::leaf(Role::Body, leaf);
            items.push(Twig::Branch(Branch::new(Role::Item, vec![body])));
        }
        self.space();
        Twig::Branch(Branch::new(Role::List, items))
    }

    fn text(&mut self, words: &str, x: i64, leaf: usize) {
        let mut column = Column::new(x, self.body.0 - x, false);
        column.write(words, BODY, leaf);
        let all = column.lines.len();
        for (place, line) in column.lines.into_iter().enumerate() {
            let one = Column { lines: vec![line], ..Column::new(x, self.body.0 - x, false) };
            let first = self.band(&[one], (0, 0), self.body.1);
            if all > 1 && (place == 0 || place + 2 == all) {
                self.keep(first);
            }
        }
    }

    /// Between paragraphs; belongs to the one above.
    fn space(&mut self) {
        if let Some(last) = self.strips.last_mut() {
            last.height += 6 * POINT;
        }
    }

    fn sign(&mut self, labels: &[String]) -> Twig {
        let width = (self.body.0 - 2 * GUTTER) / 2;
        let mut strip = Strip { height: 56 * POINT, ..Strip::default() };
        let mut twigs = Vec::new();
        for (place, label) in (0_i64..).zip(labels) {
            let leaf = self.leaf();
            let x = place * (width + 2 * GUTTER);
            let mut column = Column::new(x, width, false);
            column.write(label, LABEL, leaf);
            let line = hairline(40 * POINT, width, Ink::Full);
            strip.items.push(super::Placed { x, ..line });
            strip.items.extend(column.placed(42 * POINT));
            twigs.push(Branch::leaf(Role::Paragraph, leaf));
        }
        self.strips.push(strip);
        Twig::Branch(Branch::new(Role::Section, twigs))
    }
}
