-- Planned sessions. Squads and athletes invited are JSON lists of ids that the database never looks into.
CREATE TABLE events (
    club_id uuid NOT NULL REFERENCES clubs (club_id),
    event_id uuid NOT NULL,
    source text COLLATE "C" NOT NULL,
    natural_key text COLLATE "C" NOT NULL,
    external_id text COLLATE "C",
    setting text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    starts_at timestamptz NOT NULL,
    utc_offset_seconds integer NOT NULL,
    time_zone text,
    load_date date NOT NULL,
    minutes integer NOT NULL,
    intended_rpe_half integer,
    is_fixed boolean NOT NULL,
    status text COLLATE "C" NOT NULL,
    squads jsonb NOT NULL,
    athletes jsonb NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, event_id, version)
);
CREATE UNIQUE INDEX events_current ON events (club_id, event_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX events_natural_key
    ON events (club_id, source, natural_key) WHERE superseded_at IS NULL;
CREATE INDEX events_day ON events (club_id, load_date, received_at);
CREATE INDEX events_list ON events (club_id, starts_at, event_id) WHERE superseded_at IS NULL;
CREATE INDEX events_external
    ON events (club_id, external_id) WHERE superseded_at IS NULL AND external_id IS NOT NULL;

-- Which squads the current version of an event invites, for finding the events of a squad.
CREATE TABLE event_squads (
    club_id uuid NOT NULL,
    event_id uuid NOT NULL,
    squad_id uuid NOT NULL,
    PRIMARY KEY (club_id, event_id, squad_id),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id)
);
CREATE INDEX event_squads_squad ON event_squads (club_id, squad_id, event_id);

-- Who took part in a planned session, as the list of those present says.
CREATE TABLE attendance (
    club_id uuid NOT NULL,
    attendance_id uuid NOT NULL,
    event_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    status text COLLATE "C" NOT NULL,
    minutes integer,
    confirmed boolean NOT NULL,
    given_by text COLLATE "C" NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, attendance_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX attendance_current
    ON attendance (club_id, attendance_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX attendance_one
    ON attendance (club_id, event_id, athlete_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX attendance_event ON attendance (club_id, event_id, athlete_id, received_at);

-- What a joiner says of the time before: a range, never mixed into a figure.
CREATE TABLE declared_histories (
    club_id uuid NOT NULL,
    declared_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    weekly_minutes_low integer NOT NULL,
    weekly_minutes_high integer NOT NULL,
    rpe_half_low integer NOT NULL,
    rpe_half_high integer NOT NULL,
    given_by text COLLATE "C" NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, declared_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX declared_histories_current
    ON declared_histories (club_id, declared_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX declared_histories_one
    ON declared_histories (club_id, athlete_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX declared_histories_as_of
    ON declared_histories (club_id, athlete_id, received_at);

-- Who is invited to which planned session, and whether it is answered. Kept in the transaction that
-- changes an input; what is known now, and no history.
CREATE TABLE expected_sessions (
    club_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    event_id uuid NOT NULL,
    load_date date NOT NULL,
    setting text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    minutes integer NOT NULL,
    starts_at timestamptz NOT NULL,
    ends_at timestamptz NOT NULL,
    state text COLLATE "C" NOT NULL,
    PRIMARY KEY (club_id, athlete_id, event_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) WITH (fillfactor = 80);
CREATE INDEX expected_sessions_day
    ON expected_sessions (club_id, athlete_id, load_date, state);
CREATE INDEX expected_sessions_event ON expected_sessions (club_id, event_id, athlete_id);

-- Reports that name a planned session.
CREATE INDEX session_reports_event
    ON session_reports (club_id, event_external_id)
    WHERE superseded_at IS NULL AND event_external_id IS NOT NULL;
