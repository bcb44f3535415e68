-- The neuromuscular warm-up of a planned session as it was held, 0 minutes where there was none: a row a version. About nobody: who was
-- there stands in the attendance and the reports.
CREATE TABLE event_warm_ups (
    club_id uuid NOT NULL,
    event_id uuid NOT NULL,
    minutes integer NOT NULL,
    categories jsonb NOT NULL,
    feedback boolean NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, event_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
CREATE UNIQUE INDEX event_warm_ups_current ON event_warm_ups (club_id, event_id) WHERE superseded_at IS NULL;

SELECT wall_off('event_warm_ups');
