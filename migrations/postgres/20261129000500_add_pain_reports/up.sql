-- What athletes say about pain: a row a version; no area where nothing hurts.
CREATE TABLE pain_reports (
    club_id uuid NOT NULL,
    pain_report_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    felt_on date NOT NULL,
    area text COLLATE "C",
    side text COLLATE "C",
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, pain_report_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX pain_reports_current
    ON pain_reports (club_id, pain_report_id) WHERE superseded_at IS NULL;
CREATE INDEX pain_reports_athlete ON pain_reports (club_id, athlete_id, felt_on);

SELECT wall_off('pain_reports');
