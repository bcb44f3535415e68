-- Programmes: a row a version, with blocks, weeks, days, sessions and items as one document. About nobody.
CREATE TABLE programmes (
    club_id uuid NOT NULL,
    programme_id uuid NOT NULL,
    name text NOT NULL,
    weeks integer NOT NULL,
    content jsonb NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, programme_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
CREATE UNIQUE INDEX programmes_current ON programmes (club_id, programme_id) WHERE superseded_at IS NULL;

-- Which version of a programme is done from when to when, by a squad or by one athlete, and what is different for her.
CREATE TABLE programme_assignments (
    club_id uuid NOT NULL,
    assignment_id uuid NOT NULL,
    programme_id uuid NOT NULL,
    programme_version integer NOT NULL,
    squad_id uuid,
    athlete_id uuid,
    from_date date NOT NULL,
    until_date date NOT NULL,
    changes jsonb NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, assignment_id, version),
    FOREIGN KEY (club_id, programme_id, programme_version) REFERENCES programmes (club_id, programme_id, version),
    FOREIGN KEY (club_id, squad_id) REFERENCES squads (club_id, squad_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id),
    CHECK ((squad_id IS NULL) <> (athlete_id IS NULL))
);
CREATE UNIQUE INDEX programme_assignments_current ON programme_assignments (club_id, assignment_id) WHERE superseded_at IS NULL;
CREATE INDEX programme_assignments_programme ON programme_assignments (club_id, programme_id);
CREATE INDEX programme_assignments_athlete ON programme_assignments (club_id, athlete_id);
CREATE INDEX programme_assignments_squad ON programme_assignments (club_id, squad_id);

SELECT wall_off('programmes');
SELECT wall_off('programme_assignments');
