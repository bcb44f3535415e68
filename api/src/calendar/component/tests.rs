use super::*;

fn refused(text: &str) -> Code {
    read(text.as_bytes(), &Bounds::default()).unwrap_err().code
}

fn only(line: &str) -> Component {
    let text = format!("BEGIN:VCALENDAR\n{line}\nEND:VCALENDAR\n");
    read(text.as_bytes(), &Bounds::default()).unwrap().remove(0)
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
    let many = ";a".repeat(LONGEST / 2 - 10);
    let read = only(&format!("SUMMARY{many}:Practice"));
    assert_eq!(read.one("SUMMARY").unwrap().unwrap().value, "Practice");
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
