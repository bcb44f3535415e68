-- What a club adds to the catalogue of exercises: its own, and films of any. A row a version; without content it is a film of a shipped one.
CREATE TABLE exercises (
    club_id uuid NOT NULL,
    exercise_id uuid NOT NULL,
    code text COLLATE "C" NOT NULL,
    film_url text,
    content jsonb,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, exercise_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
CREATE UNIQUE INDEX exercises_current ON exercises (club_id, exercise_id) WHERE superseded_at IS NULL;
CREATE UNIQUE INDEX exercises_code ON exercises (club_id, code) WHERE superseded_at IS NULL;

-- Who watched which exercise done well: a row a version, the last one deleted where it was withdrawn.
CREATE TABLE sign_offs (
    club_id uuid NOT NULL,
    sign_off_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    exercise text COLLATE "C" NOT NULL,
    signed_on date NOT NULL,
    watched_by text NOT NULL,
    watched_role text COLLATE "C" NOT NULL,
    note bytea,
    reason bytea,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, sign_off_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX sign_offs_current ON sign_offs (club_id, sign_off_id) WHERE superseded_at IS NULL;
CREATE INDEX sign_offs_athlete ON sign_offs (club_id, athlete_id);

SELECT wall_off('exercises');
SELECT wall_off('sign_offs');
