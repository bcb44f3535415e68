//! The tables, the same on both databases; `migrations/` makes them.
//!
//! Every primary key, unique key, foreign key and index begins with `club_id`: a row of another
//! club cannot be named by mistake, and the tables can be spread over machines by club.

/// Declares tables with diesel's SQL types and our own.
macro_rules! tables {
    ($($name:ident ($($key:ident),+) { $($body:tt)* })+) => {
        $(diesel::table! {
            use diesel::sql_types::{BigInt, Binary, Bool, Integer, Nullable, Text};
            use crate::store::types::{Code, Day, Document, Id, Instant};

            $name ($($key),+) { $($body)* }
        })+
        diesel::allow_tables_to_appear_in_same_query!($($name),+);
    };
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
        note -> Nullable<Text>,
        reason -> Nullable<Text>,
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
        instruction -> Nullable<Text>,
        note -> Nullable<Text>,
        written_clearance -> Nullable<Code>,
        reason -> Nullable<Text>,
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
        scope -> Text,
        name -> Text,
        licence_type -> Text,
        decided_on -> Day,
        document_reference -> Text,
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
        version -> Integer,
        received_at -> Instant,
        superseded_at -> Nullable<Instant>,
        seq -> BigInt,
        author -> Text,
        acting_role -> Text,
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
    }

    flag_acknowledgements (club_id, flag_id, acknowledgement_id) {
        club_id -> Id,
        flag_id -> Id,
        acknowledgement_id -> Id,
        flag_version -> Integer,
        squad_id -> Nullable<Id>,
        action -> Text,
        note -> Nullable<Text>,
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
        body -> Binary,
        created_at -> Instant,
        expires_at -> Instant,
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
        address -> Text,
        squads -> Document,
        secret -> Nullable<Binary>,
        old_secret -> Nullable<Binary>,
        old_secret_until -> Nullable<Instant>,
        failing_since -> Nullable<Instant>,
        disabled_at -> Nullable<Instant>,
        disabled_why -> Nullable<Text>,
        version -> Integer,
        created_at -> Instant,
        confirmed_at -> Nullable<Instant>,
        challenge_id -> Nullable<Id>,
        entered_by -> Nullable<Text>,
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
