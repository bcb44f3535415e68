-- What athletes and guardians ask about a session or an item of a programme, and what they are told: a row a version, texts sealed.
CREATE TABLE questions (
    club_id uuid NOT NULL,
    question_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    about jsonb NOT NULL,
    hurts boolean NOT NULL,
    text bytea NOT NULL,
    asked_by text COLLATE "C" NOT NULL,
    asked_at timestamptz NOT NULL,
    is_open boolean NOT NULL,
    reply bytea,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, question_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX questions_current ON questions (club_id, question_id) WHERE superseded_at IS NULL;
CREATE INDEX questions_athlete ON questions (club_id, athlete_id);

SELECT wall_off('questions');
