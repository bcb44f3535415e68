-- Programmes: a row a version, with blocks, weeks, days, sessions and items as one document. About nobody.
CREATE TABLE programmes (
    club_id BLOB NOT NULL,
    programme_id BLOB NOT NULL,
    name TEXT NOT NULL,
    weeks INTEGER NOT NULL,
    content TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, programme_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
CREATE UNIQUE INDEX programmes_current ON programmes (club_id, programme_id) WHERE superseded_at IS NULL;

-- Which version of a programme is done from when to when, by a squad or by one athlete, and what is different for her.
CREATE TABLE programme_assignments (
    club_id BLOB NOT NULL,
    assignment_id BLOB NOT NULL,
    programme_id BLOB NOT NULL,
    programme_version INTEGER NOT NULL,
    squad_id BLOB,
    athlete_id BLOB,
    from_date TEXT NOT NULL,
    until_date TEXT NOT NULL,
    changes TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, assignment_id, version),
    FOREIGN KEY (club_id, programme_id, programme_version) REFERENCES programmes (club_id, programme_id, version),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id),
    CHECK ((squad_id IS NULL) <> (athlete_id IS NULL))
) STRICT;
CREATE UNIQUE INDEX programme_assignments_current ON programme_assignments (club_id, assignment_id) WHERE superseded_at IS NULL;
CREATE INDEX programme_assignments_programme ON programme_assignments (club_id, programme_id);
CREATE INDEX programme_assignments_athlete ON programme_assignments (club_id, athlete_id);
CREATE INDEX programme_assignments_squad ON programme_assignments (club_id, squad_id);
