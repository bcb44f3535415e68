//! What she did and was to do.

use plimsoll_domain::RecordClass;

use super::column::{Form, day, document, half, id, instant, left_out, sealed, text, truth, whole};
use super::{BY_ROLE, Erasing, Hers, SAME_CLUB, SEQUENCE, Table, versions};

pub(super) const TABLES: &[Table] = &[
    Table {
        name: "session_reports",
        means: "a report of a session",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["session_id", "version"],
        columns: versions![
            id("session_id", "the id of the report"),
            id("athlete_id", "her id in this club"),
            text("source", "the program that the report came from"),
            text(
                "natural_key",
                "what the report is told apart by within its source"
            ),
            text("external_id", "its id in that program").or_none(),
            text("event_external_id", "the planned session that it names").or_none(),
            instant("started_at", "when the session began"),
            whole(
                "utc_offset_seconds",
                "how far the clock of the place was ahead of UTC, in seconds"
            ),
            text("time_zone", "the time zone of the place").or_none(),
            day("load_date", "the date that its load counts for"),
            whole("minutes", "how long it took, in minutes"),
            whole(
                "minutes_before_midnight",
                "how many of them lay before midnight"
            )
            .or_none(),
            half("rpe_half", "rpe", "how hard it was for her, 0 to 10"),
            text("setting", "where she trained: club, school, by herself"),
            text("kind", "what it was: practice, game, strength"),
            text(
                "basis",
                "whether the minutes are the whole session's or those she took part"
            ),
            instant("given_at", "when the rating was given"),
            text("given_by", "who gave the rating"),
            sealed("note", ("session_reports.note", "session_id"), "a note").or_none(),
            sealed(
                "reason",
                ("session_reports.reason", "session_id"),
                "why it was changed or removed"
            )
            .or_none(),
        ],
    },
    Table {
        name: "session_contacts",
        means: "landings and throws counted in a session",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["session_id", "version"],
        columns: versions![
            id("session_id", "the id of the report of the session"),
            id("athlete_id", "her id in this club"),
            whole("both_feet", "landings on both feet").or_none(),
            whole("left_foot", "landings on the left foot alone").or_none(),
            whole("right_foot", "landings on the right foot alone").or_none(),
            whole("loaded", "how many of those on feet were under load").or_none(),
            whole("hands", "landings on hands").or_none(),
            whole("throws", "throws").or_none(),
            text("basis", "whether they were counted or estimated"),
        ],
    },
    Table {
        name: "sign_offs",
        means: "a technique of hers that somebody watched and signed off",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["sign_off_id", "version"],
        columns: versions![
            id("sign_off_id", "the id of the sign-off"),
            id("athlete_id", "her id in this club"),
            text("exercise", "the code of the exercise"),
            day("signed_on", "the day it was watched"),
            left_out("watched_by", BY_ROLE),
            text("watched_role", "in which role it was watched"),
            sealed("note", ("sign_offs.note", "sign_off_id"), "what was seen").or_none(),
            sealed(
                "reason",
                ("sign_offs.reason", "sign_off_id"),
                "why it was withdrawn"
            )
            .or_none(),
        ],
    },
    Table {
        name: "programme_assignments",
        means: "a programme that she does by herself, and what is different in it for her; those of her squads are the squads'",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["assignment_id", "version"],
        columns: versions![
            id("assignment_id", "the id of the assignment"),
            id("programme_id", "the id of the programme"),
            whole("programme_version", "which version of it"),
            left_out("squad_id", "empty where it is hers"),
            id("athlete_id", "her id in this club").or_none(),
            day("from_date", "the Monday on which its first week begins"),
            day("until_date", "the last day on which she does it"),
            document("changes", "items that are left out for her, or are others"),
        ],
    },
    Table {
        name: "rest_days",
        means: "a day declared as rest",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["rest_day_id", "version"],
        columns: versions![
            id("rest_day_id", "the id of the record"),
            id("athlete_id", "her id in this club"),
            day("date", "the day"),
            text("given_by", "who said so"),
        ],
    },
    Table {
        name: "declared_histories",
        means: "what was said of her usual week before she joined",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["declared_id", "version"],
        columns: versions![
            id("declared_id", "the id of the record"),
            id("athlete_id", "her id in this club"),
            whole("weekly_minutes_low", "minutes in a week, at least"),
            whole("weekly_minutes_high", "minutes in a week, at most"),
            half(
                "rpe_half_low",
                "rpe_low",
                "how hard it was, 0 to 10, at least"
            ),
            half(
                "rpe_half_high",
                "rpe_high",
                "how hard it was, 0 to 10, at most"
            ),
            text("given_by", "who said so"),
        ],
    },
    Table {
        name: "events",
        means: "a planned session that invites her by name",
        class: RecordClass::Load,
        hers: Hers::Listed,
        erasing: Erasing::TakenOut("athletes", Form::Document),
        order: &["event_id", "version"],
        columns: versions![
            id("event_id", "the id of the planned session"),
            text("source", "the program that it came from"),
            text("natural_key", "what it is told apart by within its source"),
            text("external_id", "its id in that program").or_none(),
            text("setting", "where it is"),
            text("kind", "what it is"),
            instant("starts_at", "when it begins"),
            whole(
                "utc_offset_seconds",
                "how far the clock of the place is ahead of UTC, in seconds"
            ),
            text("time_zone", "the time zone of the place").or_none(),
            day("load_date", "its date"),
            whole("minutes", "how long it takes, in minutes"),
            half(
                "intended_rpe_half",
                "intended_rpe",
                "how hard it is meant to be, 0 to 10"
            )
            .or_none(),
            truth("is_fixed", "whether it cannot be moved"),
            text("status", "whether it takes place"),
            left_out(
                "squads",
                "which squads are invited beside her is about others"
            ),
            left_out("athletes", "names others beside her"),
            left_out(
                "calendar_id",
                "events of calendars invite squads, and nobody by name"
            ),
            left_out(
                "uid",
                "events of calendars invite squads, and nobody by name"
            ),
            left_out(
                "recurrence_id",
                "events of calendars invite squads, and nobody by name"
            ),
        ],
    },
    Table {
        name: "attendance",
        means: "what the list of those present says of her",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["attendance_id", "version"],
        columns: versions![
            id("attendance_id", "the id of the record"),
            id("event_id", "the planned session"),
            id("athlete_id", "her id in this club"),
            text("status", "whether she took part"),
            whole("minutes", "how long, in minutes").or_none(),
            truth("confirmed", "whether an absence was confirmed"),
            text("given_by", "who said so"),
        ],
    },
    Table {
        name: "expected_sessions",
        means: "a planned session that she is invited to",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["event_id"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("athlete_id", "her id in this club"),
            id("event_id", "the planned session"),
            day("load_date", "its date"),
            text("setting", "where it is"),
            text("kind", "what it is"),
            whole("minutes", "how long it takes, in minutes"),
            instant("starts_at", "when it begins"),
            instant("ends_at", "when it ends"),
            text("state", "whether it is answered by a report"),
        ],
    },
    Table {
        name: "day_totals",
        means: "the load of a day in one setting, as counted from the reports",
        class: RecordClass::Load,
        hers: Hers::Own,
        erasing: Erasing::Deleted,
        order: &["date", "setting"],
        columns: &[
            left_out("club_id", SAME_CLUB),
            id("athlete_id", "her id in this club"),
            day("date", "the day"),
            text("setting", "where she trained"),
            half("logged_half", "logged_au", "the load as logged, in AU"),
            half("low_half", "low_au", "the least it can be, in AU"),
            half(
                "high_half",
                "high_au",
                "the most it can be by what was logged, in AU",
            ),
            whole("minutes", "minutes of training"),
            whole("sessions", "how many sessions were logged"),
            whole("expected", "how many were planned"),
            whole("unlogged", "how many planned ones have no report"),
        ],
    },
];
