//! The tables, the same on both databases; `migrations/` makes them.
//!
//! Every primary key, unique key, foreign key and index begins with `club_id`: a row of another
//! club cannot be named by mistake, and the tables can be spread over machines by club.

/// Declares tables with diesel's SQL types and our own.
macro_rules! tables {
    ($($name:ident ($($key:ident),+) { $($body:tt)* })+) => {
        $(diesel::table! {
            use diesel::sql_types::{BigInt, Binary, Bool, Integer, Nullable, Text};
            use crate::store::types::{Code, Day, Document, Id, Instant, Seal};

            $name ($($key),+) { $($body)* }
        })+
    };
}

/// Lets queries name tables together: these only, since of all tables it would be thousands of implementations, which the compiler
/// takes longer for than for the rest of the crate.
macro_rules! together {
    ($($one:ident with $($other:ident),+;)+) => {
        $($(diesel::allow_tables_to_appear_in_same_query!($one, $other);)+)+
    };
}

together! {
    memberships with absences, athlete_versions, athletes, attendance, clearance_records, consents, day_totals, expected_sessions,
        flag_versions, flags, guardian_links, injuries, pain_reports, questions, rest_days, restrictions, retention_holds, session_reports,
        shared_day_totals, sharing_links, sign_offs, squads, test_results;
    second_copies with athlete_versions;
    events with event_squads, expected_sessions;
    flags with flag_versions;
    session_contacts with session_reports;
    shares with clubs;
    deliveries with delivery_attempts, notice_endpoints, notices;
    delivery_attempts with notice_endpoints, notices;
}

tables! {
    clubs (club_id) {
        club_id -> Id,
        name -> Text,
        time_zone -> Text,
        version -> Integer,
        last_seq -> BigInt,
        last_received_at -> Instant,
        created_at -> Instant,
    }

    club_keys (club_id, number) {
        club_id -> Id,
        number -> Integer,
        wrapped -> Binary,
        master_key -> Binary,
        made_at -> Instant,
        retired_at -> Nullable<Instant>,
    }

    policies (club_id, version) {
        club_id -> Id,
        version -> Integer,
        effective_from -> Day,
        approved_by -> Text,
        source_note -> Text,
        body -> Document,
        received_at -> Instant,
        seq -> BigInt,
        author -> Text,
        approver -> Nullable<Text>,
    }

    policy_drafts (club_id, draft_id) {
        club_id -> Id,
        draft_id -> Id,
        body -> Document,
        written_by -> Text,
        written_at -> Instant,
        changed_by -> Text,
        changed_at -> Instant,
        version -> Integer,
    }

    squads (club_id, squad_id) {
        club_id -> Id,
        squad_id -> Id,
        name -> Text,
        external_id -> Nullable<Text>,
        version -> Integer,
        created_at -> Instant,
        updated_at -> Instant,
        seq -> BigInt,
    }

    athletes (club_id, athlete_id) {
        club_id -> Id,
        athlete_id -> Id,
        created_at -> Instant,
    }

    athlete_versions (club_id, athlete_id, version) {
        club_id -> Id,
        athlete_id -> Id,
        external_id -> Nullable<Text>,
        source -> Text,
        display_name -> Text,
        name_key -> Text,
        birth_date -> Nullable<Day>,
        joined_on -> Day,
        time_zone -> Nullable<Text>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    second_copies (club_id, second_copy_id, version) {
        club_id -> Id,
        second_copy_id -> Id,
        athlete_id -> Id,
        of_athlete_id -> Id,
        decision -> Code,
        carried -> Nullable<Document>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    memberships (club_id, membership_id, version) {
        club_id -> Id,
        membership_id -> Id,
        squad_id -> Id,
        athlete_id -> Id,
        role -> Code,
        from_date -> Day,
        to_date -> Nullable<Day>,
        is_primary -> Bool,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    session_reports (club_id, session_id, version) {
        club_id -> Id,
        session_id -> Id,
        athlete_id -> Id,
        source -> Text,
        natural_key -> Text,
        external_id -> Nullable<Text>,
        event_external_id -> Nullable<Text>,
        started_at -> Instant,
        utc_offset_seconds -> Integer,
        time_zone -> Nullable<Text>,
        load_date -> Day,
        minutes -> Integer,
        minutes_before_midnight -> Nullable<Integer>,
        rpe_half -> Integer,
        setting -> Code,
        kind -> Code,
        basis -> Code,
        given_at -> Instant,
        given_by -> Code,
        note -> Nullable<Seal>,
        reason -> Nullable<Seal>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    rest_days (club_id, rest_day_id, version) {
        club_id -> Id,
        rest_day_id -> Id,
        athlete_id -> Id,
        date -> Day,
        given_by -> Code,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    absences (club_id, absence_id, version) {
        club_id -> Id,
        absence_id -> Id,
        athlete_id -> Id,
        from_date -> Day,
        to_date -> Day,
        category -> Code,
        given_by -> Code,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    licences (club_id, licence_id, version) {
        club_id -> Id,
        licence_id -> Id,
        subject -> Text,
        name -> Text,
        licence_type -> Text,
        valid_until -> Day,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    restrictions (club_id, restriction_id, version) {
        club_id -> Id,
        restriction_id -> Id,
        athlete_id -> Id,
        from_date -> Day,
        until_date -> Nullable<Day>,
        review_date -> Day,
        availability -> Code,
        max_minutes -> Nullable<Integer>,
        max_week_au -> Nullable<Integer>,
        max_contacts -> Nullable<Integer>,
        no_games -> Bool,
        no_jumps -> Bool,
        no_throws -> Bool,
        no_contact -> Bool,
        instruction -> Nullable<Seal>,
        note -> Nullable<Seal>,
        written_clearance -> Nullable<Code>,
        reason -> Nullable<Seal>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    clearance_records (club_id, clearance_id) {
        club_id -> Id,
        clearance_id -> Id,
        athlete_id -> Id,
        restriction_id -> Nullable<Id>,
        decision -> Code,
        scope -> Seal,
        name -> Text,
        licence_type -> Text,
        decided_on -> Day,
        document_reference -> Seal,
        received_at -> Instant,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
    }

    test_results (club_id, test_result_id, version) {
        club_id -> Id,
        test_result_id -> Id,
        athlete_id -> Id,
        test -> Text,
        unit -> Text,
        better -> Code,
        side -> Code,
        trials -> Document,
        tested_on -> Day,
        tester -> Text,
        phase -> Code,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    injuries (club_id, injury_id, version) {
        club_id -> Id,
        injury_id -> Id,
        athlete_id -> Id,
        side -> Code,
        injured_on -> Day,
        surgery_on -> Nullable<Day>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    session_contacts (club_id, session_id, version) {
        club_id -> Id,
        session_id -> Id,
        athlete_id -> Id,
        both_feet -> Nullable<Integer>,
        left_foot -> Nullable<Integer>,
        right_foot -> Nullable<Integer>,
        loaded -> Nullable<Integer>,
        hands -> Nullable<Integer>,
        throws -> Nullable<Integer>,
        basis -> Code,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    pain_reports (club_id, pain_report_id, version) {
        club_id -> Id,
        pain_report_id -> Id,
        athlete_id -> Id,
        felt_on -> Day,
        area -> Nullable<Code>,
        side -> Nullable<Code>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    exercises (club_id, exercise_id, version) {
        club_id -> Id,
        exercise_id -> Id,
        code -> Text,
        film_url -> Nullable<Text>,
        content -> Nullable<Document>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    sign_offs (club_id, sign_off_id, version) {
        club_id -> Id,
        sign_off_id -> Id,
        athlete_id -> Id,
        exercise -> Text,
        signed_on -> Day,
        watched_by -> Text,
        watched_role -> Text,
        note -> Nullable<Seal>,
        reason -> Nullable<Seal>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    event_warm_ups (club_id, event_id, version) {
        club_id -> Id,
        event_id -> Id,
        minutes -> Integer,
        categories -> Document,
        feedback -> Bool,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    questions (club_id, question_id, version) {
        club_id -> Id,
        question_id -> Id,
        athlete_id -> Id,
        about -> Document,
        hurts -> Bool,
        text -> Seal,
        asked_by -> Text,
        asked_at -> Instant,
        is_open -> Bool,
        reply -> Nullable<Seal>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    programmes (club_id, programme_id, version) {
        club_id -> Id,
        programme_id -> Id,
        name -> Text,
        weeks -> Integer,
        content -> Document,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    programme_assignments (club_id, assignment_id, version) {
        club_id -> Id,
        assignment_id -> Id,
        programme_id -> Id,
        programme_version -> Integer,
        squad_id -> Nullable<Id>,
        athlete_id -> Nullable<Id>,
        from_date -> Day,
        until_date -> Day,
        changes -> Document,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    guardian_links (club_id, guardian_link_id, version) {
        club_id -> Id,
        guardian_link_id -> Id,
        athlete_id -> Id,
        external_id -> Text,
        from_date -> Day,
        to_date -> Nullable<Day>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    directory_entries (club_id, entry_id, version) {
        club_id -> Id,
        entry_id -> Id,
        athlete_id -> Nullable<Id>,
        squad_id -> Nullable<Id>,
        user_name -> Nullable<Text>,
        user_name_key -> Nullable<Text>,
        external_id -> Nullable<Text>,
        display_name -> Nullable<Text>,
        roles -> Text,
        active -> Bool,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    events (club_id, event_id, version) {
        club_id -> Id,
        event_id -> Id,
        source -> Text,
        natural_key -> Text,
        external_id -> Nullable<Text>,
        setting -> Code,
        kind -> Code,
        starts_at -> Instant,
        utc_offset_seconds -> Integer,
        time_zone -> Nullable<Text>,
        load_date -> Day,
        minutes -> Integer,
        intended_rpe_half -> Nullable<Integer>,
        is_fixed -> Bool,
        status -> Code,
        squads -> Document,
        athletes -> Document,
        calendar_id -> Nullable<Id>,
        uid -> Nullable<Text>,
        recurrence_id -> Nullable<Text>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    calendars (club_id, calendar_id) {
        club_id -> Id,
        calendar_id -> Id,
        name -> Text,
        time_zone -> Nullable<Text>,
        rules -> Document,
        feed_url -> Nullable<Seal>,
        content -> Nullable<Seal>,
        etag -> Nullable<Text>,
        last_modified -> Nullable<Text>,
        reading -> Nullable<Document>,
        next_read_at -> Nullable<Instant>,
        failing_since -> Nullable<Instant>,
        failing_why -> Nullable<Text>,
        removal_confirmed -> Bool,
        version -> Integer,
        created_at -> Instant,
        updated_at -> Instant,
        deleted -> Bool,
    }

    roster_sources (club_id, source_id) {
        club_id -> Id,
        source_id -> Id,
        name -> Text,
        client -> Text,
        url -> Nullable<Seal>,
        credentials -> Nullable<Seal>,
        every_hours -> Nullable<Integer>,
        settings -> Document,
        etag -> Nullable<Text>,
        last_modified -> Nullable<Text>,
        next_attempt_at -> Nullable<Instant>,
        not_before -> Nullable<Instant>,
        last_attempt_at -> Nullable<Instant>,
        last_success_at -> Nullable<Instant>,
        last_problem -> Nullable<Text>,
        last_counts -> Nullable<Document>,
        failing_since -> Nullable<Instant>,
        failures -> Integer,
        version -> Integer,
        created_at -> Instant,
        updated_at -> Instant,
        deleted -> Bool,
    }

    event_squads (club_id, event_id, squad_id) {
        club_id -> Id,
        event_id -> Id,
        squad_id -> Id,
    }

    attendance (club_id, attendance_id, version) {
        club_id -> Id,
        attendance_id -> Id,
        event_id -> Id,
        athlete_id -> Id,
        status -> Code,
        minutes -> Nullable<Integer>,
        confirmed -> Bool,
        given_by -> Code,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    declared_histories (club_id, declared_id, version) {
        club_id -> Id,
        declared_id -> Id,
        athlete_id -> Id,
        weekly_minutes_low -> Integer,
        weekly_minutes_high -> Integer,
        rpe_half_low -> Integer,
        rpe_half_high -> Integer,
        given_by -> Code,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    expected_sessions (club_id, athlete_id, event_id) {
        club_id -> Id,
        athlete_id -> Id,
        event_id -> Id,
        load_date -> Day,
        setting -> Code,
        kind -> Code,
        minutes -> Integer,
        starts_at -> Instant,
        ends_at -> Instant,
        state -> Code,
    }

    day_totals (club_id, athlete_id, date, setting) {
        club_id -> Id,
        athlete_id -> Id,
        date -> Day,
        setting -> Code,
        logged_half -> BigInt,
        low_half -> BigInt,
        high_half -> BigInt,
        minutes -> Integer,
        sessions -> Integer,
        expected -> Integer,
        unlogged -> Integer,
    }

    closing_times (club_id) {
        club_id -> Id,
        weekday -> Integer,
        minute -> Integer,
        version -> Integer,
    }

    closed_weeks (club_id, monday) {
        club_id -> Id,
        monday -> Day,
        closed_at -> Instant,
        seq -> BigInt,
        policy_version -> Nullable<Integer>,
        late -> Bool,
    }

    look_ahead_times (club_id) {
        club_id -> Id,
        enabled -> Bool,
        weekday -> Integer,
        minute -> Integer,
        set_at -> Instant,
        version -> Integer,
    }

    look_aheads (club_id, monday) {
        club_id -> Id,
        monday -> Day,
        made_at -> Instant,
        seq -> BigInt,
        policy_version -> Nullable<Integer>,
    }

    flags (club_id, flag_id) {
        club_id -> Id,
        flag_id -> Id,
        athlete_id -> Id,
        rule -> Text,
        monday -> Day,
        created_at -> Instant,
    }

    flag_versions (club_id, flag_id, version) {
        club_id -> Id,
        flag_id -> Id,
        version -> Integer,
        state -> Code,
        certainty -> Code,
        policy_version -> Integer,
        cause -> Text,
        body -> Document,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        hidden_at -> Nullable<Instant>,
    }

    flag_acknowledgements (club_id, flag_id, acknowledgement_id) {
        club_id -> Id,
        flag_id -> Id,
        acknowledgement_id -> Id,
        flag_version -> Integer,
        squad_id -> Nullable<Id>,
        action -> Text,
        note -> Nullable<Seal>,
        by_subject -> Text,
        acting_role -> Text,
        received_at -> Instant,
        seq -> BigInt,
    }

    idempotency_keys (club_id, key_hash) {
        club_id -> Id,
        key_hash -> Binary,
        fingerprint -> Binary,
        status -> Integer,
        headers -> Document,
        body -> Seal,
        created_at -> Instant,
        expires_at -> Instant,
        erased -> Bool,
    }

    erasures (club_id, erasure_id) {
        club_id -> Id,
        erasure_id -> Id,
        athlete_id -> Id,
        at -> Instant,
        by_subject -> Text,
        acting_role -> Text,
        reason -> Code,
        counts -> Document,
        filed_at -> Nullable<Instant>,
        cleaned_at -> Nullable<Instant>,
        seq -> BigInt,
    }

    withheld_weeks (club_id, squad_id, monday) {
        club_id -> Id,
        squad_id -> Id,
        monday -> Day,
    }

    consent_settings (club_id, version) {
        club_id -> Id,
        version -> Integer,
        own_age -> Integer,
        needed_for -> Document,
        received_at -> Instant,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
    }

    retention_settings (club_id, version) {
        club_id -> Id,
        version -> Integer,
        record_regime -> Code,
        terms -> Document,
        source_note -> Nullable<Text>,
        received_at -> Instant,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
    }

    retention_holds (club_id, hold_id, version) {
        club_id -> Id,
        hold_id -> Id,
        athlete_id -> Id,
        reason -> Code,
        until_date -> Nullable<Day>,
        lifted -> Nullable<Code>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    retention_runs (club_id, night) {
        club_id -> Id,
        night -> Day,
        run_at -> Instant,
        settings_version -> Integer,
        athletes -> Integer,
        erased -> Document,
        cleaned_at -> Nullable<Instant>,
    }

    consents (club_id, consent_id, version) {
        club_id -> Id,
        consent_id -> Id,
        athlete_id -> Id,
        given_by -> Code,
        purpose -> Seal,
        data_classes -> Document,
        recipient_role -> Nullable<Code>,
        recipient_club -> Nullable<Id>,
        recipient_link -> Nullable<Id>,
        given_at -> Instant,
        from_at -> Instant,
        until_at -> Nullable<Instant>,
        text_version -> Text,
        evidence -> Nullable<Seal>,
        withdrawn_at -> Nullable<Instant>,
        withdrawn_by -> Nullable<Code>,
        withdrawal_evidence -> Nullable<Seal>,
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
        deleted -> Bool,
    }

    sharing_links (club_id, link_id) {
        club_id -> Id,
        link_id -> Id,
        athlete_id -> Id,
        organisation -> Seal,
        code_hash -> Binary,
        code_until -> Instant,
        made_at -> Instant,
        linked_at -> Nullable<Instant>,
        linked_seq -> Nullable<BigInt>,
        ended_at -> Nullable<Instant>,
        left_at -> Nullable<Instant>,
        version -> Integer,
    }

    shared_day_totals (club_id, link_id, date, seq) {
        club_id -> Id,
        link_id -> Id,
        athlete_id -> Id,
        date -> Day,
        load_half -> BigInt,
        minutes -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
    }

    shares (club_id, consent_id) {
        club_id -> Id,
        consent_id -> Id,
        copied_seq -> BigInt,
    }

    revocations (club_id, revocation_id) {
        club_id -> Id,
        revocation_id -> Id,
        kind -> Code,
        value -> Text,
        reason -> Text,
        revoked_by -> Text,
        acting_role -> Text,
        received_at -> Instant,
        seq -> BigInt,
        lifted_at -> Nullable<Instant>,
    }

    notice_endpoints (club_id, endpoint_id) {
        club_id -> Id,
        endpoint_id -> Id,
        channel -> Code,
        address -> Seal,
        squads -> Document,
        secret -> Nullable<Seal>,
        old_secret -> Nullable<Seal>,
        old_secret_until -> Nullable<Instant>,
        failing_since -> Nullable<Instant>,
        disabled_at -> Nullable<Instant>,
        disabled_why -> Nullable<Text>,
        version -> Integer,
        created_at -> Instant,
        confirmed_at -> Nullable<Instant>,
        challenge_id -> Nullable<Id>,
        entered_by -> Nullable<Text>,
        questions -> Bool,
        deleted -> Bool,
    }

    notices (club_id, notice_id) {
        club_id -> Id,
        notice_id -> Id,
        kind -> Code,
        monday -> Day,
        created_at -> Instant,
        payload -> Document,
    }

    deliveries (club_id, delivery_id) {
        club_id -> Id,
        delivery_id -> Id,
        notice_id -> Id,
        endpoint_id -> Id,
        body -> Text,
        state -> Code,
        due_at -> Instant,
        lease_owner -> Nullable<Id>,
        lease_until -> Nullable<Instant>,
        attempts -> Integer,
        last_status -> Nullable<Integer>,
        created_at -> Instant,
        waiting_for -> Nullable<Code>,
    }

    mail_settings (club_id) {
        club_id -> Id,
        sender_name -> Nullable<Text>,
        reply_to -> Nullable<Text>,
        quiet_from -> Nullable<Integer>,
        quiet_to -> Nullable<Integer>,
        version -> Integer,
    }

    mail_names (club_id) {
        club_id -> Id,
        allowed -> Bool,
        version -> Integer,
    }

    letters (club_id, endpoint_id, monday, edition) {
        club_id -> Id,
        endpoint_id -> Id,
        monday -> Day,
        edition -> Integer,
        delivery_id -> Id,
    }

    delivery_attempts (club_id, delivery_id, attempt) {
        club_id -> Id,
        delivery_id -> Id,
        attempt -> Integer,
        at -> Instant,
        outcome -> Code,
        status -> Nullable<Integer>,
        answer_bytes -> Nullable<Integer>,
    }

    audit_reads (club_id, audit_id) {
        club_id -> Id,
        audit_id -> Id,
        at -> Instant,
        subject -> Text,
        client -> Text,
        acting_role -> Text,
        purpose -> Nullable<Text>,
        athlete_id -> Nullable<Id>,
        action -> Text,
        outcome -> Text,
        request_id -> Text,
        number -> Nullable<BigInt>,
        link -> Nullable<Binary>,
    }

    audit_heads (club_id) {
        club_id -> Id,
        number -> BigInt,
        link -> Binary,
        key_id -> Binary,
    }
}
