use jiff::civil::date;

use super::*;

const TODAY: Date = date(2026, 11, 2);

fn faults(change: impl FnOnce(&mut RestrictionInput)) -> Vec<(String, Code)> {
    let text = |text: &str| Some(text.to_owned());
    let mut input = RestrictionInput {
        from: text("2026-11-02"),
        review_date: text("2026-11-13"),
        availability: text("limited"),
        max_minutes: Some(60.into()),
        ..RestrictionInput::default()
    };
    change(&mut input);
    let mut faults = Faults::default();
    let id = uuid::Uuid::nil();
    input.check(id.into(), id.into(), TODAY, &mut faults);
    let faults = faults.into_vec().into_iter();
    faults.map(|fault| (fault.pointer, fault.code)).collect()
}

fn fault(pointer: &str, code: Code) -> Vec<(String, Code)> {
    vec![(pointer.to_owned(), code)]
}

#[test]
fn a_review_lies_within_twelve_months_after_the_first_day() {
    let reviewed = |text: &str| faults(|input| input.review_date = Some(text.to_owned()));
    for fine in ["2026-11-03", "2027-11-02"] {
        assert_eq!(reviewed(fine), []);
    }
    for far in ["2026-11-02", "2026-11-01", "2027-11-03"] {
        assert_eq!(
            reviewed(far),
            fault("/review_date", Code::OutOfRange),
            "{far}"
        );
    }
    let missing = faults(|input| input.review_date = None);
    assert_eq!(missing, fault("/review_date", Code::ReviewDateRequired));
}

#[test]
fn a_last_day_to_come_is_not_before_the_review() {
    let ended = |text: &str| faults(|input| input.until = Some(text.to_owned()));
    for fine in ["2026-11-02", "2026-11-13", "2027-11-02"] {
        assert_eq!(ended(fine), [], "{fine}");
    }
    for wrong in ["2026-11-03", "2026-11-12", "2027-11-03"] {
        assert_eq!(ended(wrong), fault("/until", Code::OutOfRange), "{wrong}");
    }
    assert_eq!(ended("2026-11-01"), fault("/until", Code::RangeReversed));
}

#[test]
fn limits_are_within_what_is_possible_and_at_least_one() {
    for (text, is_fine) in [
        ("1", true),
        ("600", true),
        ("0", false),
        ("601", false),
        ("1.5", false),
    ] {
        let number: Number = serde_json::from_str(text).unwrap();
        let found = faults(|input| input.max_minutes = Some(number));
        let expected = if is_fine {
            vec![]
        } else {
            fault("/max_minutes", Code::OutOfRange)
        };
        assert_eq!(found, expected, "{text}");
    }
    let none = faults(|input| input.max_minutes = None);
    assert_eq!(none, fault("/instruction", Code::MissingField));
    let away = faults(|input| {
        input.max_minutes = None;
        input.availability = Some("not_available".to_owned());
    });
    assert_eq!(away, []);
}

#[test]
fn a_written_clearance_stands_alone() {
    let held = |change: fn(&mut RestrictionInput)| {
        faults(|input| {
            input.written_clearance_required = Some("head_injury".to_owned());
            input.availability = Some("not_available".to_owned());
            input.max_minutes = None;
            change(input);
        })
    };
    assert_eq!(held(|_| {}), []);
    let code = Code::NotWithWrittenClearance;
    assert_eq!(
        held(|input| input.until = Some("2026-11-13".to_owned())),
        fault("/until", code)
    );
    assert_eq!(
        held(|input| input.availability = Some("limited".to_owned())),
        fault("/availability", code)
    );
    assert_eq!(
        held(|input| input.no_games = Some(true)),
        fault("/no_games", code)
    );
    let unknown = held(|input| input.written_clearance_required = Some("knee".to_owned()));
    assert_eq!(
        unknown,
        fault("/written_clearance_required", Code::UnknownValue)
    );
}
