//! A table of texts and numbers, the same on a page and on a sheet.

use maud::{Markup, html};

/// A table whose first column names its rows.
pub struct Table {
    /// What it holds.
    pub caption: &'static str,
    /// The columns.
    pub columns: Vec<Column>,
    /// As many cells a row as there are columns.
    pub rows: Vec<Vec<Cell>>,
}

/// A column.
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// Whether it holds numbers alone, which are set to the right.
    pub is_number: bool,
}

/// What stands in a cell.
pub struct Cell {
    /// The main line.
    pub text: String,
    /// Smaller lines below.
    pub small: Vec<String>,
}

impl Column {
    /// A column of words.
    pub const fn words(name: &'static str) -> Self {
        let is_number = false;
        Self { name, is_number }
    }

    /// A column of numbers.
    pub const fn number(name: &'static str) -> Self {
        let is_number = true;
        Self { name, is_number }
    }
}

impl Cell {
    /// A line, and smaller ones below it.
    pub fn with(text: impl Into<String>, small: Vec<String>) -> Self {
        let text = text.into();
        Self { text, small }
    }
}

impl<T: ToString> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::with(text.to_string(), Vec::new())
    }
}

impl Table {
    /// On a page.
    pub fn markup(&self) -> Markup {
        html! {
            table {
                caption { (self.caption) }
                thead {
                    tr { @for column in &self.columns { th scope="col" class=[column.class()] { (column.name) } } }
                }
                tbody {
                    @for row in &self.rows {
                        tr {
                            @for (place, cell) in row.iter().enumerate() {
                                @if place == 0 {
                                    th scope="row" { (cell.markup()) }
                                } @else {
                                    td class=[self.columns.get(place).and_then(Column::class)] { (cell.markup()) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

impl Column {
    fn class(&self) -> Option<&'static str> {
        self.is_number.then_some("n")
    }
}

impl Cell {
    fn markup(&self) -> Markup {
        html! {
            (self.text)
            @for line in &self.small { br; span class="small" { (line) } }
        }
    }
}
