-- Whom a roster names as an athlete's guardian, by the roster's own key and nothing else: a row a version.
CREATE TABLE guardian_links (
    club_id uuid NOT NULL,
    guardian_link_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    external_id text COLLATE "C" NOT NULL,
    from_date date NOT NULL,
    to_date date,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, guardian_link_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX guardian_links_current
    ON guardian_links (club_id, guardian_link_id) WHERE superseded_at IS NULL;
CREATE INDEX guardian_links_athlete ON guardian_links (club_id, athlete_id);

SELECT wall_off('guardian_links');
