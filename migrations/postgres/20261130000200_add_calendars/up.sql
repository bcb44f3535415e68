-- Calendars that planned sessions come from. Text and feed address are sealed: a feed's address often is its password, and texts name
-- places and people. Rules and reading are JSON documents that the database never looks into.
CREATE TABLE calendars (
    club_id uuid NOT NULL,
    calendar_id uuid NOT NULL,
    name text NOT NULL,
    time_zone text COLLATE "C",
    rules jsonb NOT NULL,
    feed_url bytea,
    content bytea,
    etag text COLLATE "C",
    last_modified text COLLATE "C",
    reading jsonb,
    next_read_at timestamptz,
    failing_since timestamptz,
    failing_why text COLLATE "C",
    removal_confirmed boolean NOT NULL,
    version integer NOT NULL,
    created_at timestamptz NOT NULL,
    updated_at timestamptz NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, calendar_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
SELECT wall_off('calendars');
CREATE INDEX calendars_due ON calendars (club_id, next_read_at) WHERE NOT deleted;

-- Where an event came from a calendar: which one, and the keys of RFC 5545 within it.
ALTER TABLE events ADD COLUMN calendar_id uuid;
ALTER TABLE events ADD COLUMN uid text COLLATE "C";
ALTER TABLE events ADD COLUMN recurrence_id text COLLATE "C";
CREATE INDEX events_calendar ON events (club_id, calendar_id, load_date)
    WHERE superseded_at IS NULL AND calendar_id IS NOT NULL;
