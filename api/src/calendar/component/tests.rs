use super::*;

fn read(wanted: &'static str, text: &str) -> Result<Vec<Component>, Refused> {
    let bounds = Bounds::default();
    let mut components = Components::named(wanted, text.as_bytes(), &bounds)?;
    components.by_ref().collect()
}

fn refused(text: &str) -> Code {
    read("VEVENT", text).unwrap_err().code
}

fn only(line: &str) -> Component {
    let text = format!("BEGIN:VCALENDAR\n{line}\nEND:VCALENDAR\n");
    read("VEVENT", &text).unwrap().remove(0)
}

#[test]
fn components_of_a_name_come_before_their_calendar_and_without_what_is_within_them() {
    let text = "BEGIN:VCALENDAR\nVERSION:2.0\n\
        BEGIN:VTIMEZONE\nTZID:Hall\nBEGIN:STANDARD\nTZOFFSETTO:+0100\nEND:STANDARD\nEND:VTIMEZONE\n\
        begin:vevent\nUID:1\nBEGIN:VALARM\nUID:2\nEND:VALARM\nend:vevent\nBEG\n IN:VEVENT\nUID:3\nEND:VEVENT\n\
        BEGIN:VTODO\nBEGIN:VEVENT\nUID:4\nEND:VEVENT\nEND:VTODO\nMETHOD:PUBLISH\nEND:VCALENDAR\n";
    let shown = |wanted| -> Vec<(String, usize, usize)> {
        let read = read(wanted, text).unwrap().into_iter();
        read.map(|one| (one.name, one.properties.len(), one.components.len()))
            .collect()
    };
    let one = |name: &str, properties, components| (name.to_owned(), properties, components);
    assert_eq!(
        shown("VEVENT"),
        [
            one("VEVENT", 1, 0),
            one("VEVENT", 1, 0),
            one("VCALENDAR", 2, 0)
        ]
    );
    assert_eq!(
        shown("VTIMEZONE"),
        [one("VTIMEZONE", 1, 1), one("VCALENDAR", 2, 0)]
    );
}

#[test]
fn a_component_holds_so_many_properties_alone_and_with_those_within_it() {
    let most = Bounds::default().properties;
    let wrapped = |name: &str, held: &str| {
        format!("BEGIN:VCALENDAR\nBEGIN:{name}\n{held}END:{name}\nEND:VCALENDAR\n")
    };
    let exactly = wrapped("VEVENT", &"UID:\n".repeat(most));
    assert_eq!(read("VEVENT", &exactly).unwrap().len(), 2);
    assert_eq!(
        refused(&wrapped("VEVENT", &"UID:\n".repeat(most + 1))),
        Code::TooManyProperties
    );
    assert!(read("VEVENT", &wrapped("VTODO", &"UID:\n".repeat(most + 1))).is_ok());
    let parts = "BEGIN:STANDARD\nTZOFFSETTO:+0100\nEND:STANDARD\n".repeat(most / 2 + 1);
    let zone = read("VTIMEZONE", &wrapped("VTIMEZONE", &parts));
    assert_eq!(zone.unwrap_err().code, Code::TooManyProperties);
    // Of the calendar's own ones as many are held, wherever they stand.
    let between = "UID:\nBEGIN:VEVENT\nEND:VEVENT\n".repeat(most + 1);
    assert_eq!(
        refused(&format!("BEGIN:VCALENDAR\n{between}END:VCALENDAR\n")),
        Code::TooManyProperties
    );
}

#[test]
fn parameters_in_quotes_may_hold_separators() {
    let read = only("dtstart;X-NOTE=\"a:b;c\";tzid=\"Europe/Copenhagen\":20261013T173000");
    let start = read.one("DTSTART").unwrap().unwrap();
    assert_eq!(start.parameter("TZID"), Some("Europe/Copenhagen"));
    assert_eq!(start.value, "20261013T173000");
}

#[test]
fn text_is_unescaped_whatever_the_case_of_its_name() {
    for name in ["SUMMARY", "Summary"] {
        let read = only(&format!(
            "{name};LANGUAGE=da:Hal\\, bane 2\\; sen\\nMed bolde\\\\"
        ));
        let summary = read.one("SUMMARY").unwrap().unwrap();
        assert_eq!(summary.value, "Hal, bane 2; sen\nMed bolde\\");
    }
}

#[test]
fn unknown_properties_are_passed_over_unread() {
    let read = only("X-ANY;;=;\"\":::\nATTENDEE;CN=\"\u{1}\":mailto:coach@club.example");
    assert!(read.properties.is_empty() && read.malformed.is_none());
}

#[test]
fn a_line_that_cannot_be_read_is_told() {
    for line in [
        "DTSTART",
        "DTSTART;*:20261013",
        "DTSTART;TZID=UTC;*:20261013",
    ] {
        assert!(only(line).malformed.is_some(), "{line}");
    }
}

#[test]
fn a_line_is_read_up_to_a_length() {
    let long = "x".repeat(LONGEST);
    assert!(only(&format!("DESCRIPTION:{long}")).malformed.is_some());
    assert!(only(&format!("ATTACH:{long}")).malformed.is_none());
    let parameters = |number| only(&format!("SUMMARY{}:One; two: three", ";a".repeat(number)));
    let read = parameters(MOST_PARAMETERS);
    assert_eq!(
        read.one("SUMMARY").unwrap().unwrap().value,
        "One; two: three"
    );
    assert!(parameters(MOST_PARAMETERS + 1).malformed.is_some());
    let listed = only(&format!("EXDATE:{}", ";".repeat(MOST_PARAMETERS + 1)));
    assert!(
        listed.malformed.is_none(),
        "what is in the value is no parameter"
    );
}

#[test]
fn what_is_no_calendar_is_refused() {
    for text in ["", "\r\n", "<html>", "UID:1", "BEGIN:VEVENT\nEND:VEVENT"] {
        assert_eq!(refused(text), Code::NotACalendar, "{text}");
    }
    for text in [
        "BEGIN:VCALENDAR",
        "BEGIN:VCALENDAR\nBEGIN:VEVENT\nEND:VCALENDAR",
        "BEGIN:VCALENDAR\nEND:VEVENT",
    ] {
        assert_eq!(refused(text), Code::UnbalancedComponents, "{text}");
    }
    let deep = "BEGIN:VCALENDAR\n".repeat(100_000);
    assert_eq!(refused(&deep), Code::NestedTooDeep);
    let many = "BEGIN:VEVENT\nEND:VEVENT\n".repeat(50_000);
    assert_eq!(
        refused(&format!("BEGIN:VCALENDAR\n{many}")),
        Code::TooManyComponents
    );
    assert_eq!(
        refused(&"x".repeat(10 * 1024 * 1024 + 1)),
        Code::TextTooLong
    );
}
