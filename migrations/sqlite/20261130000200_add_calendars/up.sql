-- Calendars that planned sessions come from. Text and feed address are sealed: a feed's address often is its password, and texts name
-- places and people. Rules and reading are JSON documents that the database never looks into.
CREATE TABLE calendars (
    club_id BLOB NOT NULL,
    calendar_id BLOB NOT NULL,
    name TEXT NOT NULL,
    time_zone TEXT,
    rules TEXT NOT NULL,
    feed_url BLOB,
    content BLOB,
    etag TEXT,
    last_modified TEXT,
    reading TEXT,
    next_read_at INTEGER,
    failing_since INTEGER,
    failing_why TEXT,
    removal_confirmed INTEGER NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, calendar_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
CREATE INDEX calendars_due ON calendars (club_id, next_read_at) WHERE NOT deleted;

-- Where an event came from a calendar: which one, and the keys of RFC 5545 within it.
ALTER TABLE events ADD COLUMN calendar_id BLOB;
ALTER TABLE events ADD COLUMN uid TEXT;
ALTER TABLE events ADD COLUMN recurrence_id TEXT;
CREATE INDEX events_calendar ON events (club_id, calendar_id, load_date)
    WHERE superseded_at IS NULL AND calendar_id IS NOT NULL;
