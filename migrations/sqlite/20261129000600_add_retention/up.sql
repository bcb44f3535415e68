-- How long a club keeps what of athletes who have left, and what it calls its records. Versions are only added.
CREATE TABLE retention_settings (
    club_id BLOB NOT NULL,
    version INTEGER NOT NULL,
    record_regime TEXT NOT NULL,
    terms TEXT NOT NULL,
    source_note TEXT,
    received_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    PRIMARY KEY (club_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;

-- Why nothing of an athlete may be erased by itself, as codes. The second version of a hold says that it was lifted.
CREATE TABLE retention_holds (
    club_id BLOB NOT NULL,
    hold_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    reason TEXT NOT NULL,
    until_date TEXT,
    lifted TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, hold_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX retention_holds_current
    ON retention_holds (club_id, hold_id) WHERE superseded_at IS NULL;
CREATE INDEX retention_holds_athlete ON retention_holds (club_id, athlete_id, hold_id);

-- What was erased on a night, as rows by class: one row a club and night.
CREATE TABLE retention_runs (
    club_id BLOB NOT NULL,
    night TEXT NOT NULL,
    run_at INTEGER NOT NULL,
    settings_version INTEGER NOT NULL,
    athletes INTEGER NOT NULL,
    erased TEXT NOT NULL,
    PRIMARY KEY (club_id, night),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
