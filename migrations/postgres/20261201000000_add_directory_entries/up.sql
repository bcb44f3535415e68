-- What a directory says of somebody, or of a squad, beside the roster: a row a version. Names and external ids of athletes and squads
-- are in the roster's own tables.
CREATE TABLE directory_entries (
    club_id uuid NOT NULL,
    entry_id uuid NOT NULL,
    athlete_id uuid,
    squad_id uuid,
    user_name text COLLATE "C",
    user_name_key text COLLATE "C",
    external_id text COLLATE "C",
    display_name text COLLATE "C",
    roles text COLLATE "C" NOT NULL,
    active boolean NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, entry_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id)
);
CREATE UNIQUE INDEX directory_entries_current
    ON directory_entries (club_id, entry_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX directory_entries_user_name
    ON directory_entries (club_id, user_name_key) WHERE superseded_at IS NULL AND NOT deleted;
CREATE UNIQUE INDEX directory_entries_external
    ON directory_entries (club_id, external_id) WHERE superseded_at IS NULL AND NOT deleted;
CREATE INDEX directory_entries_athlete ON directory_entries (club_id, athlete_id);
-- Squads are asked for with each user, and there are few among many people.
CREATE INDEX directory_entries_squads
    ON directory_entries (club_id, entry_id) WHERE superseded_at IS NULL AND squad_id IS NOT NULL;

SELECT wall_off('directory_entries');
