//! Tables that hold nothing of one athlete.

/// A table without rows about athletes.
#[derive(Debug, Clone, Copy)]
pub struct NotOfAthletes {
    /// Its name.
    pub name: &'static str,
    /// Why nothing of it is in a copy.
    pub why: &'static str,
    /// Every column: a new one has to be looked at.
    pub columns: &'static [&'static str],
}

const fn table(
    name: &'static str,
    why: &'static str,
    columns: &'static [&'static str],
) -> NotOfAthletes {
    NotOfAthletes { name, why, columns }
}

/// Every table without rows about athletes.
#[rustfmt::skip] // One table a paragraph, so that the list stays readable.
pub const NOT_OF_ATHLETES: &[NotOfAthletes] = &[
    table("clubs", "about the club", &[
        "club_id", "name", "time_zone", "version", "last_seq", "last_received_at", "created_at",
    ]),
    table("club_keys", "keys that values are sealed with", &[
        "club_id", "number", "wrapped", "master_key", "made_at", "retired_at",
    ]),
    table("policies", "the club's limits and rules", &[
        "club_id", "version", "effective_from", "approved_by", "source_note", "body", "received_at", "seq", "author", "approver",
    ]),
    table("retention_settings", "how long the club keeps what", &[
        "club_id", "version", "record_regime", "terms", "source_note", "received_at", "seq", "author", "acting_role",
    ]),
    table("retention_runs", "how much was erased on a night, as counts", &[
        "club_id", "night", "run_at", "settings_version", "athletes", "erased", "cleaned_at",
    ]),
    table("policy_drafts", "the club's limits and rules", &[
        "club_id", "draft_id", "body", "written_by", "written_at", "changed_by", "changed_at", "version",
    ]),
    table("licences", "about clinicians", &[
        "club_id", "licence_id", "subject", "name", "licence_type", "valid_until", "version", "received_at", "superseded_at", "seq",
        "author", "acting_role", "deleted",
    ]),
    table("exercises", "the club's own exercises and films: about nobody", &[
        "club_id", "exercise_id", "code", "film_url", "content", "version", "received_at", "superseded_at", "seq", "author",
        "acting_role", "deleted",
    ]),
    table("programmes", "programmes: about nobody", &[
        "club_id", "programme_id", "name", "weeks", "content", "version", "received_at", "superseded_at", "seq", "author",
        "acting_role", "deleted",
    ]),
    table("event_warm_ups", "what the warm-ups of planned sessions held: about nobody", &[
        "club_id", "event_id", "minutes", "categories", "feedback", "version", "received_at", "superseded_at", "seq", "author",
        "acting_role", "deleted",
    ]),
    table("event_squads", "about planned sessions and squads", &["club_id", "event_id", "squad_id"]),
    table("calendars", "a setting of the club, and the text that its schedule comes from", &[
        "club_id", "calendar_id", "name", "time_zone", "rules", "feed_url", "content", "etag", "last_modified", "reading",
        "next_read_at", "failing_since", "failing_why", "removal_confirmed", "version", "created_at", "updated_at", "deleted",
    ]),
    table("roster_sources", "a setting of the club: where its roster is pulled from, and how many rows it came to", &[
        "club_id", "source_id", "name", "client", "url", "credentials", "every_hours", "settings", "etag", "last_modified",
        "next_attempt_at", "not_before", "last_attempt_at", "last_success_at", "last_problem", "last_counts", "failing_since",
        "failures", "version", "created_at", "updated_at", "deleted",
    ]),
    table("closing_times", "a setting of the club", &["club_id", "weekday", "minute", "version"]),
    table("closed_weeks", "about weeks of the club", &["club_id", "monday", "closed_at", "seq", "policy_version", "late"]),
    table("look_ahead_times", "a setting of the club", &["club_id", "enabled", "weekday", "minute", "set_at", "version"]),
    table("look_aheads", "about weeks of the club", &["club_id", "monday", "made_at", "seq", "policy_version"]),
    table("idempotency_keys", "answers kept for 24 hours, found by a hash of the caller's key alone; what they repeat of her stands in \
        the other tables", &[
        "club_id", "key_hash", "fingerprint", "status", "headers", "body", "created_at", "expires_at", "erased",
    ]),
    table("consent_settings", "a setting of the club", &[
        "club_id", "version", "own_age", "needed_for", "received_at", "seq", "author", "acting_role",
    ]),
    table("revocations", "about tokens and the subjects that an issuer names", &[
        "club_id", "revocation_id", "kind", "value", "reason", "revoked_by", "acting_role", "received_at", "seq", "lifted_at",
    ]),
    table("notice_endpoints", "about recipients of notices", &[
        "club_id", "endpoint_id", "channel", "address", "squads", "secret", "old_secret", "old_secret_until", "failing_since",
        "disabled_at", "disabled_why", "version", "created_at", "deleted", "confirmed_at", "challenge_id", "entered_by",
        "questions",
    ]),
    table("mail_settings", "a setting of the club", &["club_id", "sender_name", "reply_to", "quiet_from", "quiet_to", "version"]),
    table("mail_names", "a setting of the club", &["club_id", "allowed", "version"]),
    table("letters", "which letters went out, to whom and of which week; they are made when they are sent and not kept", &[
        "club_id", "endpoint_id", "monday", "edition", "delivery_id",
    ]),
    table("delivery_attempts", "what came of sending notices", &[
        "club_id", "delivery_id", "attempt", "at", "outcome", "status", "answer_bytes",
    ]),
    table("withheld_weeks", "about closed weeks of squads from which somebody's records were erased; it does not say whose", &[
        "club_id", "squad_id", "monday",
    ]),
    table("audit_heads", "where the list of who read what ends", &["club_id", "number", "link", "key_id"]),
];
