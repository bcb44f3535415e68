-- Landings and throws counted in a session: a row a version; nothing where nobody counted, never 0.
CREATE TABLE session_contacts (
    club_id uuid NOT NULL,
    session_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    both_feet integer,
    left_foot integer,
    right_foot integer,
    loaded integer,
    hands integer,
    throws integer,
    basis text COLLATE "C" NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, session_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX session_contacts_current
    ON session_contacts (club_id, session_id) WHERE superseded_at IS NULL;
CREATE INDEX session_contacts_athlete ON session_contacts (club_id, athlete_id);
CREATE INDEX session_contacts_changes ON session_contacts (club_id, seq) WHERE superseded_at IS NULL;

SELECT wall_off('session_contacts');
