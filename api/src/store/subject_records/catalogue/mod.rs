//! What the database keeps of an athlete: every table and column by name.
//!
//! One list says what goes into her copy, what is erased, and what is said of both; a test on both databases holds it against the
//! real tables. A column that is not named here fails it, so nothing new is kept of anybody without being told to her.

mod access;
mod availability;
mod clinical;
mod column;
mod consents;
mod elsewhere;
mod findings;
mod identity;
mod load;

use plimsoll_domain::RecordClass;

pub use column::{Column, Form, Told};
pub use elsewhere::{NOT_OF_ATHLETES, NotOfAthletes};
pub(super) use findings::FLAGS;

/// A table with rows about athletes.
#[derive(Debug, Clone, Copy)]
pub struct Table {
    /// Its name, in the copy too.
    pub name: &'static str,
    /// What a row is, in one plain phrase.
    pub means: &'static str,
    /// Which class of records it belongs to.
    pub class: RecordClass,
    /// Which rows are hers.
    pub hers: Hers,
    /// What becomes of them when the class is erased.
    pub erasing: Erasing,
    /// The columns that put her rows in order.
    pub order: &'static [&'static str],
    /// Every column.
    pub columns: &'static [Column],
}

/// Which rows of a table are an athlete's.
#[derive(Debug, Clone, Copy)]
pub enum Hers {
    /// Those with her id.
    Own,
    /// Those with her id, and those that name her in another column.
    OwnAnd(&'static str),
    /// Those that name a row of hers in another table, by a column of the same name in both.
    Through {
        /// The column.
        column: &'static str,
        /// The other table.
        of: &'static Table,
    },
    /// Those whose list of athletes names her.
    Listed,
    /// Notices of the week of a flag of hers that name the flag.
    Notified,
}

/// What becomes of an athlete's rows when their class is erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Erasing {
    /// They are deleted.
    Deleted,
    /// They belong to others too: what names her is taken out of the lists in this column, a document or the text of one.
    TakenOut(&'static str, Form),
    /// They stay, for this reason.
    Stays(&'static str),
}

impl Table {
    /// The columns that are told, in order, each with the field it is told as.
    pub fn told(&self) -> impl Iterator<Item = (&'static Column, &'static str, Form)> {
        self.columns.iter().filter_map(|column| match column.told {
            Told::As(field, form) => Some((column, field, form)),
            Told::LeftOut => None,
        })
    }
}

/// Every table with rows about athletes, what others refer to first: rows are erased from the last to the first.
pub fn tables() -> impl DoubleEndedIterator<Item = &'static Table> {
    [
        identity::TABLES,
        load::TABLES,
        availability::TABLES,
        clinical::TABLES,
        findings::TABLES,
        consents::TABLES,
        access::TABLES,
    ]
    .into_iter()
    .flatten()
}

/// Why the club's id is not repeated in each row.
const SAME_CLUB: &str = "the same for the whole copy, where it stands once";
/// Why the club's sequence is left out.
const SEQUENCE: &str = "counts the changes of the whole club, not hers";
/// Why subjects of tokens are left out.
const BY_ROLE: &str = "people who enter and read are told by their role";

/// The columns of a table whose rows are versions.
macro_rules! versions {
    ($($column:expr),+ $(,)?) => {
        &[
            left_out("club_id", SAME_CLUB),
            $($column,)+
            whole("version", "which version of the record this is, from 1"),
            instant("received_at", "when this version was received"),
            instant("superseded_at", "when the next version took its place").or_none(),
            left_out("seq", SEQUENCE),
            left_out("author", BY_ROLE),
            text("acting_role", "in which role it was entered"),
            truth("deleted", "whether this version says that the record was removed"),
        ]
    };
}
use versions;
