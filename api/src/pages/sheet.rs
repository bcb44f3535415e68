//! A sheet to print: what stands on it, block after block. How it looks is in `pdf/sheet.typ`.
//!
//! A text is a text here and stays one: the template gets it as data and never reads it as markup.

use std::iter;

use serde::Serialize;

use super::table::{Cell, Table};

/// A sheet.
#[derive(Debug, Serialize)]
pub struct Sheet {
    /// The document's title, and its first line.
    pub title: String,
    /// What follows over the whole width.
    pub head: Vec<Block>,
    /// The rest.
    pub blocks: Vec<Block>,
    /// In how many columns the rest is set; in more than one in smaller letters, to find room on one sheet.
    pub columns: u8,
}

/// A part of a sheet.
#[derive(Debug, Serialize)]
#[serde(tag = "block", rename_all = "snake_case")]
pub enum Block {
    /// A heading below the title.
    Heading {
        /// 2 to 4.
        level: u8,
        /// The words.
        text: String,
    },
    /// A paragraph.
    Text {
        /// The words.
        text: String,
        /// How they are set.
        tone: Tone,
    },
    /// A list.
    Items {
        /// Each with a mark of its own.
        items: Vec<Item>,
    },
    /// A table whose first column names its rows.
    Table {
        /// What it holds.
        caption: String,
        /// The columns; none where the rows name all.
        columns: Vec<Heading>,
        /// As many cells a row as there are columns, else two.
        rows: Vec<Vec<String>>,
    },
    /// A drawing.
    Drawing {
        /// SVG of our own.
        svg: String,
        /// The same in words, for who cannot see it.
        alt: String,
        /// What its marks mean.
        key: String,
        /// How wide it is, in millimetres; as wide as a plot unless said.
        width_mm: Option<u8>,
    },
}

/// The head of a column.
#[derive(Debug, Serialize)]
pub struct Heading {
    /// Its name.
    pub name: String,
    /// Whether it holds numbers alone, which are set to the right.
    pub is_number: bool,
}

impl From<Table> for Block {
    fn from(table: Table) -> Self {
        let columns = table.columns.into_iter().map(|column| Heading {
            name: column.name.to_owned(),
            is_number: column.is_number,
        });
        let lines = |cell: Cell| {
            let lines = iter::once(cell.text).filter(|text| !text.is_empty());
            lines.chain(cell.small).collect::<Vec<_>>().join("\n")
        };
        let rows = table.rows.into_iter();
        Self::Table {
            caption: table.caption.to_owned(),
            columns: columns.collect(),
            rows: rows
                .map(|row| row.into_iter().map(lines).collect())
                .collect(),
        }
    }
}

/// How a paragraph is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tone {
    /// As the rest.
    Plain,
    /// As the rest, on one page with what follows.
    Lead,
    /// Smaller.
    Small,
    /// Heavier.
    Strong,
    /// In a box.
    Boxed,
}

/// Something in a list.
#[derive(Debug, Default, Serialize)]
pub struct Item {
    /// Whom it is about; empty where that is in the text.
    pub name: String,
    /// What is said of the name; empty where nothing is.
    pub mark: String,
    /// What is said.
    pub text: String,
    /// A line below, smaller.
    pub small: Option<String>,
}

impl Block {
    /// A heading.
    pub fn heading(level: u8, text: impl Into<String>) -> Self {
        let text = text.into();
        Self::Heading { level, text }
    }

    /// A paragraph as the rest.
    pub fn text(text: impl Into<String>) -> Self {
        Self::toned(Tone::Plain, text)
    }

    /// A smaller paragraph.
    pub fn small(text: impl Into<String>) -> Self {
        Self::toned(Tone::Small, text)
    }

    /// A paragraph.
    pub fn toned(tone: Tone, text: impl Into<String>) -> Self {
        let text = text.into();
        Self::Text { text, tone }
    }
}
