//! Components beside each other: revisions, changes and what is wrong with one of them.

use super::*;

#[test]
fn the_newer_revision_wins_in_any_order() {
    let newer = PRACTICE
        .replace("T173000", "T180000")
        .replace("T190000", "T193000");
    let newer = format!("{newer}\nSEQUENCE:2");
    let older = format!("{PRACTICE}\nSEQUENCE:1");
    for events in [[&*newer, &*older], [&*older, &*newer]] {
        let read = autumn(&calendar(&events));
        assert_eq!(shown(&read.instances), ["2026-10-13T16:00:00Z 90 planned"]);
        assert_eq!(read.problems, []);
    }
    let stamped = |stamp: &str, event: &str| format!("{event}\nDTSTAMP:{stamp}T120000Z");
    let (old, new) = (stamped("20260901", PRACTICE), stamped("20260902", &newer));
    let read = autumn(&calendar(&[&new.replace("\nSEQUENCE:2", ""), &old]));
    assert_eq!(shown(&read.instances), ["2026-10-13T16:00:00Z 90 planned"]);
}

#[test]
fn the_same_twice_is_no_problem_but_other_content_is() {
    assert_eq!(autumn(&calendar(&[PRACTICE, PRACTICE])).problems, []);
    let other = PRACTICE.replace("Practice", "Game");
    let read = autumn(&calendar(&[PRACTICE, &other]));
    assert_eq!(codes(&read), [(2, Code::DuplicateUid)]);
    assert_eq!(read.instances[0].text.summary.as_deref(), Some("Practice"));
}

#[test]
fn a_problem_of_one_component_leaves_the_rest() {
    let unknown = PRACTICE.replace("Europe/Copenhagen", "Hall time");
    let read = autumn(&calendar(&[
        &unknown,
        "UID:2\nDTSTART:20261013T173000\nDURATION:PT1H",
    ]));
    assert_eq!(shown(&read.instances), ["2026-10-13T15:30:00Z 60 planned"]);
    let problem = &read.problems[0];
    assert_eq!((problem.component, problem.line), (1, 4));
    assert_eq!(problem.uid.as_deref(), Some("practice@club.example"));
    assert_eq!(
        (problem.code, problem.detail.as_str()),
        (Code::UnknownZone, "Hall time")
    );
}

#[test]
fn an_instance_whose_change_is_not_taken_is_withheld() {
    let broken = MOVED.replace("PT1H30M", "PT0S");
    let read = autumn(&calendar(&[&format!("{PRACTICE}\n{RULE}"), &broken]));
    assert_eq!(codes(&read), [(2, Code::ZeroDuration)]);
    assert_eq!(read.instances.len(), 7);
    assert!(!shown(&read.instances).contains(&"2026-10-27T16:30:00Z 90 planned".to_owned()));
}

#[test]
fn a_change_whose_event_is_not_there_is_an_instance() {
    let read = autumn(&calendar(&[MOVED]));
    assert_eq!(shown(&read.instances), ["2026-10-28T17:00:00Z 90 moved"]);
    assert!(read.instances[0].recurrence_id.is_some());
}

#[test]
fn an_instance_moved_out_of_the_window_is_still_told() {
    let text = calendar(&[&format!("{PRACTICE}\n{RULE}"), MOVED]);
    let day = date(2026, 10, 27);
    let read = expand(
        text.as_bytes(),
        (day, day),
        &copenhagen(),
        &Bounds::default(),
    )
    .unwrap();
    assert_eq!(shown(&read.instances), ["2026-10-28T17:00:00Z 90 moved"]);
}

#[test]
fn a_day_names_the_instance_on_it() {
    let days = "EXDATE;VALUE=DATE:20261022";
    let moved = MOVED.replace(
        "RECURRENCE-ID;TZID=Europe/Copenhagen:20261027T173000",
        "RECURRENCE-ID;VALUE=DATE:20261027",
    );
    let read = autumn(&calendar(&[&format!("{PRACTICE}\n{RULE}\n{days}"), &moved]));
    assert_eq!(read.instances.len(), 7);
    assert_eq!(read.instances[3].status, Status::Moved);
}

/// RFC 5546, 3.2.5: what is cancelled needs no start.
#[test]
fn a_calendar_that_cancels_gives_cancellations() {
    let text = calendar(&[
        "UID:1\nSEQUENCE:3",
        "UID:2\nRECURRENCE-ID;RANGE=THISANDFUTURE:20261013T153000Z",
    ]);
    let read = autumn(&text.replace("VERSION:2.0", "VERSION:2.0\r\nMETHOD:CANCEL"));
    assert!(read.instances.is_empty() && read.problems.is_empty());
    let [whole, part] = &read.cancellations[..] else {
        panic!("{:?}", read.cancellations);
    };
    assert_eq!(
        (&*whole.uid, whole.recurrence_id, whole.sequence),
        ("1", None, 3)
    );
    let at = RecurrenceId::At("2026-10-13T15:30:00Z".parse().unwrap());
    assert_eq!((part.recurrence_id, part.and_later), (Some(at), true));
}
