-- What a directory says of somebody, or of a squad, beside the roster: a row a version. Names and external ids of athletes and squads
-- are in the roster's own tables.
CREATE TABLE directory_entries (
    club_id BLOB NOT NULL,
    entry_id BLOB NOT NULL,
    athlete_id BLOB,
    squad_id BLOB,
    user_name TEXT,
    user_name_key TEXT,
    external_id TEXT,
    display_name TEXT,
    roles TEXT NOT NULL,
    active INTEGER NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, entry_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id)
) STRICT;
CREATE UNIQUE INDEX directory_entries_current
    ON directory_entries (club_id, entry_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX directory_entries_user_name
    ON directory_entries (club_id, user_name_key) WHERE superseded_at IS NULL AND NOT deleted;
CREATE UNIQUE INDEX directory_entries_external
    ON directory_entries (club_id, external_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX directory_entries_athlete ON directory_entries (club_id, athlete_id);
-- Squads are asked for with each user, and there are few among many people.
CREATE INDEX directory_entries_squads
    ON directory_entries (club_id, entry_id) WHERE superseded_at IS NULL AND squad_id IS NOT NULL;
