-- Whom a roster names as an athlete's guardian, by the roster's own key and nothing else: a row a version.
CREATE TABLE guardian_links (
    club_id BLOB NOT NULL,
    guardian_link_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    external_id TEXT NOT NULL,
    from_date TEXT NOT NULL,
    to_date TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, guardian_link_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX guardian_links_current
    ON guardian_links (club_id, guardian_link_id) WHERE superseded_at IS NULL;
CREATE INDEX guardian_links_athlete ON guardian_links (club_id, athlete_id);
