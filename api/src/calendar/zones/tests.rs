use jiff::civil::datetime;

use super::*;
use crate::calendar::bounds::Bounds;
use crate::calendar::component::Components;

const COPENHAGEN: &str = "Europe/Copenhagen";

fn zone_of(declaration: &str, tzid: &str, wall: DateTime) -> Result<TimeZone, Code> {
    let text = format!("BEGIN:VCALENDAR\n{declaration}\nEND:VCALENDAR");
    let (bounds, home) = (Bounds::default(), TimeZone::UTC);
    let mut zones = Zones::new(&home);
    for component in Components::named("VTIMEZONE", text.as_bytes(), &bounds).unwrap() {
        zones.declare(&component.unwrap());
    }
    let found = zones.find(tzid, wall);
    found.map_err(|fault| fault.code)
}

/// A zone with the rules of the European Union under a name that is not of the IANA database.
fn declared(more: &str) -> String {
    format!(
        "BEGIN:VTIMEZONE\nTZID:Hall time\n{more}\
         BEGIN:STANDARD\nDTSTART:16010101T030000\nTZOFFSETFROM:+0200\nTZOFFSETTO:+0100\n\
         RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10\nEND:STANDARD\n\
         BEGIN:DAYLIGHT\nDTSTART:16010101T020000\nTZOFFSETFROM:+0100\nTZOFFSETTO:+0200\n\
         RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=3\nEND:DAYLIGHT\nEND:VTIMEZONE"
    )
}

#[test]
fn names_of_the_database_are_found_also_after_a_prefix() {
    let wall = datetime(2026, 10, 13, 17, 30, 0, 0);
    for tzid in [
        COPENHAGEN,
        "europe/copenhagen",
        "/club.example/Europe/Copenhagen",
        "/club.example/2026_1/Europe/Copenhagen",
    ] {
        let found = zone_of("", tzid, wall).unwrap();
        assert_eq!(found.iana_name(), Some(COPENHAGEN), "{tzid}");
    }
    for tzid in ["", "/", "Hall time", "/club.example/Hall", "Etc/Unknown"] {
        assert_eq!(zone_of("", tzid, wall), Err(Code::UnknownZone), "{tzid}");
    }
}

#[test]
fn a_declared_location_is_followed() {
    let text = declared("X-LIC-LOCATION:Europe/Copenhagen\n");
    let found = zone_of(&text, "Hall time", datetime(2026, 1, 1, 0, 0, 0, 0)).unwrap();
    assert_eq!(found.iana_name(), Some(COPENHAGEN));
}

/// The IANA database says the same for Europe/Copenhagen, every six hours of thirty years.
#[test]
fn declared_offsets_are_those_of_the_database() {
    let declared = zone_of(&declared(""), "Hall time", datetime(2026, 1, 1, 0, 0, 0, 0)).unwrap();
    let known = TimeZone::get(COPENHAGEN).unwrap();
    let first = known
        .to_timestamp(datetime(2000, 1, 1, 1, 0, 0, 0))
        .unwrap();
    for step in 0..30 * 366 * 4 {
        let at = first + jiff::SignedDuration::from_hours(6 * step);
        assert_eq!(declared.to_offset(at), known.to_offset(at), "{at}");
    }
}

#[test]
fn one_offset_all_year_is_followed() {
    let text = "BEGIN:VTIMEZONE\nTZID:Fixed\nBEGIN:STANDARD\nDTSTART:19700101T000000\n\
                TZOFFSETFROM:-0330\nTZOFFSETTO:-0330\nEND:STANDARD\nEND:VTIMEZONE";
    let zone = zone_of(text, "Fixed", datetime(2026, 7, 1, 0, 0, 0, 0)).unwrap();
    let at = jiff::Timestamp::UNIX_EPOCH;
    assert_eq!(zone.to_offset(at), Offset::from_seconds(-12_600).unwrap());
}

#[test]
fn what_posix_cannot_say_is_not_guessed() {
    let july = datetime(2026, 7, 1, 0, 0, 0, 0);
    for (from, to) in [
        ("BYDAY=-1SU", "BYDAY=-2SU"),
        ("BYDAY=-1SU;BYMONTH=3", "BYMONTHDAY=25;BYMONTH=3"),
        ("BYMONTH=10\n", "BYMONTH=10\nRDATE:20261025T030000\n"),
        ("TZOFFSETTO:+0200", "TZOFFSETTO:two"),
        ("BYMONTH=3", "BYMONTH=13"),
    ] {
        let text = declared("").replace(from, to);
        assert_eq!(
            zone_of(&text, "Hall time", july),
            Err(Code::UnknownZone),
            "{to}"
        );
    }
}

#[test]
fn dates_before_the_rules_that_hold_are_not_guessed() {
    let past = "BEGIN:STANDARD\nDTSTART:19700101T000000\nTZOFFSETFROM:+0000\n\
                TZOFFSETTO:+0000\nEND:STANDARD\n";
    let text = declared(past).replace("1601", "2020");
    let at = |year| zone_of(&text, "Hall time", datetime(year, 7, 1, 0, 0, 0, 0));
    assert!(at(2026).is_ok());
    assert_eq!(at(2019), Err(Code::UnknownZone));
}
