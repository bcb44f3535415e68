-- Instants come from the service's clock, never from now(); loads are integers of half an arbitrary
-- unit. Codes and keys compare by bytes (COLLATE "C"), as on SQLite.

CREATE TABLE clubs (
    club_id uuid NOT NULL PRIMARY KEY,
    name text NOT NULL,
    time_zone text NOT NULL,
    version integer NOT NULL,
    last_seq bigint NOT NULL,
    last_received_at timestamptz NOT NULL,
    created_at timestamptz NOT NULL
);

CREATE TABLE policies (
    club_id uuid NOT NULL REFERENCES clubs (club_id),
    version integer NOT NULL,
    effective_from date NOT NULL,
    approved_by text NOT NULL,
    source_note text NOT NULL,
    body jsonb NOT NULL,
    received_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    author text NOT NULL,
    PRIMARY KEY (club_id, version)
);

CREATE TABLE squads (
    club_id uuid NOT NULL REFERENCES clubs (club_id),
    squad_id uuid NOT NULL,
    name text NOT NULL,
    external_id text COLLATE "C",
    version integer NOT NULL,
    created_at timestamptz NOT NULL,
    updated_at timestamptz NOT NULL,
    PRIMARY KEY (club_id, squad_id),
    UNIQUE (club_id, external_id)
);

-- The identity that foreign keys point at; what is known of the athlete is in the versions.
CREATE TABLE athletes (
    club_id uuid NOT NULL REFERENCES clubs (club_id),
    athlete_id uuid NOT NULL,
    created_at timestamptz NOT NULL,
    PRIMARY KEY (club_id, athlete_id)
);

CREATE TABLE athlete_versions (
    club_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    external_id text COLLATE "C",
    source text COLLATE "C" NOT NULL,
    display_name text NOT NULL,
    name_key text COLLATE "C" NOT NULL,
    birth_date date,
    joined_on date NOT NULL,
    time_zone text,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, athlete_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX athlete_versions_current
    ON athlete_versions (club_id, athlete_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX athlete_versions_external
    ON athlete_versions (club_id, external_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX athlete_versions_name
    ON athlete_versions (club_id, name_key) WHERE superseded_at IS NULL;

CREATE TABLE memberships (
    club_id uuid NOT NULL,
    membership_id uuid NOT NULL,
    squad_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    role text COLLATE "C" NOT NULL,
    from_date date NOT NULL,
    to_date date,
    is_primary boolean NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, membership_id, version),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX memberships_current
    ON memberships (club_id, membership_id) WHERE superseded_at IS NULL;
CREATE INDEX memberships_squad ON memberships (club_id, squad_id);
CREATE INDEX memberships_athlete ON memberships (club_id, athlete_id);

CREATE TABLE session_reports (
    club_id uuid NOT NULL,
    session_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    source text COLLATE "C" NOT NULL,
    natural_key text COLLATE "C" NOT NULL,
    external_id text COLLATE "C",
    event_external_id text COLLATE "C",
    started_at timestamptz NOT NULL,
    utc_offset_seconds integer NOT NULL,
    time_zone text,
    load_date date NOT NULL,
    minutes integer NOT NULL,
    minutes_before_midnight integer,
    rpe_half integer NOT NULL,
    setting text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    basis text COLLATE "C" NOT NULL,
    given_at timestamptz NOT NULL,
    given_by text COLLATE "C" NOT NULL,
    note text,
    reason text,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, session_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
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
    club_id uuid NOT NULL,
    rest_day_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    date date NOT NULL,
    given_by text COLLATE "C" NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, rest_day_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX rest_days_current
    ON rest_days (club_id, rest_day_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX rest_days_day
    ON rest_days (club_id, athlete_id, date) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX rest_days_day_as_of ON rest_days (club_id, athlete_id, date, received_at);

CREATE TABLE absences (
    club_id uuid NOT NULL,
    absence_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    from_date date NOT NULL,
    to_date date NOT NULL,
    category text COLLATE "C" NOT NULL,
    given_by text COLLATE "C" NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, absence_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX absences_current
    ON absences (club_id, absence_id) WHERE superseded_at IS NULL;
CREATE INDEX absences_athlete ON absences (club_id, athlete_id, from_date);

-- Kept in the transaction that changes an input; what is known now, and no history. Rows are
-- updated in place, for which the fill factor leaves room.
CREATE TABLE day_totals (
    club_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    date date NOT NULL,
    setting text COLLATE "C" NOT NULL,
    logged_half bigint NOT NULL,
    low_half bigint NOT NULL,
    high_half bigint NOT NULL,
    minutes integer NOT NULL,
    sessions integer NOT NULL,
    expected integer NOT NULL,
    unlogged integer NOT NULL,
    PRIMARY KEY (club_id, athlete_id, date, setting),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) WITH (fillfactor = 80);

CREATE TABLE closed_weeks (
    club_id uuid NOT NULL REFERENCES clubs (club_id),
    monday date NOT NULL,
    closed_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    policy_version integer,
    late boolean NOT NULL,
    PRIMARY KEY (club_id, monday)
);

CREATE TABLE flags (
    club_id uuid NOT NULL,
    flag_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    rule text COLLATE "C" NOT NULL,
    monday date NOT NULL,
    created_at timestamptz NOT NULL,
    PRIMARY KEY (club_id, flag_id),
    UNIQUE (club_id, athlete_id, rule, monday),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE INDEX flags_week ON flags (club_id, monday, flag_id);

CREATE TABLE flag_versions (
    club_id uuid NOT NULL,
    flag_id uuid NOT NULL,
    version integer NOT NULL,
    state text COLLATE "C" NOT NULL,
    certainty text COLLATE "C" NOT NULL,
    policy_version integer NOT NULL,
    cause text NOT NULL,
    body jsonb NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    PRIMARY KEY (club_id, flag_id, version),
    FOREIGN KEY (club_id, flag_id) REFERENCES flags (club_id, flag_id)
);
CREATE UNIQUE INDEX flag_versions_current
    ON flag_versions (club_id, flag_id) WHERE superseded_at IS NULL;

CREATE TABLE flag_acknowledgements (
    club_id uuid NOT NULL,
    flag_id uuid NOT NULL,
    acknowledgement_id uuid NOT NULL,
    flag_version integer NOT NULL,
    squad_id uuid,
    action text COLLATE "C" NOT NULL,
    note text,
    by_subject text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    received_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    PRIMARY KEY (club_id, flag_id, acknowledgement_id),
    FOREIGN KEY (club_id, flag_id) REFERENCES flags (club_id, flag_id),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id)
);

-- No foreign key to clubs: the key of a request that makes a club belongs to none yet.
CREATE TABLE idempotency_keys (
    club_id uuid NOT NULL,
    key_hash bytea NOT NULL,
    fingerprint bytea NOT NULL,
    status integer NOT NULL,
    headers jsonb NOT NULL,
    body bytea NOT NULL,
    created_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    PRIMARY KEY (club_id, key_hash)
);
CREATE INDEX idempotency_keys_expiry ON idempotency_keys (club_id, expires_at);

-- No foreign keys: the list of who read what outlives what was read.
CREATE TABLE audit_reads (
    club_id uuid NOT NULL,
    audit_id uuid NOT NULL,
    at timestamptz NOT NULL,
    subject text NOT NULL,
    client text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    purpose text,
    athlete_id uuid,
    action text COLLATE "C" NOT NULL,
    outcome text COLLATE "C" NOT NULL,
    request_id text NOT NULL,
    PRIMARY KEY (club_id, audit_id)
);
CREATE INDEX audit_reads_athlete ON audit_reads (club_id, athlete_id, audit_id);
