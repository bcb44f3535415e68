-- Physical tests: the trials of one test on one side on one day, in thousandths of the unit.
CREATE TABLE test_results (
    club_id BLOB NOT NULL,
    test_result_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    test TEXT NOT NULL,
    unit TEXT NOT NULL,
    better TEXT NOT NULL,
    side TEXT NOT NULL,
    trials TEXT NOT NULL,
    tested_on TEXT NOT NULL,
    tester TEXT NOT NULL,
    phase TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, test_result_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX test_results_current
    ON test_results (club_id, test_result_id) WHERE superseded_at IS NULL;
CREATE INDEX test_results_athlete ON test_results (club_id, athlete_id, tested_on);

-- Which side was hurt and when, for comparing tests. No diagnosis.
CREATE TABLE injuries (
    club_id BLOB NOT NULL,
    injury_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    side TEXT NOT NULL,
    injured_on TEXT NOT NULL,
    surgery_on TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, injury_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX injuries_current
    ON injuries (club_id, injury_id) WHERE superseded_at IS NULL;
CREATE INDEX injuries_athlete ON injuries (club_id, athlete_id, injured_on);
