-- What athletes say about pain: a row a version; no area where nothing hurts.
CREATE TABLE pain_reports (
    club_id BLOB NOT NULL,
    pain_report_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    felt_on TEXT NOT NULL,
    area TEXT,
    side TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, pain_report_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX pain_reports_current
    ON pain_reports (club_id, pain_report_id) WHERE superseded_at IS NULL;
CREATE INDEX pain_reports_athlete ON pain_reports (club_id, athlete_id, felt_on);
