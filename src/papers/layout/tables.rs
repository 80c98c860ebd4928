//! Tables as strips: columns as wide as their figures, the names in what is left.
//!
//! May import: the room's own layout and sheet.

use super::lines::single;
use super::strips::{BODY, Column, GROUP, LABEL, ROW, SMALL, Setter, Strip, TOTAL, hairline};
use super::{Branch, Drawn, Ink, POINT, Placed, Role, Style, Twig};
use crate::papers::sheet::{Cell, Group, Row, Sum, Table};

/// Free to the left of a further column.
const APART: i64 = 16 * POINT;
/// The narrowest further column.
const NARROWEST: i64 = 46 * POINT;
/// How large a piece's picture may be, and how far the words stand off it.
const PICTURE: (i64, i64) = (58 * POINT, 58 * POINT);
const BESIDE_PICTURE: i64 = 68 * POINT;

/// Where the columns of a table stand.
struct Columns {
    /// How wide the first is.
    first: i64,
    /// Beginning, width, and whether it holds figures, of each further one.
    further: Vec<(i64, i64, bool)>,
}

impl Setter {
    pub(super) fn table(&mut self, table: &Table) -> Twig {
        let columns = columns(table, self.body.0);
        let mut twigs = Vec::new();
        if !table.caption.is_empty() && !table.unseen_caption {
            twigs.push(self.caption(&table.caption));
        }
        let (head, twig) = self.table_head(table, &columns);
        twigs.push(twig);
        for group in &table.groups {
            twigs.push(self.group(group, &columns, head));
        }
        if !table.sums.is_empty() {
            twigs.push(self.sums(table, &columns, head));
        }
        self.let_go();
        Twig::Branch(Branch::new(Role::Table, twigs))
    }

    fn caption(&mut self, words: &str) -> Twig {
        let Twig::Branch(heading) = self.heading(words) else { return Twig::Leaf(self.leaf()) };
        Twig::Branch(Branch { role: Role::Caption, ..heading })
    }

    fn table_head(&mut self, table: &Table, columns: &Columns) -> (usize, Twig) {
        let mut cells = Vec::new();
        let mut set = Vec::new();
        for (place, words) in table.heads.iter().enumerate() {
            let leaf = self.leaf();
            let mut column = columns.at(place);
            column.write(words, LABEL, leaf);
            set.push(column);
            cells.push(Branch::leaf(Role::ColumnHead, leaf));
        }
        let first = self.band(&set, (4 * POINT, 5 * POINT), self.body.1);
        self.keep(first);
        let width = self.body.0;
        if let Some(strip) = self.strips.last_mut() {
            strip.items.push(hairline(strip.height - 600, width, Ink::Full));
            let items = strip.items.iter().map(|item| Placed { leaf: None, ..item.clone() }).collect();
            self.heads.push(Strip { height: strip.height, items, ..Strip::default() });
        }
        let row = Branch::new(Role::Row, cells);
        (self.heads.len().saturating_sub(1), Twig::Branch(Branch::new(Role::Head, vec![Twig::Branch(row)])))
    }

    fn group(&mut self, group: &Group, columns: &Columns, head: usize) -> Twig {
        let first = self.strips.len();
        let mut rows = Vec::new();
        if !group.heading.is_empty() {
            let leaf = self.leaf();
            let mut column = Column::new(0, self.body.0, false);
            column.write(&group.heading, GROUP, leaf);
            let at = self.band(&[column], (11 * POINT, 2 * POINT), self.highest(head));
            self.keep(at);
            let over = Role::RowHead(columns.count());
            rows.push(Twig::Branch(Branch::new(Role::Row, vec![Branch::leaf(over, leaf)])));
        }
        for row in &group.rows {
            rows.push(self.row(row, columns, head));
        }
        self.under(head, first);
        Twig::Branch(Branch::new(Role::Rows, rows))
    }

    fn row(&mut self, row: &Row, columns: &Columns, head: usize) -> Twig {
        let (mut names, mut cells) = (Vec::new(), Vec::new());
        let mut column = columns.at(0);
        if let Some((image, picture)) =
            row.picture.as_ref().and_then(|image| Some((image, self.picture(image, PICTURE)?)))
        {
            column.picture = Some(picture);
            column.indent = BESIDE_PICTURE.min(column.width / 2);
            names.push(Branch::leaf(Role::Figure(image.alt.clone()), picture.2));
        }
        let name = self.leaf();
        column.write(&row.name, ROW, name);
        names.push(Branch::leaf(Role::Paragraph, name));
        for note in &row.notes {
            let leaf = self.leaf();
            column.write(note, SMALL, leaf);
            names.push(Branch::leaf(Role::Paragraph, leaf));
        }
        let mut set = vec![column];
        for (place, cell) in row.cells.iter().enumerate() {
            let leaf = self.leaf();
            let mut column = columns.at(place + 1);
            column.write(&cell.text, style_of(cell), leaf);
            set.push(column);
            cells.push(Branch::leaf(Role::Cell, leaf));
        }
        self.band(&set, (5 * POINT, 6 * POINT), self.highest(head));
        let width = self.body.0;
        if let Some(last) = self.strips.last_mut() {
            last.items.push(hairline(last.height - 600, width, Ink::Pale));
        }
        let head = Twig::Branch(Branch::new(Role::RowHead(1), names));
        Twig::Branch(Branch::new(Role::Row, [vec![head], cells].concat()))
    }

    /// The sums stay together and with the last row.
    fn sums(&mut self, table: &Table, columns: &Columns, head: usize) -> Twig {
        self.keep(self.strips.len().saturating_sub(1));
        let first = self.strips.len();
        let mut rows = Vec::new();
        self.strips.push(Strip { height: 4 * POINT, keep: true, ..Strip::default() });
        for sum in &table.sums {
            rows.push(self.sum(sum, columns, head));
        }
        self.keep(first);
        self.under(head, first);
        Twig::Branch(Branch::new(Role::Foot, rows))
    }

    fn sum(&mut self, sum: &Sum, columns: &Columns, head: usize) -> Twig {
        let style = sum_style(sum);
        let figures: Vec<&String> = sum.beside.iter().chain([&sum.amount]).collect();
        let (x, span) = columns.before_last(figures.len());
        let label = self.leaf();
        let mut words = Column::new(0, x - APART, true);
        words.write(&sum.label, style, label);
        let (mut set, mut cells) = (vec![words], vec![Branch::leaf(Role::RowHead(span), label)]);
        for (place, figure) in figures.into_iter().enumerate() {
            let leaf = self.leaf();
            let mut column = columns.at_end(figures_left(sum, place));
            column.write(figure, style, leaf);
            set.push(column);
            cells.push(Branch::leaf(Role::Cell, leaf));
        }
        let (above, below) = if sum.total { (8 * POINT, 9 * POINT) } else { (POINT, POINT) };
        let first = self.band(&set, (above, below), self.highest(head));
        if sum.total {
            self.total_rules(first, x / 2);
        }
        Twig::Branch(Branch::new(Role::Row, cells))
    }

    /// One rule above, two beneath.
    fn total_rules(&mut self, first: usize, x: i64) {
        let width = self.body.0 - x;
        let at = |y| Placed { x, y, drawn: Drawn::Rule(width, 600, Ink::Full), leaf: None };
        if let Some(strip) = self.strips.get_mut(first) {
            strip.items.push(at(4 * POINT));
        }
        if let Some(strip) = self.strips.last_mut() {
            strip.items.extend([at(strip.height - 6_200), at(strip.height - 4_200)]);
        }
    }

    /// Rows longer than this are broken.
    fn highest(&self, head: usize) -> i64 {
        self.body.1 - self.heads.get(head).map_or(0, |head| head.height) - 20 * POINT
    }

    fn under(&mut self, head: usize, first: usize) {
        for strip in self.strips.iter_mut().skip(first) {
            strip.table = Some(head);
        }
    }
}

impl Columns {
    fn at(&self, place: usize) -> Column {
        match place.checked_sub(1).and_then(|place| self.further.get(place)) {
            Some((x, width, figures)) => Column::new(*x, *width, *figures),
            None => Column::new(0, self.first, false),
        }
    }

    /// Where the last columns begin, so many of them, and over how many columns what stands before them does.
    fn before_last(&self, count: usize) -> (i64, u32) {
        let before = self.further.len().saturating_sub(count);
        let x = self.further.get(before).map_or(self.first, |(x, _, _)| *x);
        (x, u32::try_from(before + 1).unwrap_or(1))
    }

    /// A column by how many follow it, for figures.
    fn at_end(&self, following: usize) -> Column {
        let place = self.further.len().checked_sub(following + 1);
        let (x, width, _) = place
            .and_then(|place| self.further.get(place))
            .copied()
            .unwrap_or((self.first, self.first, true));
        Column::new(x, width, true)
    }

    fn count(&self) -> u32 {
        u32::try_from(self.further.len() + 1).unwrap_or(1)
    }
}

fn style_of(cell: &Cell) -> Style {
    if cell.figure { ROW } else { SMALL }
}

/// How many figures of a sum follow one.
fn figures_left(sum: &Sum, place: usize) -> usize {
    sum.beside.len().saturating_sub(place)
}

fn sum_style(sum: &Sum) -> Style {
    if sum.total { TOTAL } else { BODY }
}

/// Further columns are as wide as what stands in them, as far as two thirds of the width allow.
fn columns(table: &Table, width: i64) -> Columns {
    let count = table.heads.len().saturating_sub(1);
    let most = width * 66 / 100 / i64::try_from(count.max(1)).unwrap_or(1);
    let wide = |text: &str, style: Style| single(text, style.weight, style.size).width;
    let rows = || table.groups.iter().flat_map(|group| &group.rows);
    let mut widths = Vec::new();
    for place in 0..count {
        let cells = || rows().filter_map(|row| row.cells.get(place));
        let mut needed = table.heads.get(place + 1).map_or(0, |head| wide(head, LABEL));
        needed = cells().map(|cell| wide(&cell.text, style_of(cell))).fold(needed, i64::max);
        let following = count - place - 1;
        let sums = table.sums.iter().filter_map(|sum| {
            let figure = sum.beside.iter().chain([&sum.amount]).rev().nth(following)?;
            Some(wide(figure, sum_style(sum)))
        });
        needed = sums.fold(needed, i64::max);
        // A little more than needed, since lines are measured in whole font units.
        let figures = table.holds_figures(place + 1);
        widths.push(((needed + 200 + APART).clamp(NARROWEST, most.max(NARROWEST)), figures));
    }
    let first = width - widths.iter().map(|(width, _)| width).sum::<i64>();
    let mut x = first;
    let mut further = Vec::new();
    for (width, figures) in widths {
        further.push((x + APART, width - APART, figures));
        x += width;
    }
    Columns { first, further }
}
