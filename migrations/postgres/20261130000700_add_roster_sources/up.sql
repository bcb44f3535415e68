-- Roster apps that are pulled on a timetable. Address and credentials are sealed: either may be a password. Settings and counts are JSON
-- documents that the database never looks into.
CREATE TABLE roster_sources (
    club_id uuid NOT NULL,
    source_id uuid NOT NULL,
    name text NOT NULL,
    client text COLLATE "C" NOT NULL,
    url bytea,
    credentials bytea,
    every_hours integer,
    settings jsonb NOT NULL,
    etag text COLLATE "C",
    last_modified text COLLATE "C",
    next_attempt_at timestamptz,
    not_before timestamptz,
    last_attempt_at timestamptz,
    last_success_at timestamptz,
    last_problem text COLLATE "C",
    last_counts jsonb,
    failing_since timestamptz,
    failures integer NOT NULL,
    version integer NOT NULL,
    created_at timestamptz NOT NULL,
    updated_at timestamptz NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, source_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
SELECT wall_off('roster_sources');
CREATE INDEX roster_sources_due ON roster_sources (club_id, next_attempt_at) WHERE NOT deleted;
