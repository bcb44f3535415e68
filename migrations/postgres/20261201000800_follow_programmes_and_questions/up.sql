-- More of what has changed since a number of the club's sequence: the current versions by their numbers.
CREATE INDEX event_warm_ups_changes ON event_warm_ups (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX programmes_changes ON programmes (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX programme_assignments_changes ON programme_assignments (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX questions_changes ON questions (club_id, seq) WHERE superseded_at IS NULL;

-- Whether somebody is told that a question was asked. Nobody is until a club says so.
ALTER TABLE notice_endpoints ADD COLUMN questions boolean NOT NULL DEFAULT false;
