-- How long a club keeps what of athletes who have left, and what it calls its records. Versions are only added.
CREATE TABLE retention_settings (
    club_id uuid NOT NULL,
    version integer NOT NULL,
    record_regime text COLLATE "C" NOT NULL,
    terms jsonb NOT NULL,
    source_note text,
    received_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    PRIMARY KEY (club_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);

-- Why nothing of an athlete may be erased by itself, as codes. The second version of a hold says that it was lifted.
CREATE TABLE retention_holds (
    club_id uuid NOT NULL,
    hold_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    reason text COLLATE "C" NOT NULL,
    until_date date,
    lifted text COLLATE "C",
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, hold_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX retention_holds_current
    ON retention_holds (club_id, hold_id) WHERE superseded_at IS NULL;
CREATE INDEX retention_holds_athlete ON retention_holds (club_id, athlete_id, hold_id);

-- What was erased on a night, as rows by class: one row a club and night.
CREATE TABLE retention_runs (
    club_id uuid NOT NULL,
    night date NOT NULL,
    run_at timestamptz NOT NULL,
    settings_version integer NOT NULL,
    athletes integer NOT NULL,
    erased jsonb NOT NULL,
    PRIMARY KEY (club_id, night),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
SELECT wall_off('retention_settings');
SELECT wall_off('retention_holds');
SELECT wall_off('retention_runs');
