-- The neuromuscular warm-up of a planned session as it was held, 0 minutes where there was none: a row a version. About nobody: who was
-- there stands in the attendance and the reports.
CREATE TABLE event_warm_ups (
    club_id BLOB NOT NULL,
    event_id BLOB NOT NULL,
    minutes INTEGER NOT NULL,
    categories TEXT NOT NULL,
    feedback INTEGER NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, event_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
CREATE UNIQUE INDEX event_warm_ups_current ON event_warm_ups (club_id, event_id) WHERE superseded_at IS NULL;
