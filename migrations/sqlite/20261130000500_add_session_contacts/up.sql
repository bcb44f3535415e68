-- Landings and throws counted in a session: a row a version; nothing where nobody counted, never 0.
CREATE TABLE session_contacts (
    club_id BLOB NOT NULL,
    session_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    both_feet INTEGER,
    left_foot INTEGER,
    right_foot INTEGER,
    loaded INTEGER,
    hands INTEGER,
    throws INTEGER,
    basis TEXT NOT NULL,
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
CREATE UNIQUE INDEX session_contacts_current
    ON session_contacts (club_id, session_id) WHERE superseded_at IS NULL;
CREATE INDEX session_contacts_athlete ON session_contacts (club_id, athlete_id);
CREATE INDEX session_contacts_changes ON session_contacts (club_id, seq) WHERE superseded_at IS NULL;
