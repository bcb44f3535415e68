-- Roster apps that are pulled on a timetable. Address and credentials are sealed: either may be a password. Settings and counts are JSON
-- documents that the database never looks into.
CREATE TABLE roster_sources (
    club_id BLOB NOT NULL,
    source_id BLOB NOT NULL,
    name TEXT NOT NULL,
    client TEXT NOT NULL,
    url BLOB,
    credentials BLOB,
    every_hours INTEGER,
    settings TEXT NOT NULL,
    etag TEXT,
    last_modified TEXT,
    next_attempt_at INTEGER,
    not_before INTEGER,
    last_attempt_at INTEGER,
    last_success_at INTEGER,
    last_problem TEXT,
    last_counts TEXT,
    failing_since INTEGER,
    failures INTEGER NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, source_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
CREATE INDEX roster_sources_due ON roster_sources (club_id, next_attempt_at) WHERE NOT deleted;
