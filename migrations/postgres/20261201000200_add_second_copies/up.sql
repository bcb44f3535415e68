-- Two athletes who are perhaps one, and what somebody who knows them decided: a row a version. What was carried over from the one to the
-- other is kept as ids, so that it can be brought back.
CREATE TABLE second_copies (
    club_id uuid NOT NULL,
    second_copy_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    of_athlete_id uuid NOT NULL,
    decision text COLLATE "C" NOT NULL,
    carried jsonb,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, second_copy_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id),
    FOREIGN KEY (club_id, of_athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX second_copies_current ON second_copies (club_id, second_copy_id) WHERE superseded_at IS NULL;
CREATE INDEX second_copies_athlete ON second_copies (club_id, athlete_id);
CREATE INDEX second_copies_of ON second_copies (club_id, of_athlete_id);

SELECT wall_off('second_copies');
