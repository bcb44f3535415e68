//! No function shows or changes a row of another club.

use plimsoll_api::ids::{AbsenceId, FlagId, MembershipId, RestDayId};
use plimsoll_api::store::absences::Absence;
use plimsoll_api::store::attendance::Attendance;
use plimsoll_api::store::audit::AuditRead;
use plimsoll_api::store::calendars::StoredCalendar;
use plimsoll_api::store::clearances::Clearance;
use plimsoll_api::store::consents::Consent;
use plimsoll_api::store::day_totals::{Days, Totals};
use plimsoll_api::store::declared::DeclaredHistory;
use plimsoll_api::store::directory::Entry;
use plimsoll_api::store::event_warm_ups::EventWarmUp;
use plimsoll_api::store::events::{Event, EventFilter};
use plimsoll_api::store::exercises::ClubExercise;
use plimsoll_api::store::expected::{ExpectedDays, ExpectedSession};
use plimsoll_api::store::flags::{FlagFilter, NewAcknowledgement, NewFlag, NewFlagVersion};
use plimsoll_api::store::guardian_links::GuardianLink;
use plimsoll_api::store::idempotency::StoredAnswer;
use plimsoll_api::store::injuries::Injury;
use plimsoll_api::store::licences::Licence;
use plimsoll_api::store::look_aheads::{LookAhead, LookAheadTime};
use plimsoll_api::store::pain_reports::PainReport;
use plimsoll_api::store::policies::NewPolicy;
use plimsoll_api::store::programme_assignments::Assignment;
use plimsoll_api::store::programmes::StoredProgramme;
use plimsoll_api::store::questions::{Question, QuestionFilter};
use plimsoll_api::store::rest_days::RestDay;
use plimsoll_api::store::restrictions::Restriction;
use plimsoll_api::store::retention::holds::{self, RetentionHold};
use plimsoll_api::store::retention::{runs, settings};
use plimsoll_api::store::roster_sources::{self, StoredRosterSource};
use plimsoll_api::store::second_copies::SecondCopy;
use plimsoll_api::store::session_contacts::SessionContacts;
use plimsoll_api::store::sessions::SessionFilter;
use plimsoll_api::store::sharing_links::SharingLink;
use plimsoll_api::store::sign_offs::SignOff;
use plimsoll_api::store::squads::SquadContent;
use plimsoll_api::store::test_results::TestResult;
use plimsoll_api::store::weeks::ClosedWeek;
use plimsoll_api::store::{
    AbsenceCategory, AttendanceStatus, Certainty, Change, ChangeKind, Clubs, Conn, DataClasses,
    DaySet, ExpectedState, FlagState, Known, Moment, StoreError, Tenant, Who, absences, athletes,
    attendance, audit, calendars, changes, clearances, clubs, consent_settings, consented_reads,
    consents, day_totals, declared, directory, event_warm_ups, events, exercises, expected, flags,
    guardian_links, idempotency, injuries, licences, look_aheads, memberships, pain_reports,
    policies, policy_drafts, programme_assignments, programmes, questions, rest_days, restrictions,
    second_copies, session_contacts, sessions, shared_day_totals, shares, sharing_links, sign_offs,
    squads, subject_records, test_results, testing, weeks,
};
use plimsoll_domain::{GivenBy, RecordClass, Setting};
use serde_json::json;

use crate::clinical;
use crate::policy_drafts::draft_of;
use crate::support::{AUTHOR, Fixture, later, now, on_both_databases, september, write_as};

on_both_databases!(
    another_club_changes_nothing,
    the_same_ids_live_in_two_clubs,
    a_row_cannot_refer_across_clubs;
    filtered:
    another_club_finds_nothing,
);

const TEXT: &[u8] = b"BEGIN:VCALENDAR";
const CALENDAR: uuid::Uuid = uuid::Uuid::from_u128(7);
const SOURCE: uuid::Uuid = uuid::Uuid::from_u128(8);
const DRAFT: uuid::Uuid = uuid::Uuid::from_u128(6);

/// Every thing a club can hold.
#[derive(Clone)]
pub(crate) struct Everything {
    pub(crate) athlete: athletes::Athlete,
    pub(crate) squad: SquadContent,
    pub(crate) membership: memberships::Membership,
    pub(crate) session: sessions::Session,
    pub(crate) counts: SessionContacts,
    pub(crate) rest_day: RestDay,
    pub(crate) absence: Absence,
    pub(crate) test_result: TestResult,
    pub(crate) injury: Injury,
    pub(crate) pain_report: PainReport,
    pub(crate) warm_up: EventWarmUp,
    pub(crate) exercise: ClubExercise,
    pub(crate) sign_off: SignOff,
    pub(crate) question: Question,
    pub(crate) programme: StoredProgramme,
    pub(crate) assignment: Assignment,
    pub(crate) guardian_link: GuardianLink,
    pub(crate) second_copy: SecondCopy,
    pub(crate) directory_entry: Entry,
    pub(crate) licence: Licence,
    pub(crate) restriction: Restriction,
    pub(crate) clearance: Clearance,
    pub(crate) consent: Consent,
    pub(crate) link: SharingLink,
    pub(crate) hold: RetentionHold,
    pub(crate) event: Event,
    pub(crate) calendar: StoredCalendar,
    pub(crate) attendance: Attendance,
    pub(crate) declared: DeclaredHistory,
    pub(crate) flag: NewFlag,
    pub(crate) answer: StoredAnswer,
    pub(crate) read: AuditRead,
}

pub(crate) fn everything(on: &Fixture) -> Everything {
    let athlete = on.athlete("Mara");
    let athlete_id = athlete.athlete_id;
    let squad = SquadContent {
        squad_id: on.id(),
        name: "U17 girls".to_owned(),
        external_id: Some("g".to_owned()),
    };
    let session = sessions::Session {
        event_external_id: Some("hall-1".to_owned()),
        ..on.session(athlete_id, september(7))
    };
    let programme = on.programme();
    Everything {
        membership: on.membership(athlete_id, squad.squad_id),
        counts: on.session_contacts(&session),
        session,
        rest_day: RestDay {
            rest_day_id: on.id(),
            athlete_id,
            date: september(6),
            given_by: GivenBy::Athlete,
        },
        absence: Absence {
            absence_id: on.id(),
            athlete_id,
            from_date: september(10),
            to_date: september(12),
            category: AbsenceCategory::Away,
            given_by: GivenBy::Coach,
        },
        test_result: on.test_result(athlete_id, september(8)),
        injury: on.injury(athlete_id, september(5)),
        pain_report: on.pain_report(athlete_id, september(5)),
        warm_up: on.warm_up(on.id()),
        exercise: on.exercise(),
        sign_off: on.sign_off(athlete_id, september(5)),
        question: on.question(athlete_id),
        assignment: on.assignment(programme.programme_id, athlete_id, september(7)),
        programme,
        guardian_link: on.guardian_link(athlete_id, september(5)),
        second_copy: on.second_copy(athlete_id),
        directory_entry: on.directory_entry(Some(athlete_id)),
        licence: clinical::licence(on, september(30)),
        restriction: clinical::restriction(on, athlete_id, september(8)),
        clearance: clinical::clearance(on, athlete_id, september(9)),
        consent: crate::consents::consent(on, athlete_id),
        link: crate::sharing::link(on, athlete_id),
        hold: crate::retention::hold(on, athlete_id),
        event: Event {
            calendar_id: Some(CALENDAR.into()),
            ..on.event(september(7), &[squad.squad_id])
        },
        calendar: calendar(),
        attendance: Attendance {
            attendance_id: on.id(),
            event_id: on.id(),
            athlete_id,
            status: AttendanceStatus::Present,
            minutes: Some(85),
            confirmed: false,
            given_by: GivenBy::Coach,
        },
        declared: DeclaredHistory {
            declared_id: on.id(),
            athlete_id,
            weekly_minutes_low: 240,
            weekly_minutes_high: 360,
            rpe_half_low: 8,
            rpe_half_high: 12,
            given_by: GivenBy::Guardian,
        },
        flag: NewFlag {
            flag_id: on.id(),
            athlete_id,
            rule: "week_monotony".to_owned(),
            monday: september(7),
        },
        answer: StoredAnswer {
            key_hash: vec![1],
            fingerprint: vec![2],
            status: 200,
            headers: json!({}),
            body: vec![].into(),
            created_at: now(),
            expires_at: later(99),
            erased: false,
        },
        read: AuditRead {
            audit_id: on.id(),
            at: now(),
            subject: "coach-7".to_owned(),
            client: "club-app".to_owned(),
            acting_role: "coach".to_owned(),
            purpose: None,
            athlete_id: Some(athlete_id),
            action: "load_read".to_owned(),
            outcome: "read".to_owned(),
            request_id: "1".to_owned(),
        },
        athlete,
        squad,
    }
}

/// Stores all of it.
pub(crate) fn store_all(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    all: &Everything,
) -> Result<(), StoreError> {
    let athlete_id = all.athlete.athlete_id;
    athletes::insert(
        conn,
        tenant,
        moment,
        AUTHOR,
        std::slice::from_ref(&all.athlete),
    )?;
    squads::insert(conn, tenant, moment, std::slice::from_ref(&all.squad))?;
    memberships::insert(
        conn,
        tenant,
        moment,
        AUTHOR,
        std::slice::from_ref(&all.membership),
    )?;
    sessions::insert(
        conn,
        tenant,
        moment,
        AUTHOR,
        std::slice::from_ref(&all.session),
    )?;
    let counted = std::slice::from_ref(&all.counts);
    session_contacts::insert(conn, tenant, moment, AUTHOR, counted)?;
    rest_days::insert(
        conn,
        tenant,
        moment,
        AUTHOR,
        std::slice::from_ref(&all.rest_day),
    )?;
    absences::insert(
        conn,
        tenant,
        moment,
        AUTHOR,
        std::slice::from_ref(&all.absence),
    )?;
    let tested = std::slice::from_ref(&all.test_result);
    test_results::insert(conn, tenant, moment, AUTHOR, tested)?;
    let injured = std::slice::from_ref(&all.injury);
    injuries::insert(conn, tenant, moment, AUTHOR, injured)?;
    let hurting = std::slice::from_ref(&all.pain_report);
    pain_reports::insert(conn, tenant, moment, AUTHOR, hurting)?;
    let warmed_up = std::slice::from_ref(&all.warm_up);
    event_warm_ups::insert(conn, tenant, moment, AUTHOR, warmed_up)?;
    let added = std::slice::from_ref(&all.exercise);
    exercises::insert(conn, tenant, moment, AUTHOR, added)?;
    let watched = std::slice::from_ref(&all.sign_off);
    sign_offs::insert(conn, tenant, moment, AUTHOR, watched)?;
    let asked = std::slice::from_ref(&all.question);
    questions::insert(conn, tenant, moment, AUTHOR, asked)?;
    let written = std::slice::from_ref(&all.programme);
    programmes::insert(conn, tenant, moment, AUTHOR, written)?;
    let assigned = std::slice::from_ref(&all.assignment);
    programme_assignments::insert(conn, tenant, moment, AUTHOR, assigned)?;
    let guarded = std::slice::from_ref(&all.guardian_link);
    guardian_links::insert(conn, tenant, moment, AUTHOR, guarded)?;
    let copy = std::slice::from_ref(&all.second_copy);
    second_copies::insert(conn, tenant, moment, AUTHOR, copy)?;
    let named = std::slice::from_ref(&all.directory_entry);
    directory::insert(conn, tenant, moment, AUTHOR, named)?;
    let licence = std::slice::from_ref(&all.licence);
    licences::insert(conn, tenant, moment, AUTHOR, licence)?;
    let restriction = std::slice::from_ref(&all.restriction);
    restrictions::insert(conn, tenant, moment, AUTHOR, restriction)?;
    clearances::append(conn, tenant, moment, AUTHOR, all.clearance.clone())?;
    let consent = std::slice::from_ref(&all.consent);
    consents::insert(conn, tenant, moment, AUTHOR, consent)?;
    let settings = (18, DataClasses(vec![]));
    consent_settings::append(conn, tenant, moment, AUTHOR, settings)?;
    holds::insert(
        conn,
        tenant,
        moment,
        AUTHOR,
        std::slice::from_ref(&all.hold),
    )?;
    settings::append(conn, tenant, moment, AUTHOR, &crate::retention::said())?;
    runs::insert(conn, tenant, &crate::retention::run(september(7)))?;
    sharing_links::insert(conn, tenant, &all.link)?;
    let copies = [crate::sharing::copy(&all.link, september(7), 900)];
    let (link, copies) = (all.link.link_id, (&copies[..], &[][..]));
    shared_day_totals::append(conn, tenant, moment, link, copies)?;
    shares::copied(conn, tenant, all.consent.consent_id, 0)?;
    calendars::insert(conn, tenant, &all.calendar)?;
    calendars::set_text(conn, tenant, CALENDAR.into(), TEXT.to_vec().into())?;
    roster_sources::insert(conn, tenant, &roster_source())?;
    let (event, planned) = (&all.event, on_day(all));
    events::insert(conn, tenant, moment, AUTHOR, std::slice::from_ref(event))?;
    events::set_squads(conn, tenant, &[(event.event_id, &event.squads)])?;
    expected::replace(conn, tenant, &planned)?;
    let entry = Attendance {
        event_id: event.event_id,
        ..all.attendance.clone()
    };
    attendance::insert(conn, tenant, moment, AUTHOR, &[entry])?;
    declared::insert(
        conn,
        tenant,
        moment,
        AUTHOR,
        std::slice::from_ref(&all.declared),
    )?;
    let totals = Totals {
        logged_half: 1_080,
        minutes: 90,
        sessions: 1,
        ..Totals::default()
    };
    let days = Days::from([((athlete_id, september(7)), [(Setting::Club, totals)].into())]);
    day_totals::replace(conn, tenant, &days)?;
    let policy = NewPolicy {
        effective_from: september(1),
        approved_by: "Board".to_owned(),
        source_note: "common practice, no source".to_owned(),
        body: json!({}),
        approver: None,
    };
    policies::append(conn, tenant, moment, AUTHOR, &policy)?;
    policy_drafts::insert(conn, tenant, &draft_of(DRAFT.into()))?;
    flags::find_or_create(conn, tenant, moment, std::slice::from_ref(&all.flag))?;
    flags::append(conn, tenant, moment, &[judgement(all.flag.flag_id)])?;
    let acknowledgement = NewAcknowledgement {
        acknowledgement_id: uuid::Uuid::from_u128(5).into(),
        flag_id: all.flag.flag_id,
        flag_version: 1,
        squad_id: Some(all.squad.squad_id),
        action: "talked".to_owned(),
        note: None,
    };
    flags::acknowledge(conn, tenant, moment, AUTHOR, acknowledgement)?;
    let week = ClosedWeek {
        monday: september(7),
        closed_at: now(),
        seq: moment.next_seq(),
        policy_version: Some(1),
        late: false,
    };
    weeks::close(conn, tenant, &week)?;
    let time = LookAheadTime {
        enabled: true,
        weekday: 4,
        minute: 1080,
        set_at: now(),
        version: 1,
    };
    look_aheads::set_time(conn, tenant, &time)?;
    let look = LookAhead {
        monday: september(7),
        made_at: now(),
        seq: moment.next_seq(),
        policy_version: None,
    };
    look_aheads::make(conn, tenant, &look)?;
    idempotency::insert(conn, tenant, &all.answer)?;
    crate::audit::append(conn, tenant, 0, std::slice::from_ref(&all.read))
}

pub(crate) fn calendar() -> StoredCalendar {
    StoredCalendar {
        calendar_id: CALENDAR.into(),
        name: "Hall".to_owned(),
        time_zone: None,
        rules: json!([]),
        etag: None,
        last_modified: None,
        reading: None,
        next_read_at: Some(now()),
        failing_since: None,
        failing_why: None,
        removal_confirmed: false,
        version: 1,
        created_at: now(),
        updated_at: now(),
        feed_url: Some("https://hall.example.org/a.ics".to_owned().into()),
    }
}

pub(crate) fn roster_source() -> StoredRosterSource {
    StoredRosterSource {
        source_id: SOURCE.into(),
        name: "Register".to_owned(),
        client: "club-app".to_owned(),
        every_hours: Some(24),
        settings: json!({}),
        etag: None,
        last_modified: None,
        next_attempt_at: Some(now()),
        not_before: None,
        last_attempt_at: Some(now()),
        last_success_at: None,
        last_problem: Some("refused".to_owned()),
        last_counts: None,
        failing_since: Some(now()),
        failures: 1,
        version: 1,
        created_at: now(),
        updated_at: now(),
        url: Some("https://register.example.org/people".to_owned().into()),
        credentials: Some("{}".to_owned().into()),
    }
}

/// The event as it is expected of the athlete.
fn on_day(all: &Everything) -> ExpectedDays {
    let (athlete_id, event) = (all.athlete.athlete_id, &all.event);
    let session = ExpectedSession {
        athlete_id,
        event_id: event.event_id,
        load_date: event.load_date,
        setting: event.setting,
        kind: event.kind,
        minutes: event.minutes,
        starts_at: event.starts_at,
        ends_at: event.ends_at(),
        state: ExpectedState::Open,
    };
    ExpectedDays::from([((athlete_id, event.load_date), vec![session])])
}

fn judgement(flag_id: FlagId) -> NewFlagVersion {
    NewFlagVersion {
        flag_id,
        state: FlagState::Raised,
        certainty: Certainty::Possible,
        policy_version: 1,
        cause: "week_closed".to_owned(),
        body: json!({}),
    }
}

/// How many things each look-up finds.
fn look_up_all(
    conn: &mut Conn,
    tenant: Tenant,
    all: &Everything,
) -> Result<Vec<(&'static str, usize)>, StoreError> {
    let (who, now_known, as_of) = (Who::WholeClub, Known::Now, Known::AsOf(later(9)));
    let (from, to) = (september(1), september(30));
    let athlete = all.athlete.athlete_id;
    let (squad, session) = (all.squad.squad_id, all.session.session_id);
    let membership: MembershipId = all.membership.membership_id;
    let rest_day: RestDayId = all.rest_day.rest_day_id;
    let absence: AbsenceId = all.absence.absence_id;
    let flag = all.flag.flag_id;
    let programme = all.programme.programme_id;
    let session_list = SessionFilter {
        who,
        from: None,
        to: None,
    };
    let flag_list = FlagFilter {
        who,
        monday: None,
        state: None,
    };
    let event = all.event.event_id;
    let event_list = EventFilter {
        from,
        to,
        squad: None,
        invited: None,
        reach: None,
    };
    let one = usize::from;
    let dates = from
        .series(jiff::Span::new().days(1))
        .take_while(|date| *date <= to);
    let days: DaySet = dates.map(|date| (athlete, date)).collect();
    macro_rules! found {
        ($($name:literal: $count:expr,)+) => { vec![$(($name, $count)),+] };
    }
    Ok(found! {
        "athlete current": one(athletes::current(conn, tenant, athlete)?.is_some()),
        "athlete current_many": athletes::current_many(conn, tenant, &[athlete])?.len(),
        "athlete history": athletes::history(conn, tenant, athlete)?.len(),
        "athlete known": athletes::known(conn, tenant, who, now_known)?.len(),
        "athlete known as of": athletes::known(conn, tenant, Who::Athletes(&[athlete]), as_of)?.len(),
        "athlete of squad": athletes::known(conn, tenant, Who::Squads(&[squad], from), now_known)?.len(),
        "athlete by external id": athletes::by_external_ids(conn, tenant, &["ext-Mara"])?.len(),
        "athlete search": athletes::search(conn, tenant, who, "mara", athletes::NameMatch::Prefix, 9)?.len(),
        "athlete page": athletes::page(conn, tenant, who, None, 9)?.len(),
        "athlete created": one(athletes::created_at(conn, tenant, athlete)?.is_some()),
        "squad find": one(squads::find(conn, tenant, squad)?.is_some()),
        "squad by external id": squads::by_external_ids(conn, tenant, &["g"])?.len(),
        "squad page": squads::page(conn, tenant, None, None, 9)?.len(),
        "membership current": one(memberships::current(conn, tenant, membership)?.is_some()),
        "membership history": memberships::history(conn, tenant, membership)?.len(),
        "membership of athletes": memberships::of_athletes(conn, tenant, &[athlete], now_known)?.len(),
        "membership of squads": memberships::of_squads(conn, tenant, &[squad], from, to, as_of)?.len(),
        "membership athletes": memberships::athletes_of_squads(conn, tenant, &[squad], to)?.len(),
        "membership exists": one(memberships::exists_in_squads(conn, tenant, athlete, &[squad], to)?),
        "session current": one(sessions::current(conn, tenant, session)?.is_some()),
        "session history": sessions::history(conn, tenant, session)?.len(),
        "session by key": sessions::by_natural_keys(conn, tenant, "app", std::slice::from_ref(&all.session.natural_key))?.len(),
        "session in dates": sessions::in_dates(conn, tenant, who, from, to, now_known)?.len(),
        "session as of": sessions::in_dates(conn, tenant, Who::Athletes(&[athlete]), from, to, as_of)?.len(),
        "sessions on days": sessions::on_days(conn, tenant, &days)?.len(),
        "session page": sessions::page(conn, tenant, session_list, None, 9)?.len(),
        "counts current": one(session_contacts::current(conn, tenant, session)?.is_some()),
        "counts of sessions": session_contacts::of_sessions(conn, tenant, &[session], as_of)?.len(),
        "last jumps": one(session_contacts::last_jumps_before(conn, tenant, athlete, to, as_of)?.is_some()),
        "rest day current": one(rest_days::current(conn, tenant, rest_day)?.is_some()),
        "rest day in dates": rest_days::in_dates(conn, tenant, who, from, to, now_known)?.len(),
        "rest day on days": rest_days::on_days(conn, tenant, &days)?.len(),
        "rest day page": rest_days::page(conn, tenant, who, (from, to), None, 9)?.len(),
        "absence current": one(absences::current(conn, tenant, absence)?.is_some()),
        "absence in dates": absences::in_dates(conn, tenant, who, from, to, as_of)?.len(),
        "absence page": absences::page(conn, tenant, who, (from, to), None, 9)?.len(),
        "test result current": one(test_results::current(conn, tenant, all.test_result.test_result_id)?.is_some()),
        "test results until": test_results::until(conn, tenant, who, to, as_of)?.len(),
        "test result page": test_results::page(conn, tenant, who, (from, to), None, 9)?.len(),
        "injury current": one(injuries::current(conn, tenant, all.injury.injury_id)?.is_some()),
        "injuries until": injuries::until(conn, tenant, who, to, as_of)?.len(),
        "guardian link current": one(guardian_links::current(conn, tenant, all.guardian_link.guardian_link_id)?.is_some()),
        "second copy current": one(second_copies::current(conn, tenant, all.second_copy.second_copy_id)?.is_some()),
        "second copies": second_copies::page(conn, tenant, None, None, 9)?.len(),
        "second copies of her": second_copies::one_with(conn, tenant, all.athlete.athlete_id)?.len(),
        "second copies joined": second_copies::joined(conn, tenant, as_of)?.len(),
        "other keys": second_copies::other_keys(conn, tenant, None)?.len(),
        "records of her": second_copies::records_of(conn, tenant, all.athlete.athlete_id)?.sessions.len(),
        "guardian links known": guardian_links::known(conn, tenant, who, as_of)?.len(),
        "directory entry current": one(directory::current(conn, tenant, all.directory_entry.entry_id)?.is_some()),
        "directory entries": directory::of_people(conn, tenant)?.len(),
        "directory entry by user name": one(directory::by_user_name(conn, tenant, "mara.lind")?.is_some()),
        "directory entry by external id": one(directory::by_external_id(conn, tenant, "d-11")?.is_some()),
        "athletes made at": athletes::made_at(conn, tenant, who)?.len(),
        "warm-up current": one(event_warm_ups::current(conn, tenant, all.warm_up.event_id)?.is_some()),
        "warm-ups of events": event_warm_ups::of_events(conn, tenant, &[all.warm_up.event_id], as_of)?.len(),
        "exercise current": one(exercises::current(conn, tenant, all.exercise.exercise_id)?.is_some()),
        "exercises known": exercises::known(conn, tenant, as_of)?.len(),
        "sign-off current": one(sign_offs::current(conn, tenant, all.sign_off.sign_off_id)?.is_some()),
        "sign-offs known": sign_offs::known(conn, tenant, who, as_of)?.len(),
        "programme current": one(programmes::current(conn, tenant, programme)?.is_some()),
        "programme known": one(programmes::known(conn, tenant, programme, as_of)?.is_some()),
        "programme changed": changed(conn, tenant, ChangeKind::Programme)?,
        "assignment changed": changed(conn, tenant, ChangeKind::ProgrammeAssignment)?,
        "warm-up changed": changed(conn, tenant, ChangeKind::EventWarmUp)?,
        "question changed": changed(conn, tenant, ChangeKind::Question)?,
        "programme in a version": programmes::in_versions(conn, tenant, &[(programme, 1)])?.len(),
        "programme page": programmes::page(conn, tenant, None, 9)?.len(),
        "programmes counted": usize::try_from(programmes::count(conn, tenant)?).unwrap(),
        "assignment current": one(programme_assignments::current(conn, tenant, all.assignment.assignment_id)?.is_some()),
        "assignments of a programme": programme_assignments::of_programme(conn, tenant, programme, from)?.len(),
        "own assignments of a programme":
            programme_assignments::own_of_programme(conn, tenant, programme, (from, to), as_of)?.len(),
        "assignments of an athlete":
            programme_assignments::of_athlete(conn, tenant, (all.athlete.athlete_id, &[]), (from, to), as_of)?.len(),
        "question current": one(questions::current(conn, tenant, all.question.question_id)?.is_some()),
        "question page": questions::page(conn, tenant, who, QuestionFilter::default(), None, 9)?.len(),
        "questions open": usize::try_from(questions::count_open(conn, tenant, all.athlete.athlete_id)?).unwrap_or_default(),
        "pain report current": one(pain_reports::current(conn, tenant, all.pain_report.pain_report_id)?.is_some()),
        "pain reports in dates": pain_reports::in_dates(conn, tenant, who, (from, to), as_of)?.len(),
        "pain report page": pain_reports::page(conn, tenant, who, (from, to), None, 9)?.len(),
        "injury page": injuries::page(conn, tenant, who, (from, to), None, 9)?.len(),
        "licence current": one(licences::current(conn, tenant, all.licence.licence_id)?.is_some()),
        "licence valid": licences::valid(conn, tenant, "trainer-1", to)?.len(),
        "licence page": licences::page(conn, tenant, None, 9)?.len(),
        "restriction current": one(restrictions::current(conn, tenant, all.restriction.restriction_id)?.is_some()),
        "restriction in dates": restrictions::in_dates(conn, tenant, who, from, to, as_of)?.len(),
        "restriction page": restrictions::page(conn, tenant, who, None, 9)?.len(),
        "clearances known": clearances::known(conn, tenant, who, as_of)?.len(),
        "clearance page": clearances::page(conn, tenant, who, None, 9)?.len(),
        "consent current": one(consents::current(conn, tenant, all.consent.consent_id)?.is_some()),
        "consents of": consents::of(conn, tenant, who)?.len(),
        "consent page": consents::page(conn, tenant, athlete, None, 9)?.len(),
        "consent settings": consent_settings::history(conn, tenant)?.len(),
        "reads behind consents": consented_reads::page(conn, tenant, &["load_read"], (now(), uuid::Uuid::nil().into()), 9)?.len(),
        "hold current": one(holds::current(conn, tenant, all.hold.hold_id)?.is_some()),
        "holds of": holds::of(conn, tenant, who)?.len(),
        "hold page": holds::page(conn, tenant, athlete, None, 9)?.len(),
        "retention settings": settings::history(conn, tenant)?.len(),
        "retention run": one(runs::latest(conn, tenant)?.is_some()),
        "last days": memberships::last_days(conn, tenant, as_of)?.len(),
        "records of load": subject_records::kept(conn, tenant, &[athlete])?.iter().filter(|one| one.1 == RecordClass::Load).count(),
        "link": one(sharing_links::find(conn, tenant, all.link.link_id)?.is_some()),
        "links of": sharing_links::of(conn, tenant, who)?.len(),
        "link page": sharing_links::page(conn, tenant, athlete, None, 9)?.len(),
        "copies": shared_day_totals::in_dates(conn, tenant, who, (from, to), as_of)?.len(),
        "copies of link": shared_day_totals::of_link(conn, tenant, all.link.link_id)?.len(),
        "links with copies": shared_day_totals::links(conn, tenant)?.len(),
        "shares": shares::all(conn, tenant)?.len(),
        "event current": one(events::current(conn, tenant, event)?.is_some()),
        "calendar": one(calendars::find(conn, tenant, CALENDAR.into())?.is_some_and(|found| found == all.calendar)),
        "calendar text": one(calendars::text(conn, tenant, CALENDAR.into())?.is_some_and(|text| &*text == TEXT)),
        "calendars": usize::try_from(calendars::count(conn, tenant)?).unwrap(),
        "calendar taken": one(calendars::is_taken(conn, tenant, CALENDAR.into())?),
        "calendar page": calendars::page(conn, tenant, None, 9)?.len(),
        "roster source": one(roster_sources::find(conn, tenant, SOURCE.into())?.is_some_and(|found| found == roster_source())),
        "roster sources": usize::try_from(roster_sources::count(conn, tenant)?).unwrap(),
        "roster source taken": one(roster_sources::is_taken(conn, tenant, SOURCE.into())?),
        "roster source page": roster_sources::page(conn, tenant, None, 9)?.len(),
        "event of calendar": events::of_calendar(conn, tenant, CALENDAR.into(), from)?.len(),
        "event by keys": events::by_natural_keys(conn, tenant, "hall", &["id:hall-1"])?.len(),
        "event history": events::history(conn, tenant, event)?.len(),
        "event in dates": events::in_dates(conn, tenant, from, to, as_of)?.len(),
        "event dates of squads": events::dates_of_squads(conn, tenant, &[squad], from, to)?.len(),
        "memberships of the club": memberships::all(conn, tenant, as_of)?.len(),
        "event by key": one(events::by_natural_key(conn, tenant, "hall", "id:hall-1")?.is_some()),
        "event by external id": events::by_external_ids(conn, tenant, &["hall-1"])?.len(),
        "event page": events::page(conn, tenant, event_list, None, 9)?.len(),
        "event page of invited": events::page(conn, tenant, EventFilter { invited: Some(&[athlete]), ..event_list }, None, 9)?.len(),
        "event page of squad": events::page(conn, tenant, EventFilter { squad: Some(squad), ..event_list }, None, 9)?.len(),
        "event page in reach": events::page(conn, tenant, EventFilter { reach: Some((&[squad], &[])), ..event_list }, None, 9)?.len(),
        "attendance current": one(attendance::current(conn, tenant, all.attendance.attendance_id)?.is_some()),
        "attendance find": one(attendance::find(conn, tenant, event, athlete)?.is_some()),
        "attendance of events": attendance::of_events(conn, tenant, who, &[event], now_known)?.len(),
        "attendance page": attendance::page(conn, tenant, who, Some(event), None, 9)?.len(),
        "declared current": one(declared::current(conn, tenant, all.declared.declared_id)?.is_some()),
        "declared of athlete": one(declared::of_athlete(conn, tenant, athlete, as_of)?.is_some()),
        "expected open": expected::open_in_dates(conn, tenant, who, from, to)?.len(),
        "expected on date": expected::on_date(conn, tenant, &[athlete], september(7))?.len(),
        "expected of event": expected::of_event(conn, tenant, event)?.len(),
        "session naming event": sessions::naming_events(conn, tenant, &["hall-1"], from, to)?.len(),
        "day totals": day_totals::in_dates(conn, tenant, who, from, to)?.len(),
        "day totals on days": day_totals::on_days(conn, tenant, &days)?.len(),
        "policy latest": one(policies::latest(conn, tenant)?.is_some()),
        "policy find": one(policies::find(conn, tenant, 1)?.is_some()),
        "policy history": policies::history(conn, tenant, as_of)?.len(),
        "policy in force": one(policies::in_force(conn, tenant, to, now_known)?.is_some()),
        "policy draft": one(policy_drafts::find(conn, tenant, DRAFT.into())?.is_some()),
        "policy draft page": policy_drafts::page(conn, tenant, None, 9)?.len(),
        "flag current": one(flags::current(conn, tenant, flag)?.is_some()),
        "flag history": flags::history(conn, tenant, flag)?.len(),
        "flag in weeks": flags::in_weeks(conn, tenant, who, from, to, now_known)?.len(),
        "flags raised": flags::raised_in_weeks(conn, tenant, from, to)?.len(),
        "flag page": flags::page(conn, tenant, flag_list, None, 9)?.len(),
        "acknowledgements": flags::acknowledgements(conn, tenant, &[flag])?.len(),
        "look-ahead time": one(look_aheads::time(conn, tenant)?.is_some()),
        "look-ahead": one(look_aheads::made(conn, tenant, september(7))?.is_some()),
        "week latest": one(weeks::latest(conn, tenant)?.is_some()),
        "weeks newest": weeks::newest(conn, tenant, 9)?.len(),
        "week in dates": weeks::in_dates(conn, tenant, from, to)?.len(),
        "answer": one(idempotency::find(conn, tenant, &all.answer.key_hash, now())?.is_some()),
        "audit head": one(audit::head(conn, tenant)?.is_some()),
        "audit chain": audit::chain(conn, tenant, (0, 9), 9)?.len(),
        "reads": audit::page(conn, tenant, Some(athlete), None, 9)?.len(),
    })
}

/// How many records of a kind the list of changes tells.
fn changed(conn: &mut Conn, tenant: Tenant, kind: ChangeKind) -> Result<usize, StoreError> {
    let all = changes::since(conn, tenant, i64::MIN, 999)?;
    Ok(all.iter().filter(|one| one.kind == kind).count())
}

async fn another_club_finds_nothing(on: Fixture) {
    let other = on.other_club().await;
    let all = everything(&on);
    let rows = all.clone();
    on.write(now(), move |conn, tenant, moment| {
        store_all(conn, tenant, moment, &rows)
    })
    .await
    .unwrap();
    // Both may be seen, so that the queries alone keep them apart.
    let (tenant, both) = (on.tenant, Clubs::Two(on.tenant, other));
    let looked_up = on.store.read(both, move |conn| {
        Ok::<_, StoreError>((
            look_up_all(conn, tenant, &all)?,
            look_up_all(conn, other, &all)?,
        ))
    });
    let (own, foreign) = looked_up.await.unwrap();
    let missed: Vec<_> = own.iter().filter(|(_, found)| *found != 1).collect();
    assert!(missed.is_empty(), "not found by its own club: {missed:?}");
    let leaked: Vec<_> = foreign.iter().filter(|(_, found)| *found != 0).collect();
    assert!(leaked.is_empty(), "found by another club: {leaked:?}");
}

async fn another_club_changes_nothing(on: Fixture) {
    let other = on.other_club().await;
    let all = everything(&on);
    let rows = all.clone();
    on.write(now(), move |conn, tenant, moment| {
        store_all(conn, tenant, moment, &rows)
    })
    .await
    .unwrap();

    let session = Change {
        replaces: 1,
        content: all.session.clone(),
        deleted: true,
    };
    let refused = write_as(&on.store, other, later(1), move |conn, tenant, moment| {
        sessions::supersede(conn, tenant, moment, AUTHOR, &[session])
    })
    .await;
    assert!(matches!(refused, Err(StoreError::NotFound)), "{refused:?}");
    let squad = all.squad.clone();
    let refused = write_as(&on.store, other, later(1), move |conn, tenant, moment| {
        squads::update(conn, tenant, 1, moment, &squad)
    })
    .await;
    assert!(matches!(refused, Err(StoreError::NotFound)), "{refused:?}");
    let flag_id = all.flag.flag_id;
    let refused = write_as(&on.store, other, later(1), move |conn, tenant, moment| {
        flags::append(conn, tenant, moment, &[judgement(flag_id)])
    })
    .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");

    let own = on
        .read(move |conn, tenant| look_up_all(conn, tenant, &all))
        .await;
    assert!(own.iter().all(|(_, found)| *found == 1), "{own:?}");
}

async fn the_same_ids_live_in_two_clubs(on: Fixture) {
    let other = on.other_club().await;
    let all = everything(&on);
    for tenant in [on.tenant, other] {
        let rows = all.clone();
        write_as(&on.store, tenant, now(), move |conn, tenant, moment| {
            store_all(conn, tenant, moment, &rows)
        })
        .await
        .unwrap();
    }
    let athlete_id = all.athlete.athlete_id;
    let days = Days::from([((athlete_id, september(7)), [].into())]);
    let session = Change {
        replaces: 1,
        content: all.session.clone(),
        deleted: true,
    };
    write_as(&on.store, other, later(1), move |conn, tenant, moment| {
        day_totals::replace(conn, tenant, &days)?;
        sessions::supersede(conn, tenant, moment, AUTHOR, &[session])?;
        clubs::update(conn, tenant, 1, "Other", "UTC")
    })
    .await
    .unwrap();
    let own = on
        .read(move |conn, tenant| look_up_all(conn, tenant, &all))
        .await;
    assert!(own.iter().all(|(_, found)| *found == 1), "{own:?}");
    assert_eq!(on.read(clubs::find).await.unwrap().name, "HSG Nordufer");
    let rows = on
        .read(|conn, _| testing::number(conn, "SELECT count(*) FROM day_totals"))
        .await;
    assert_eq!(rows, 1);
}

async fn a_row_cannot_refer_across_clubs(on: Fixture) {
    let other = on.other_club().await;
    let (mara, girls) = (
        on.add_athlete("Mara").await,
        on.add_squad("U17 girls").await,
    );
    let session = on.session(mara, september(7));
    let refused = write_as(&on.store, other, now(), move |conn, tenant, moment| {
        sessions::insert(conn, tenant, moment, AUTHOR, &[session])
    })
    .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");

    let theirs = on.athlete("Theirs");
    let membership = on.membership(theirs.athlete_id, girls);
    let refused = write_as(&on.store, other, now(), move |conn, tenant, moment| {
        athletes::insert(conn, tenant, moment, AUTHOR, &[theirs])?;
        memberships::insert(conn, tenant, moment, AUTHOR, &[membership])
    })
    .await;
    assert!(matches!(refused, Err(StoreError::Reference)), "{refused:?}");
    let seen = on
        .store
        .read(other, move |conn| {
            athletes::page(conn, other, Who::WholeClub, None, 9).map(|found| found.len())
        })
        .await
        .unwrap();
    assert_eq!(seen, 0);
}
