-- What athletes and guardians ask about a session or an item of a programme, and what they are told: a row a version, texts sealed.
CREATE TABLE questions (
    club_id BLOB NOT NULL,
    question_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    about TEXT NOT NULL,
    hurts INTEGER NOT NULL,
    text BLOB NOT NULL,
    asked_by TEXT NOT NULL,
    asked_at INTEGER NOT NULL,
    is_open INTEGER NOT NULL,
    reply BLOB,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, question_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX questions_current ON questions (club_id, question_id) WHERE superseded_at IS NULL;
CREATE INDEX questions_athlete ON questions (club_id, athlete_id);
