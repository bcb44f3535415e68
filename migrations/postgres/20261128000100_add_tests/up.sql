-- Physical tests: the trials of one test on one side on one day, in thousandths of the unit.
CREATE TABLE test_results (
    club_id uuid NOT NULL,
    test_result_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    test text COLLATE "C" NOT NULL,
    unit text NOT NULL,
    better text COLLATE "C" NOT NULL,
    side text COLLATE "C" NOT NULL,
    trials jsonb NOT NULL,
    tested_on date NOT NULL,
    tester text NOT NULL,
    phase text COLLATE "C" NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, test_result_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX test_results_current
    ON test_results (club_id, test_result_id) WHERE superseded_at IS NULL;
CREATE INDEX test_results_athlete ON test_results (club_id, athlete_id, tested_on);

-- Which side was hurt and when, for comparing tests. No diagnosis.
CREATE TABLE injuries (
    club_id uuid NOT NULL,
    injury_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    side text COLLATE "C" NOT NULL,
    injured_on date NOT NULL,
    surgery_on date,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, injury_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX injuries_current
    ON injuries (club_id, injury_id) WHERE superseded_at IS NULL;
CREATE INDEX injuries_athlete ON injuries (club_id, athlete_id, injured_on);
