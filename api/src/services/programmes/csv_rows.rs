//! A programme from a table: a line an item, in any order, with faults by line and column.
//!
//! Lines are put together by week, day, session and order, each numbered from 1 without a gap; where a line says no session it is of the
//! first of its day, and where it says no order it comes behind the lines before. What belongs to a block or a session
//! stands on each of its lines alike. The programme that they make is then checked as any other, and where something is wrong is told
//! by the line it came from.

use std::collections::BTreeMap;

use csv::StringRecord;
use plimsoll_domain::programme::{Day, Session};
use serde_json::Number;

use super::input::{
    MOST_ITEMS, MOST_WEEKS, ProgrammeBlockInput, ProgrammeDayInput, ProgrammeInput,
    ProgrammeSessionInput, ProgrammeWeekInput, weekday, weekday_name,
};
use super::item::{ExtentBody, LoadBody, ProgrammeItemInput};
use super::places::{Places, differs};
use super::table::{COLUMNS, NO_CATEGORY};
use super::way::{LegBody, WayBody};
use crate::error::{Code, FieldProblem, Problem};
use crate::services::fields::Faults;
use crate::services::table::{Table, bare};
use crate::services::warm_ups::WarmUpBody;
use crate::web::json::shorten_text;

/// Most lines after the header: one an item, and those of sessions and weeks without any.
pub const MOST_ROWS: usize = MOST_ITEMS + 1_000;

/// A programme that was read, and from which line each part of it came.
#[derive(Debug)]
pub struct Read {
    /// The programme.
    pub programme: ProgrammeInput,
    /// The lines.
    pub places: Places,
}

/// Reads a table.
///
/// # Errors
/// 400 with the line where the text stops being CSV; 422 with every cell that cannot be, and lines that do not go together.
pub fn read(bytes: &[u8]) -> Result<Read, Problem> {
    let table = Table::read(bytes, MOST_ROWS)?;
    let mut unknown = table
        .header
        .iter()
        .filter(|name| !COLUMNS.contains(&name.as_str()));
    if let Some(name) = unknown.next() {
        let fault = FieldProblem::new("", Code::UnknownColumn, shorten_text(name));
        return Err(Problem::field(fault.allowed(COLUMNS.join(", "))));
    }
    if table.records.is_empty() || table.records.len() > MOST_ROWS {
        let fault = FieldProblem::new("/rows", Code::OutOfRange, table.records.len());
        return Err(Problem::field(
            fault.allowed(format!("1 to {MOST_ROWS} lines")),
        ));
    }
    let mut faults = Faults::default();
    let mut sheet = Sheet::default();
    for (row, record) in (1..).zip(&table.records) {
        let cells = Cells {
            row,
            header: &table.header,
            record,
        };
        sheet.take(&cells, &mut faults);
    }
    let read = sheet.programme(&mut faults);
    faults.settle(Some(read))
}

/// The cells of a line, by column.
struct Cells<'a> {
    row: usize,
    header: &'a [String],
    record: &'a StringRecord,
}

impl Cells<'_> {
    /// What stands in a column; `None` where it is empty. Blanks around it come from spreadsheets, unless they are behind an apostrophe.
    fn text(&self, column: &str) -> Option<String> {
        let at = self.header.iter().position(|name| name == column)?;
        let cell = self.record.get(at)?;
        let cell = if cell.starts_with('\'') {
            cell
        } else {
            cell.trim()
        };
        (!cell.is_empty()).then(|| bare(cell).to_owned())
    }

    fn pointer(&self, column: &str) -> String {
        format!("/rows/{}/{column}", self.row)
    }

    fn fault(&self, column: &str, code: Code) -> FieldProblem {
        let given = self.text(column).map(|text| shorten_text(&text));
        FieldProblem::new(self.pointer(column), code, given).detail(format!(
            "Line {}: {}.",
            self.row + 1,
            code.title()
        ))
    }

    fn number(&self, column: &str, faults: &mut Faults) -> Option<Number> {
        let text = self.text(column)?;
        let number: Result<Number, _> = serde_json::from_str(&text);
        let fault = |_| self.fault(column, Code::NotANumber);
        let allowed = "digits, with a point before decimals";
        faults.take(number.map_err(|error| fault(error).allowed(allowed)))
    }

    /// A whole number of a range that must be there.
    fn whole(&self, column: &str, most: usize, faults: &mut Faults) -> Option<u8> {
        let text = self.text(column);
        let found = text.as_deref().and_then(|text| text.parse::<u8>().ok());
        let found = found.filter(|found| (1..=most).contains(&usize::from(*found)));
        let code = match text {
            None => Code::MissingField,
            Some(_) => Code::OutOfRange,
        };
        let fault = || {
            self.fault(column, code)
                .allowed(format!("whole number from 1 to {most}"))
        };
        faults.take(found.ok_or_else(fault))
    }

    /// Whether the columns from one on are all empty.
    fn empty_from(&self, column: &str) -> bool {
        let from = COLUMNS.iter().position(|name| *name == column).unwrap_or(0);
        COLUMNS[from..].iter().all(|name| self.text(name).is_none())
    }

    fn session(&self, faults: &mut Faults) -> ProgrammeSessionInput {
        ProgrammeSessionInput {
            name: self.text("session_name"),
            setting: self.text("setting"),
            kind: self.text("kind"),
            start: self.text("start"),
            minutes: self.number("minutes", faults),
            intended_rpe: self.number("intended_rpe", faults),
            warm_up: self.warm_up(faults),
            items: Vec::new(),
        }
    }

    fn item(&self, faults: &mut Faults) -> ProgrammeItemInput {
        let load = (self.number("load", faults), self.text("load_unit"));
        let way = self.way(faults);
        ProgrammeItemInput {
            exercise: self.text("exercise"),
            sets: self.number("sets", faults),
            reps: self.number("reps", faults),
            hold_seconds: self.number("hold_seconds", faults),
            seconds: self.number("seconds", faults),
            distance: way,
            side: self.text("side"),
            load: match load {
                (None, None) => None,
                (amount, unit) => Some(LoadBody { amount, unit }),
            },
            band: self.text("band"),
            rest_seconds: self.number("rest_seconds", faults),
            set_up: self.extent(["set_up_from", "set_up_to", "set_up_unit"], faults),
            height: self.extent(["height_from", "height_to", "height_unit"], faults),
            note: self.text("note"),
        }
    }

    fn extent(&self, [from, to, unit]: [&str; 3], faults: &mut Faults) -> Option<ExtentBody> {
        let extent = ExtentBody {
            least: self.number(from, faults),
            most: self.number(to, faults),
            unit: self.text(unit),
        };
        (extent != ExtentBody::default()).then_some(extent)
    }

    fn yes_or_no(&self, column: &str, faults: &mut Faults) -> Option<bool> {
        match self.text(column).as_deref() {
            None => None,
            Some("true") => Some(true),
            Some("false") => Some(false),
            Some(_) => {
                let fault = self.fault(column, Code::UnknownValue);
                faults.extend([fault.allowed("true or false")]);
                None
            }
        }
    }

    /// The categories of `jump; balance`; `none` says that it holds none of them.
    fn warm_up(&self, faults: &mut Faults) -> Option<WarmUpBody> {
        let categories = self.text("warm_up_categories").map(|text| {
            let words = text.split(';').map(str::trim);
            let words = words.filter(|word| !word.is_empty() && *word != NO_CATEGORY);
            words.map(str::to_owned).collect()
        });
        let warm_up = WarmUpBody {
            minutes: self.number("warm_up_minutes", faults),
            categories,
            feedback: self.yes_or_no("warm_up_feedback", faults),
        };
        (warm_up != WarmUpBody::default()).then_some(warm_up)
    }

    /// The legs of `forward 15; back 15`; one without a number is not measured.
    fn way(&self, faults: &mut Faults) -> Option<WayBody> {
        let returns = self.yes_or_no("returns_to_start", faults);
        let unit = self.text("distance_unit");
        let legs = self.text("distance");
        if legs.is_none() && unit.is_none() && returns.is_none() {
            return None;
        }
        let leg = |text: &str| {
            let mut words = text.split_whitespace();
            LegBody {
                direction: words.next().map(str::to_owned),
                length: words
                    .next()
                    .and_then(|number| serde_json::from_str(number).ok()),
            }
        };
        let legs = legs.unwrap_or_default();
        let legs = legs.split(';').map(str::trim).filter(|leg| !leg.is_empty());
        Some(WayBody {
            legs: legs.map(leg).collect(),
            unit,
            returns_to_start: returns,
        })
    }
}

/// The lines put together.
#[derive(Debug, Default)]
struct Sheet {
    name: Option<String>,
    weeks: BTreeMap<u8, WeekRows>,
}

#[derive(Debug, Default)]
struct WeekRows {
    row: usize,
    block: Option<String>,
    off: bool,
    days: BTreeMap<i8, BTreeMap<u8, SessionRows>>,
}

#[derive(Debug)]
struct SessionRows {
    row: usize,
    session: ProgrammeSessionInput,
    items: BTreeMap<u8, (usize, ProgrammeItemInput)>,
}

impl Sheet {
    fn take(&mut self, cells: &Cells<'_>, faults: &mut Faults) {
        let name = cells.text("programme");
        if cells.row == 1 {
            self.name = name;
        } else if self.name != name {
            let fault = cells.fault("programme", Code::ContradictingRows);
            faults.extend([fault.allowed("the same on every line")]);
        }
        let Some(number) = cells.whole("week", MOST_WEEKS, faults) else {
            return;
        };
        let block = cells.text("block");
        let week = self.weeks.entry(number).or_insert_with(|| WeekRows {
            row: cells.row,
            block: block.clone(),
            ..WeekRows::default()
        });
        if week.block != block {
            let fault = cells.fault("block", Code::ContradictingRows);
            faults.extend([fault.allowed("the same on every line of the week")]);
        }
        if week.off {
            let fault = cells.fault("week", Code::ContradictingRows);
            faults.extend([fault.allowed("one line alone for a week off")]);
        } else if cells.empty_from("day") {
            if week.days.is_empty() {
                week.off = true;
            } else {
                faults.extend([cells.fault("day", Code::MissingField)]);
            }
        } else {
            week.take(cells, faults);
        }
    }

    /// The programme, and where its parts came from.
    fn programme(self, faults: &mut Faults) -> Read {
        let mut places = Places::default();
        let mut programme = ProgrammeInput {
            name: self.name,
            blocks: Vec::new(),
        };
        for (expected, (number, week)) in (1_u8..).zip(self.weeks) {
            if number != expected {
                let pointer = format!("/rows/{}/week", week.row);
                let fault = FieldProblem::new(pointer, Code::OutOfRange, number);
                let detail = format!("Line {}: week {expected} is missing.", week.row + 1);
                faults.extend([fault.detail(detail).allowed(format!("{expected}"))]);
                break;
            }
            let goes_on = programme
                .blocks
                .last()
                .is_some_and(|last| last.name == week.block);
            if !goes_on {
                places.put(format!("/blocks/{}", programme.blocks.len()), week.row);
                programme.blocks.push(ProgrammeBlockInput {
                    name: week.block.clone(),
                    weeks: Vec::new(),
                });
            }
            let at = programme.blocks.len() - 1;
            if let Some(block) = programme.blocks.last_mut() {
                let under = format!("/blocks/{at}/weeks/{}", block.weeks.len());
                block.weeks.push(week.made(&under, &mut places, faults));
            }
        }
        Read { programme, places }
    }
}

impl WeekRows {
    fn take(&mut self, cells: &Cells<'_>, faults: &mut Faults) {
        let day = cells.text("day");
        let day = weekday(&cells.pointer("day"), day.as_deref());
        let number = match cells.text("session") {
            None => Some(1),
            Some(_) => cells.whole("session", Day::MOST_SESSIONS, faults),
        };
        let (Some(day), Some(number)) = (faults.take(day), number) else {
            return;
        };
        let given = cells.session(faults);
        let sessions = self.days.entry(day.to_monday_zero_offset()).or_default();
        let session = sessions.entry(number).or_insert_with(|| SessionRows {
            row: cells.row,
            session: given.clone(),
            items: BTreeMap::new(),
        });
        if let Some(column) = differs(&session.session, &given) {
            let fault = cells.fault(column, Code::ContradictingRows);
            faults.extend([fault.allowed("the same on every line of the session")]);
        }
        if cells.empty_from("order") {
            if session.row != cells.row {
                faults.extend([cells.fault("order", Code::MissingField)]);
            }
            return;
        }
        let order = match cells.text("order") {
            None => session.next_order(cells, faults),
            Some(_) => cells.whole("order", Session::MOST_ITEMS, faults),
        };
        let Some(order) = order else { return };
        let item = cells.item(faults);
        if session.items.insert(order, (cells.row, item)).is_some() {
            let fault = cells.fault("order", Code::NotUnique);
            faults.extend([fault.allowed("each number of a session once")]);
        }
    }

    fn made(self, under: &str, places: &mut Places, faults: &mut Faults) -> ProgrammeWeekInput {
        places.put(under.to_owned(), self.row);
        let mut days = Vec::new();
        for (at, (day, sessions)) in self.days.into_iter().enumerate() {
            let under = format!("{under}/days/{at}");
            let mut made = Vec::new();
            for (expected, (number, session)) in (1_u8..).zip(sessions) {
                gap((session.row, "session"), (number, expected), faults);
                let under = format!("{under}/sessions/{}", made.len());
                made.push(session.made(&under, places, faults));
            }
            let day = jiff::civil::Weekday::from_monday_zero_offset(day);
            days.push(ProgrammeDayInput {
                day: day.ok().map(|day| weekday_name(day).to_owned()),
                sessions: made,
            });
        }
        ProgrammeWeekInput { days }
    }
}

impl SessionRows {
    /// The place of an item whose line says none: behind those of the lines before.
    fn next_order(&self, cells: &Cells<'_>, faults: &mut Faults) -> Option<u8> {
        let next = self.items.keys().next_back().map_or(1, |last| last + 1);
        if usize::from(next) > Session::MOST_ITEMS {
            let fault = cells.fault("order", Code::OutOfRange);
            let most = format!("at most {} items a session", Session::MOST_ITEMS);
            faults.extend([fault.allowed(most)]);
            return None;
        }
        Some(next)
    }

    fn made(self, under: &str, places: &mut Places, faults: &mut Faults) -> ProgrammeSessionInput {
        places.put(under.to_owned(), self.row);
        let mut items = Vec::new();
        for (expected, (order, (row, item))) in (1_u8..).zip(self.items) {
            gap((row, "order"), (order, expected), faults);
            places.put(format!("{under}/items/{}", items.len()), row);
            items.push(item);
        }
        ProgrammeSessionInput {
            items,
            ..self.session
        }
    }
}

/// Says where a number is left out.
fn gap((row, column): (usize, &str), (number, expected): (u8, u8), faults: &mut Faults) {
    if number != expected {
        let fault = FieldProblem::new(format!("/rows/{row}/{column}"), Code::OutOfRange, number);
        let detail = format!("Line {}: {column} {expected} is missing.", row + 1);
        faults.extend([fault.detail(detail).allowed(format!("{expected}"))]);
    }
}
