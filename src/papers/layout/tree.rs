//! What the parts of a paper are, for readers that read it aloud: a tree whose leaves are the texts as they are drawn.
//!
//! May import: nothing.

/// A part with what is in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Branch {
    /// What it is.
    pub role: Role,
    /// What is in it, in the order in which it is read.
    pub twigs: Vec<Twig>,
}

/// What is in a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Twig {
    /// A part of its own.
    Branch(Branch),
    /// Something drawn, by its number.
    Leaf(usize),
}

/// What a part is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Role {
    /// The whole, or a part of it with its heading.
    Section,
    /// A heading of the first or second rank, with its words.
    Heading(u16, String),
    /// A paragraph.
    Paragraph,
    /// A list.
    List,
    /// One thing in a list.
    Item,
    /// Its label.
    Label,
    /// What stands beside the label.
    Body,
    /// A picture, with what is to be seen.
    Figure(String),
    /// A table.
    Table,
    /// What it is about.
    Caption,
    /// Its head.
    Head,
    /// Its rows.
    Rows,
    /// Its sums.
    Foot,
    /// A row.
    Row,
    /// The head of a column.
    ColumnHead,
    /// The head of a row, over so many columns.
    RowHead(u32),
    /// A cell.
    Cell,
}

impl Branch {
    /// A part with what is in it.
    #[must_use]
    pub fn new(role: Role, twigs: Vec<Twig>) -> Branch {
        Branch { role, twigs }
    }

    /// A part with one thing drawn.
    #[must_use]
    pub fn leaf(role: Role, leaf: usize) -> Twig {
        Twig::Branch(Branch { role, twigs: vec![Twig::Leaf(leaf)] })
    }
}
