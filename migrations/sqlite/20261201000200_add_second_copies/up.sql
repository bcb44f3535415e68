-- Two athletes who are perhaps one, and what somebody who knows them decided: a row a version. What was carried over from the one to the
-- other is kept as ids, so that it can be brought back.
CREATE TABLE second_copies (
    club_id BLOB NOT NULL,
    second_copy_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    of_athlete_id BLOB NOT NULL,
    decision TEXT NOT NULL,
    carried TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, second_copy_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id),
    FOREIGN KEY (club_id, of_athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX second_copies_current ON second_copies (club_id, second_copy_id) WHERE superseded_at IS NULL;
CREATE INDEX second_copies_athlete ON second_copies (club_id, athlete_id);
CREATE INDEX second_copies_of ON second_copies (club_id, of_athlete_id);
