//! Programmes as JSON and as tables, without a database.

use plimsoll_domain::exercises::Catalogue;
use serde_json::{Value, json};

use super::*;
use crate::services::table::FORMULA;

fn programme(json: Value) -> Result<Programme, Vec<(String, Code)>> {
    let input: ProgrammeInput = serde_json::from_value(json).unwrap();
    checked(&input)
}

fn checked(input: &ProgrammeInput) -> Result<Programme, Vec<(String, Code)>> {
    let mut faults = Faults::default();
    let made = input.check(Some(&Catalogue::of([])), &mut faults);
    let found = faults.into_vec().into_iter();
    let found: Vec<_> = found
        .map(|fault| {
            assert!(
                fault.allowed.is_some(),
                "{} says what is allowed",
                fault.pointer
            );
            (fault.pointer, fault.code)
        })
        .collect();
    made.filter(|_| found.is_empty()).ok_or(found)
}

/// A programme of one session with one item.
fn with(item: impl Into<Value>) -> Value {
    let item = item.into();
    json!({ "name": "Summer", "blocks": [{ "name": "Learning", "weeks": [{ "days": [{ "day": "tuesday", "sessions": [
        { "setting": "prescribed_home", "kind": "strength", "items": [item] }] }] }] }] })
}

fn fault(item: Value) -> (String, Code) {
    let mut faults = programme(with(item)).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    let (pointer, code) = faults.remove(0);
    let at = "/blocks/0/weeks/0/days/0/sessions/0/items/0/";
    (pointer.strip_prefix(at).unwrap().to_owned(), code)
}

fn leg(direction: &str, length: impl Into<Value>) -> Value {
    let length = length.into();
    json!({ "direction": direction, "length": length })
}

#[test]
fn an_item_that_cannot_be_is_named_by_its_field() {
    let way = |legs: Value| {
        json!({ "exercise": "shuttle_run", "sets": 2,
        "distance": { "legs": legs, "unit": "yd", "returns_to_start": true } })
    };
    for (item, pointer, code) in [
        (
            json!({ "exercise": "no_such_hop", "sets": 3, "reps": 5 }),
            "exercise",
            Code::UnknownExercise,
        ),
        (
            json!({ "exercise": "squat", "sets": 3 }),
            "reps",
            Code::MissingField,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "reps": 5, "seconds": 20 }),
            "reps",
            Code::AmbiguousWork,
        ),
        (
            json!({ "exercise": "squat", "sets": 11, "reps": 5 }),
            "sets",
            Code::OutOfRange,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "reps": 51 }),
            "reps",
            Code::OutOfRange,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "seconds": 4 }),
            "seconds",
            Code::OutOfRange,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "seconds": 20, "hold_seconds": 1 }),
            "hold_seconds",
            Code::OutOfRange,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "reps": 5, "side": "left" }),
            "side",
            Code::UnknownValue,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "reps": 5, "rest_seconds": 901 }),
            "rest_seconds",
            Code::OutOfRange,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "reps": 5, "note": "x".repeat(201) }),
            "note",
            Code::TextTooLong,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "reps": 5, "note": "Down\nand up" }),
            "note",
            Code::TextHasControlCharacters,
        ),
        (
            json!({ "exercise": "squat_loaded", "sets": 3, "reps": 5, "band": "red", "load": { "amount": 5, "unit": "kg" } }),
            "band",
            Code::AmbiguousLoad,
        ),
        (
            json!({ "exercise": "squat_loaded", "sets": 3, "reps": 5, "load": { "amount": 1102.32, "unit": "lb" } }),
            "load/amount",
            Code::OutOfRange,
        ),
        (
            json!({ "exercise": "squat_loaded", "sets": 3, "reps": 5, "load": { "amount": 5, "unit": "stone" } }),
            "load/unit",
            Code::UnknownValue,
        ),
        (
            json!({ "exercise": "squat", "sets": 3, "reps": 5, "set_up": { "least": 12, "most": 6, "unit": "in" } }),
            "set_up/most",
            Code::OutOfRange,
        ),
        (way(json!([])), "distance/legs", Code::DistanceNotMeasured),
        (
            way(json!([leg("forward", Value::Null)])),
            "distance/legs/0/length",
            Code::DistanceNotMeasured,
        ),
        (
            way(json!([leg("forward", json!(0))])),
            "distance/legs/0/length",
            Code::OutOfRange,
        ),
        (
            way(json!([leg("up", json!(5))])),
            "distance/legs/0/direction",
            Code::UnknownValue,
        ),
        (
            way(json!([leg("forward", json!(20)), leg("left", json!(20))])),
            "distance/legs",
            Code::NotBackAtStart,
        ),
    ] {
        assert_eq!(fault(item), (pointer.to_owned(), code));
    }
}

#[test]
fn what_is_laid_out_wrongly_is_named_too() {
    let week = || json!({ "days": [] });
    let blocks =
        |blocks: Value| programme(json!({ "name": "Summer", "blocks": blocks })).unwrap_err();
    let block = |name: &str, weeks: usize| json!({ "name": name, "weeks": vec![week(); weeks] });
    let one = |pointer: &str, code| vec![(pointer.to_owned(), code)];
    assert_eq!(blocks(json!([])), one("/blocks", Code::OutOfRange));
    assert_eq!(
        blocks(json!([block("a", 30), block("b", 31)])),
        one("/blocks", Code::OutOfRange)
    );
    assert_eq!(
        blocks(json!([block("a", 1), block("a", 1)])),
        one("/blocks/1/name", Code::NotUnique)
    );
    assert_eq!(
        blocks(json!([block("a", 0)])),
        one("/blocks/0/weeks", Code::OutOfRange)
    );
    let day = json!({ "day": "monday", "sessions": [] });
    let days = json!([{ "name": "a", "weeks": [{ "days": [day] }] }]);
    assert_eq!(
        blocks(days),
        one("/blocks/0/weeks/0/days/0/sessions", Code::OutOfRange)
    );
}

#[test]
fn what_was_sent_reads_back_as_it_was() {
    let item = json!({ "exercise": "loaded_carry", "sets": 2, "distance": { "legs": [leg("forward", json!(20)),
        leg("back", json!(20))], "unit": "yd", "returns_to_start": true }, "load": { "amount": 17.5, "unit": "lb" },
        "rest_seconds": 60, "set_up": { "least": 6, "most": 12, "unit": "in" },
        "note": "Stand tall" });
    let sent = with(item);
    let made = programme(sent.clone()).unwrap();
    let mut back = serde_json::to_value(ProgrammeInput::of(&made)).unwrap();
    assert_eq!(back, sent);
    back["blocks"][0]["weeks"][0]["days"][0]["sessions"][0]["items"][0]["load"]["amount"] =
        json!(18.0);
    let other = programme(back).unwrap();
    let item = &other.sessions().next().unwrap().session.items[0];
    assert_eq!(item::written(item).load.unwrap().amount, Some(18.into()));
}

/// Weeks in blocks of four, the last of each off; two sessions in the others, with every kind of item.
fn long_table(weeks: usize) -> String {
    let mut text = COLUMNS.join(",") + "\n";
    for week in 1..=weeks {
        let block = format!("\"Block {}, with a comma\"", 1 + (week - 1) / 4);
        let head = format!("'=Summer,{block},{week}");
        let empty = |cells: usize| ",".repeat(cells);
        if week % 4 == 0 {
            text += &format!("{head}{}\n", empty(32));
            continue;
        }
        let session = format!(
            "{head},tuesday,1,Legs,prescribed_home,strength,17:30,45,5.5,15,jump; balance,true"
        );
        text += &format!("{session},1,squat,3,10,1{},'=up\n", empty(15));
        text += &format!("{session},2,side_plank,2,,,20,,,,left,,,,30{}\n", empty(7));
        text += &format!(
            "{session},3,loaded_carry,2,,,,forward 20; back 20; right 10; left 10,yd,true,,17.5,lb,,90,6,12,in{}\n",
            empty(4)
        );
        text += &format!(
            "{session},4,block_jump,3,5{}'-blue{}30,,cm,\n",
            empty(9),
            empty(5)
        );
        text += &format!("{head},saturday,1,,club,game,,,,0,,false{}\n", empty(21));
        text += &format!(
            "{head},sunday,1,,club,practice,,90,,10,none,true{}\n",
            empty(21)
        );
    }
    text
}

fn of_table(text: &[u8]) -> Result<Programme, Vec<(String, Code)>> {
    let sent = match Sent::from_csv(text) {
        Ok(sent) => sent,
        Err(problem) => {
            let errors = problem.errors.into_iter();
            return Err(errors.map(|fault| (fault.pointer, fault.code)).collect());
        }
    };
    let places = sent.places.unwrap();
    let mut faults = Faults::default();
    let made = sent.programme.check(Some(&Catalogue::of([])), &mut faults);
    let found = faults.into_vec().into_iter();
    let found: Vec<_> = found
        .map(|fault| places.by_line(fault))
        .map(|fault| (fault.pointer, fault.code))
        .collect();
    made.filter(|_| found.is_empty()).ok_or(found)
}

#[test]
fn a_table_is_written_as_it_was_read() {
    let text = long_table(26);
    let made = of_table(text.as_bytes()).unwrap();
    assert_eq!((made.name(), made.length()), ("=Summer", 26));
    assert_eq!(String::from_utf8(table::write(&made)).unwrap(), text);
    for record in csv::Reader::from_reader(text.as_bytes()).records() {
        let runs = record
            .unwrap()
            .iter()
            .find(|cell| cell.starts_with(FORMULA))
            .map(str::to_owned);
        assert_eq!(runs, None);
    }
    // As JSON it is the same programme.
    let json = serde_json::to_value(ProgrammeInput::of(&made)).unwrap();
    assert_eq!(programme(json).unwrap(), made);
}

#[test]
fn a_table_comes_from_a_spreadsheet_in_any_order() {
    let text = long_table(5);
    let made = of_table(text.as_bytes()).unwrap();
    let (header, rows) = text.split_once('\n').unwrap();
    let backwards: Vec<&str> = rows.lines().rev().collect();
    let backwards = format!("\u{feff}{header}\r\n{}\r\n", backwards.join("\r\n"));
    assert_eq!(of_table(backwards.as_bytes()).unwrap(), made);
    // Columns that nothing stands in may be left out.
    let few = "week,block,programme,day,session,setting,kind,order,exercise,sets,reps\n\
        1,One,Short,monday,1,club,practice,1,squat,3,8\n";
    assert_eq!(of_table(few.as_bytes()).unwrap().length(), 1);
}

#[test]
fn a_table_without_numbers_is_taken_as_its_lines_stand() {
    let plain = "programme,block,week,day,setting,kind,exercise,sets,reps\n\
        Short,One,1,monday,club,strength,squat,3,8\n\
        Short,One,1,monday,club,strength,press_up,2,10\n\
        Short,One,1,friday,club,strength,hip_hinge,3,8\n";
    let numbered = "programme,block,week,day,session,setting,kind,order,exercise,sets,reps\n\
        Short,One,1,friday,1,club,strength,1,hip_hinge,3,8\n\
        Short,One,1,monday,1,club,strength,2,press_up,2,10\n\
        Short,One,1,monday,1,club,strength,1,squat,3,8\n";
    let made = of_table(plain.as_bytes()).unwrap();
    assert_eq!(made, of_table(numbered.as_bytes()).unwrap());
    let many = format!(
        "{plain}{}",
        "Short,One,1,friday,club,strength,squat,1,1\n".repeat(30)
    );
    assert_eq!(
        of_table(many.as_bytes()).unwrap_err(),
        [("/rows/33/order".to_owned(), Code::OutOfRange)]
    );
}

#[test]
fn what_is_wrong_in_a_table_is_told_by_line_and_column() {
    let header = "programme,block,week,day,session,setting,kind,minutes,order,exercise,sets,reps,seconds,distance,distance_unit,\
        returns_to_start,load,load_unit";
    let of = |rows: &[&str]| {
        let text = format!("{header}\n{}\n", rows.join("\n"));
        of_table(text.as_bytes()).unwrap_err()
    };
    let good = "P,One,1,monday,1,club,strength,45,1,squat,3,8,,,,,,";
    for (row, column, code) in [
        (
            "P,One,1,monday,1,club,strength,45,2,no_such_hop,3,8,,,,,,",
            "exercise",
            Code::UnknownExercise,
        ),
        (
            "P,One,1,monday,1,club,strength,45,2,squat,3,8,20,,,,,",
            "reps",
            Code::AmbiguousWork,
        ),
        (
            "P,One,1,monday,1,club,strength,45,2,squat,3,,,,,,,",
            "reps",
            Code::MissingField,
        ),
        (
            "P,One,1,monday,1,club,strength,45,2,squat,three,8,,,,,,",
            "sets",
            Code::NotANumber,
        ),
        (
            "P,One,1,monday,1,club,strength,45,1,squat,3,8,,,,,,",
            "order",
            Code::NotUnique,
        ),
        (
            "P,One,1,monday,1,club,strength,45,3,squat,3,8,,,,,,",
            "order",
            Code::OutOfRange,
        ),
        (
            "P,One,1,monday,1,club,strength,60,2,squat,3,8,,,,,,",
            "minutes",
            Code::ContradictingRows,
        ),
        (
            "P,Two,1,monday,1,club,strength,45,2,squat,3,8,,,,,,",
            "block",
            Code::ContradictingRows,
        ),
        (
            "Q,One,1,monday,1,club,strength,45,2,squat,3,8,,,,,,",
            "programme",
            Code::ContradictingRows,
        ),
        (
            "P,One,3,monday,1,club,strength,45,1,squat,3,8,,,,,,",
            "week",
            Code::OutOfRange,
        ),
        (
            "P,One,61,monday,1,club,strength,45,1,squat,3,8,,,,,,",
            "week",
            Code::OutOfRange,
        ),
        (
            "P,One,2,someday,1,club,strength,45,1,squat,3,8,,,,,,",
            "day",
            Code::UnknownValue,
        ),
        (
            "P,One,1,monday,2,gym,strength,45,1,squat,3,8,,,,,,",
            "setting",
            Code::UnknownValue,
        ),
        (
            "P,One,1,monday,1,club,strength,45,2,shuttle_run,3,,,forward,m,,,",
            "distance",
            Code::DistanceNotMeasured,
        ),
        (
            "P,One,1,monday,1,club,strength,45,2,shuttle_run,3,,,forward 9; left 9,m,true,,",
            "distance",
            Code::NotBackAtStart,
        ),
        (
            "P,One,1,monday,1,club,strength,45,2,squat_loaded,3,8,,,,,5,",
            "load_unit",
            Code::MissingField,
        ),
    ] {
        let expected = (format!("/rows/2/{column}"), code);
        assert_eq!(of(&[good, row]), [expected], "{row}");
    }
    let unknown = of_table(b"week,tempo\n1,3-1-1\n").unwrap_err();
    assert_eq!(unknown, [(String::new(), Code::UnknownColumn)]);
    let none = of_table(b"week\n").unwrap_err();
    assert_eq!(none, [("/rows".to_owned(), Code::OutOfRange)]);
}
