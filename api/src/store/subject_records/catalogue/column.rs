//! A column, and how its values are told.

/// A column of a table with rows about athletes.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Its name in the database.
    pub name: &'static str,
    /// Whether and how it is told.
    pub told: Told,
    /// Whether it may be empty.
    pub may_be_null: bool,
    /// What it means, in one plain phrase; of a column that is left out, why.
    pub means: &'static str,
}

/// Whether and how a column is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// As a field of this name, in this form.
    As(&'static str, Form),
    /// It is not in the copy.
    LeftOut,
}

/// In which form a value is told: the API's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A UUID.
    Id,
    /// An instant (RFC 3339).
    Instant,
    /// A date, `YYYY-MM-DD`.
    Day,
    /// A whole number.
    Whole,
    /// A number kept in halves: loads in half an AU, ratings in half a point.
    Half,
    /// Yes or no.
    Truth,
    /// A text or a code.
    Text,
    /// A list or an object.
    Document,
    /// A text that is sealed in the database, opened.
    Sealed {
        /// `table.column`, which the seal is bound to.
        place: &'static str,
        /// The column of the row's id, which it is bound to as well.
        row: &'static str,
    },
}

impl Column {
    const fn told(name: &'static str, form: Form, means: &'static str) -> Self {
        Self {
            name,
            told: Told::As(name, form),
            may_be_null: false,
            means,
        }
    }

    /// The same column, which may be empty.
    pub(super) const fn or_none(self) -> Self {
        Self {
            may_be_null: true,
            ..self
        }
    }
}

pub(super) const fn id(name: &'static str, means: &'static str) -> Column {
    Column::told(name, Form::Id, means)
}

pub(super) const fn instant(name: &'static str, means: &'static str) -> Column {
    Column::told(name, Form::Instant, means)
}

pub(super) const fn day(name: &'static str, means: &'static str) -> Column {
    Column::told(name, Form::Day, means)
}

pub(super) const fn whole(name: &'static str, means: &'static str) -> Column {
    Column::told(name, Form::Whole, means)
}

pub(super) const fn truth(name: &'static str, means: &'static str) -> Column {
    Column::told(name, Form::Truth, means)
}

pub(super) const fn text(name: &'static str, means: &'static str) -> Column {
    Column::told(name, Form::Text, means)
}

pub(super) const fn document(name: &'static str, means: &'static str) -> Column {
    Column::told(name, Form::Document, means)
}

/// A number kept in halves, told as `field`.
pub(super) const fn half(name: &'static str, field: &'static str, means: &'static str) -> Column {
    Column {
        told: Told::As(field, Form::Half),
        ..Column::told(name, Form::Half, means)
    }
}

/// A sealed text at `place`, in the row that the column `row` names.
pub(super) const fn sealed(
    name: &'static str,
    (place, row): (&'static str, &'static str),
    means: &'static str,
) -> Column {
    Column::told(name, Form::Sealed { place, row }, means)
}

pub(super) const fn left_out(name: &'static str, why: &'static str) -> Column {
    Column {
        told: Told::LeftOut,
        ..Column::told(name, Form::Text, why)
    }
}
