//! When she was away.

use plimsoll_domain::RecordClass;

use super::column::{day, id, instant, left_out, text, truth, whole};
use super::{BY_ROLE, Erasing, Hers, SAME_CLUB, SEQUENCE, Table, versions};

pub(super) const TABLES: &[Table] = &[Table {
    name: "absences",
    means: "days away",
    class: RecordClass::Availability,
    hers: Hers::Own,
    erasing: Erasing::Deleted,
    order: &["absence_id", "version"],
    columns: versions![
        id("absence_id", "the id of the record"),
        id("athlete_id", "her id in this club"),
        day("from_date", "the first day"),
        day("to_date", "the last day"),
        text("category", "why, as one of a list that holds no diagnosis"),
        text("given_by", "who said so"),
    ],
}];
