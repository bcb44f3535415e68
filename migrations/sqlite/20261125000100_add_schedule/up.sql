-- Planned sessions. Squads and athletes invited are JSON lists of ids that the database never looks into.
CREATE TABLE events (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    event_id BLOB NOT NULL,
    source TEXT NOT NULL,
    natural_key TEXT NOT NULL,
    external_id TEXT,
    setting TEXT NOT NULL,
    kind TEXT NOT NULL,
    starts_at INTEGER NOT NULL,
    utc_offset_seconds INTEGER NOT NULL,
    time_zone TEXT,
    load_date TEXT NOT NULL,
    minutes INTEGER NOT NULL,
    intended_rpe_half INTEGER,
    is_fixed INTEGER NOT NULL,
    status TEXT NOT NULL,
    squads TEXT NOT NULL,
    athletes TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, event_id, version)
) STRICT;
CREATE UNIQUE INDEX events_current ON events (club_id, event_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX events_natural_key
    ON events (club_id, source, natural_key) WHERE superseded_at IS NULL;
CREATE INDEX events_day ON events (club_id, load_date, received_at);
CREATE INDEX events_list ON events (club_id, starts_at, event_id) WHERE superseded_at IS NULL;
CREATE INDEX events_external
    ON events (club_id, external_id) WHERE superseded_at IS NULL AND external_id IS NOT NULL;

-- Which squads the current version of an event invites, for finding the events of a squad.
CREATE TABLE event_squads (
    club_id BLOB NOT NULL,
    event_id BLOB NOT NULL,
    squad_id BLOB NOT NULL,
    PRIMARY KEY (club_id, event_id, squad_id),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX event_squads_squad ON event_squads (club_id, squad_id, event_id);

-- Who took part in a planned session, as the list of those present says.
CREATE TABLE attendance (
    club_id BLOB NOT NULL,
    attendance_id BLOB NOT NULL,
    event_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    status TEXT NOT NULL,
    minutes INTEGER,
    confirmed INTEGER NOT NULL,
    given_by TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, attendance_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX attendance_current
    ON attendance (club_id, attendance_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX attendance_one
    ON attendance (club_id, event_id, athlete_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX attendance_event ON attendance (club_id, event_id, athlete_id, received_at);

-- What a joiner says of the time before: a range, never mixed into a figure.
CREATE TABLE declared_histories (
    club_id BLOB NOT NULL,
    declared_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    weekly_minutes_low INTEGER NOT NULL,
    weekly_minutes_high INTEGER NOT NULL,
    rpe_half_low INTEGER NOT NULL,
    rpe_half_high INTEGER NOT NULL,
    given_by TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, declared_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX declared_histories_current
    ON declared_histories (club_id, declared_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX declared_histories_one
    ON declared_histories (club_id, athlete_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX declared_histories_as_of
    ON declared_histories (club_id, athlete_id, received_at);

-- Who is invited to which planned session, and whether it is answered. Kept in the transaction that
-- changes an input; what is known now, and no history.
CREATE TABLE expected_sessions (
    club_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    event_id BLOB NOT NULL,
    load_date TEXT NOT NULL,
    setting TEXT NOT NULL,
    kind TEXT NOT NULL,
    minutes INTEGER NOT NULL,
    starts_at INTEGER NOT NULL,
    ends_at INTEGER NOT NULL,
    state TEXT NOT NULL,
    PRIMARY KEY (club_id, athlete_id, event_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX expected_sessions_day
    ON expected_sessions (club_id, athlete_id, load_date, state);
CREATE INDEX expected_sessions_event ON expected_sessions (club_id, event_id, athlete_id);

-- Reports that name a planned session.
CREATE INDEX session_reports_event
    ON session_reports (club_id, event_external_id)
    WHERE superseded_at IS NULL AND event_external_id IS NOT NULL;
