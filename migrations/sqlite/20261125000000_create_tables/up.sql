-- Ids are 16-byte blobs, instants integer microseconds of the Unix epoch, days text YYYY-MM-DD,
-- loads integers of half an arbitrary unit. STRICT refuses a value of another type.

CREATE TABLE clubs (
    club_id BLOB NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    version INTEGER NOT NULL,
    last_seq INTEGER NOT NULL,
    last_received_at INTEGER NOT NULL,
    created_at INTEGER NOT NULL
) STRICT;

CREATE TABLE policies (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    version INTEGER NOT NULL,
    effective_from TEXT NOT NULL,
    approved_by TEXT NOT NULL,
    source_note TEXT NOT NULL,
    body TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    PRIMARY KEY (club_id, version)
) STRICT;

CREATE TABLE squads (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    squad_id BLOB NOT NULL,
    name TEXT NOT NULL,
    external_id TEXT,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    PRIMARY KEY (club_id, squad_id),
    UNIQUE (club_id, external_id)
) STRICT;

-- The identity that foreign keys point at; what is known of the athlete is in the versions.
CREATE TABLE athletes (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    athlete_id BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (club_id, athlete_id)
) STRICT, WITHOUT ROWID;

CREATE TABLE athlete_versions (
    club_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    external_id TEXT,
    source TEXT NOT NULL,
    display_name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    birth_date TEXT,
    joined_on TEXT NOT NULL,
    time_zone TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, athlete_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX athlete_versions_current
    ON athlete_versions (club_id, athlete_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX athlete_versions_external
    ON athlete_versions (club_id, external_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX athlete_versions_name
    ON athlete_versions (club_id, name_key) WHERE superseded_at IS NULL;

CREATE TABLE memberships (
    club_id BLOB NOT NULL,
    membership_id BLOB NOT NULL,
    squad_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    role TEXT NOT NULL,
    from_date TEXT NOT NULL,
    to_date TEXT,
    is_primary INTEGER NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, membership_id, version),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX memberships_current
    ON memberships (club_id, membership_id) WHERE superseded_at IS NULL;
CREATE INDEX memberships_squad ON memberships (club_id, squad_id);
CREATE INDEX memberships_athlete ON memberships (club_id, athlete_id);

CREATE TABLE session_reports (
    club_id BLOB NOT NULL,
    session_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    source TEXT NOT NULL,
    natural_key TEXT NOT NULL,
    external_id TEXT,
    event_external_id TEXT,
    started_at INTEGER NOT NULL,
    utc_offset_seconds INTEGER NOT NULL,
    time_zone TEXT,
    load_date TEXT NOT NULL,
    minutes INTEGER NOT NULL,
    minutes_before_midnight INTEGER,
    rpe_half INTEGER NOT NULL,
    setting TEXT NOT NULL,
    kind TEXT NOT NULL,
    basis TEXT NOT NULL,
    given_at INTEGER NOT NULL,
    given_by TEXT NOT NULL,
    note TEXT,
    reason TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, session_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX session_reports_current
    ON session_reports (club_id, session_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX session_reports_natural_key
    ON session_reports (club_id, source, natural_key) WHERE superseded_at IS NULL;
-- Reading by day, of an athlete, as known now and as known at an instant: few versions are not
-- the current one, so one index does for both.
CREATE INDEX session_reports_day
    ON session_reports (club_id, athlete_id, load_date, received_at);
-- Listing in the order in which the sessions began.
CREATE INDEX session_reports_list
    ON session_reports (club_id, started_at, session_id) WHERE superseded_at IS NULL;

CREATE TABLE rest_days (
    club_id BLOB NOT NULL,
    rest_day_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    date TEXT NOT NULL,
    given_by TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, rest_day_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX rest_days_current
    ON rest_days (club_id, rest_day_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX rest_days_day
    ON rest_days (club_id, athlete_id, date) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX rest_days_day_as_of ON rest_days (club_id, athlete_id, date, received_at);

CREATE TABLE absences (
    club_id BLOB NOT NULL,
    absence_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    from_date TEXT NOT NULL,
    to_date TEXT NOT NULL,
    category TEXT NOT NULL,
    given_by TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, absence_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX absences_current
    ON absences (club_id, absence_id) WHERE superseded_at IS NULL;
CREATE INDEX absences_athlete ON absences (club_id, athlete_id, from_date);

-- Kept in the transaction that changes an input; what is known now, and no history.
CREATE TABLE day_totals (
    club_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    date TEXT NOT NULL,
    setting TEXT NOT NULL,
    logged_half INTEGER NOT NULL,
    low_half INTEGER NOT NULL,
    high_half INTEGER NOT NULL,
    minutes INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    expected INTEGER NOT NULL,
    unlogged INTEGER NOT NULL,
    PRIMARY KEY (club_id, athlete_id, date, setting),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT, WITHOUT ROWID;

CREATE TABLE closed_weeks (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    monday TEXT NOT NULL,
    closed_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    policy_version INTEGER,
    late INTEGER NOT NULL,
    PRIMARY KEY (club_id, monday)
) STRICT, WITHOUT ROWID;

CREATE TABLE flags (
    club_id BLOB NOT NULL,
    flag_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    rule TEXT NOT NULL,
    monday TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (club_id, flag_id),
    UNIQUE (club_id, athlete_id, rule, monday),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE INDEX flags_week ON flags (club_id, monday, flag_id);

CREATE TABLE flag_versions (
    club_id BLOB NOT NULL,
    flag_id BLOB NOT NULL,
    version INTEGER NOT NULL,
    state TEXT NOT NULL,
    certainty TEXT NOT NULL,
    policy_version INTEGER NOT NULL,
    cause TEXT NOT NULL,
    body TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    PRIMARY KEY (club_id, flag_id, version),
    FOREIGN KEY (club_id, flag_id) REFERENCES flags (club_id, flag_id)
) STRICT;
CREATE UNIQUE INDEX flag_versions_current
    ON flag_versions (club_id, flag_id) WHERE superseded_at IS NULL;

CREATE TABLE flag_acknowledgements (
    club_id BLOB NOT NULL,
    flag_id BLOB NOT NULL,
    acknowledgement_id BLOB NOT NULL,
    flag_version INTEGER NOT NULL,
    squad_id BLOB,
    action TEXT NOT NULL,
    note TEXT,
    by_subject TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    PRIMARY KEY (club_id, flag_id, acknowledgement_id),
    FOREIGN KEY (club_id, flag_id) REFERENCES flags (club_id, flag_id),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id)
) STRICT;

-- No foreign key to clubs: the key of a request that makes a club belongs to none yet.
CREATE TABLE idempotency_keys (
    club_id BLOB NOT NULL,
    key_hash BLOB NOT NULL,
    fingerprint BLOB NOT NULL,
    status INTEGER NOT NULL,
    headers TEXT NOT NULL,
    body BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    PRIMARY KEY (club_id, key_hash)
) STRICT;
CREATE INDEX idempotency_keys_expiry ON idempotency_keys (club_id, expires_at);

-- No foreign keys: the list of who read what outlives what was read.
CREATE TABLE audit_reads (
    club_id BLOB NOT NULL,
    audit_id BLOB NOT NULL,
    at INTEGER NOT NULL,
    subject TEXT NOT NULL,
    client TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    purpose TEXT,
    athlete_id BLOB,
    action TEXT NOT NULL,
    outcome TEXT NOT NULL,
    request_id TEXT NOT NULL,
    PRIMARY KEY (club_id, audit_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX audit_reads_athlete ON audit_reads (club_id, athlete_id, audit_id);
