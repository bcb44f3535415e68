//! The items of a session as a table, the same on the page and on the sheet.

use super::words;
use crate::pages::table::{Cell, Column, Table};
use crate::services::programmes::assigned::AssignedSession;

/// The items in order.
pub(super) fn items(session: &AssignedSession) -> Table {
    let rows = session.items.iter().map(|one| {
        let name = format!("{}. {}", one.item.number, one.name);
        vec![
            Cell::with(name, words::below(one)),
            words::dose(one).into(),
            words::load(&one.item).into(),
            words::rest(&one.item).into(),
            words::boxes(&one.item).into(),
        ]
    });
    Table {
        caption: "A box for each set",
        columns: ["Exercise", "Sets x each", "Load", "Rest", "Done"]
            .map(Column::words)
            .into(),
        rows: rows.collect(),
    }
}
