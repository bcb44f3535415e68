//! The columns of a programme as a table, and writing one: a line an item.
//!
//! A session without items and a week off have a line of their own. What belongs to the programme, a block or a session is repeated on
//! each of its lines, so that lines can be sorted and filtered.

use plimsoll_domain::programme::{
    Against, Dose, Extent, Item, Legs, Placed, Programme, Session, SessionWarmUp,
};

use super::input::{time_text, weekday_name};
use crate::services::table::{guarded, line};

/// The columns, in order.
pub const COLUMNS: [&str; 35] = [
    "programme",
    "block",
    "week",
    "day",
    "session",
    "session_name",
    "setting",
    "kind",
    "start",
    "minutes",
    "intended_rpe",
    "warm_up_minutes",
    "warm_up_categories",
    "warm_up_feedback",
    "order",
    "exercise",
    "sets",
    "reps",
    "hold_seconds",
    "seconds",
    "distance",
    "distance_unit",
    "returns_to_start",
    "side",
    "load",
    "load_unit",
    "band",
    "rest_seconds",
    "set_up_from",
    "set_up_to",
    "set_up_unit",
    "height_from",
    "height_to",
    "height_unit",
    "note",
];

/// A warm-up of which it is said that it holds none of the categories; an empty cell says nothing of them.
pub const NO_CATEGORY: &str = "none";

/// The number of cells that say where a line belongs: programme, block and week.
const OF_WEEK: usize = 3;
/// The number of cells before the item.
const OF_SESSION: usize = 14;

/// A programme as a table with its header.
pub fn write(programme: &Programme) -> Vec<u8> {
    let mut file = line(&COLUMNS);
    let mut number = 0;
    for block in programme.blocks() {
        for week in block.weeks() {
            number += 1;
            let of_week = [
                guarded(programme.name()),
                guarded(block.name()),
                number.to_string(),
            ];
            if week.days().is_empty() {
                push(&mut file, of_week.to_vec());
            }
            let sessions = programme.sessions().filter(|one| one.week == number);
            for placed in sessions {
                write_session(&mut file, &of_week, &placed);
            }
        }
    }
    file
}

fn write_session(file: &mut Vec<u8>, of_week: &[String; OF_WEEK], placed: &Placed<'_>) {
    let Session {
        name,
        setting,
        kind,
        start,
        minutes,
        intended,
        warm_up,
        items,
    } = placed.session;
    let text = |given: Option<String>| given.unwrap_or_default();
    let mut head = of_week.to_vec();
    head.extend([
        weekday_name(placed.weekday).to_owned(),
        placed.number.to_string(),
        text(name.as_deref().map(guarded)),
        setting.code().to_owned(),
        kind.code().to_owned(),
        text(start.map(time_text)),
        text(minutes.map(|minutes| minutes.get().to_string())),
        text(intended.map(|intended| intended.to_f64().to_string())),
    ]);
    head.extend(
        warm_up
            .as_ref()
            .map_or_else(Default::default, warm_up_cells),
    );
    debug_assert_eq!(head.len(), OF_SESSION);
    if items.is_empty() {
        push(file, head.clone());
    }
    for (order, item) in (1_u8..).zip(items) {
        let mut cells = head.clone();
        cells.push(order.to_string());
        cells.extend(item_cells(item));
        push(file, cells);
    }
}

/// Minutes, categories as `jump; balance`, and whether feedback is given.
fn warm_up_cells(warm_up: &SessionWarmUp) -> [String; 3] {
    let categories = warm_up.categories().into_iter().flatten();
    let categories: Vec<&str> = categories.map(|one| one.code()).collect();
    let categories = match warm_up.categories() {
        Some(none) if none.is_empty() => NO_CATEGORY.to_owned(),
        _ => categories.join("; "),
    };
    [
        warm_up.minutes().get().to_string(),
        categories,
        warm_up.feedback().to_string(),
    ]
}

fn push(file: &mut Vec<u8>, mut cells: Vec<String>) {
    cells.resize(COLUMNS.len(), String::new());
    let cells: Vec<&str> = cells.iter().map(String::as_str).collect();
    file.extend(line(&cells));
}

fn item_cells(item: &Item) -> Vec<String> {
    let mut cells = vec![item.exercise.to_string(), item.sets.get().to_string()];
    let none = String::new;
    let dose = match &item.dose {
        Dose::Reps(reps, hold) => {
            let hold = hold.map(|hold| hold.get().to_string());
            [
                reps.get().to_string(),
                hold.unwrap_or_default(),
                none(),
                none(),
                none(),
                none(),
            ]
        }
        Dose::Seconds(seconds) => [
            none(),
            none(),
            seconds.get().to_string(),
            none(),
            none(),
            none(),
        ],
        Dose::Distance(way) => {
            let returns = if way.returns_to_start() { "true" } else { "" };
            let unit = way.unit().code().to_owned();
            [none(), none(), none(), legs(way), unit, returns.to_owned()]
        }
    };
    cells.extend(dose);
    cells.push(
        item.side
            .map(|side| side.code().to_owned())
            .unwrap_or_default(),
    );
    cells.extend(match &item.against {
        Some(Against::Weight(weight)) => [
            weight.amount().to_string(),
            weight.unit().code().to_owned(),
            none(),
        ],
        Some(Against::Band(band)) => [none(), none(), guarded(band.as_str())],
        None => [none(), none(), none()],
    });
    cells.push(
        item.rest
            .map(|rest| rest.get().to_string())
            .unwrap_or_default(),
    );
    cells.extend(extent(item.set_up));
    cells.extend(extent(item.height));
    cells.push(
        item.note
            .as_ref()
            .map(|note| guarded(note.as_str()))
            .unwrap_or_default(),
    );
    cells
}

/// The legs of a way in one cell: `forward 15; back 15`.
fn legs(way: &Legs) -> String {
    let legs = way.legs().iter();
    let legs = legs.map(|leg| format!("{} {}", leg.direction.code(), leg.count));
    legs.collect::<Vec<_>>().join("; ")
}

fn extent(extent: Option<Extent>) -> [String; 3] {
    extent.map_or_else(Default::default, |extent| {
        [
            extent.least().to_string(),
            extent
                .most()
                .map(|most| most.to_string())
                .unwrap_or_default(),
            extent.unit().code().to_owned(),
        ]
    })
}
