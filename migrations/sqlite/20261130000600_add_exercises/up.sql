-- What a club adds to the catalogue of exercises: its own, and films of any. A row a version; without content it is a film of a shipped one.
CREATE TABLE exercises (
    club_id BLOB NOT NULL,
    exercise_id BLOB NOT NULL,
    code TEXT NOT NULL,
    film_url TEXT,
    content TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, exercise_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
CREATE UNIQUE INDEX exercises_current ON exercises (club_id, exercise_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX exercises_code ON exercises (club_id, code) WHERE superseded_at IS NULL;

-- Who watched which exercise done well: a row a version, the last one deleted where it was withdrawn.
CREATE TABLE sign_offs (
    club_id BLOB NOT NULL,
    sign_off_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    exercise TEXT NOT NULL,
    signed_on TEXT NOT NULL,
    watched_by TEXT NOT NULL,
    watched_role TEXT NOT NULL,
    note BLOB,
    reason BLOB,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, sign_off_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX sign_offs_current ON sign_offs (club_id, sign_off_id) WHERE superseded_at IS NULL;
CREATE INDEX sign_offs_athlete ON sign_offs (club_id, athlete_id);
