-- What has changed since a number of the club's sequence, for programs that follow it: the current versions by their numbers.
CREATE INDEX athlete_versions_changes ON athlete_versions (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX memberships_changes ON memberships (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX events_changes ON events (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX attendance_changes ON attendance (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX session_reports_changes ON session_reports (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX rest_days_changes ON rest_days (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX absences_changes ON absences (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX declared_histories_changes ON declared_histories (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX flag_versions_changes ON flag_versions (club_id, seq) WHERE superseded_at IS NULL;
CREATE INDEX policies_changes ON policies (club_id, seq);

-- Squads have no versions of their own: the number of the last change. Those from before begin the list, each with a number below 0.
ALTER TABLE squads ADD COLUMN seq INTEGER NOT NULL DEFAULT 0;
UPDATE squads SET seq = -1000000 + numbered.number FROM (
    SELECT club_id AS club, squad_id AS id, row_number() OVER (PARTITION BY club_id ORDER BY squad_id) AS number FROM squads
) AS numbered WHERE squads.club_id = numbered.club AND squads.squad_id = numbered.id;
CREATE INDEX squads_changes ON squads (club_id, seq);

-- So that programs that follow the club forget too.
ALTER TABLE erasures ADD COLUMN seq INTEGER NOT NULL DEFAULT 0;
UPDATE erasures SET seq = -2000000 + numbered.number FROM (
    SELECT club_id AS club, erasure_id AS id, row_number() OVER (PARTITION BY club_id ORDER BY erasure_id) AS number FROM erasures
) AS numbered WHERE erasures.club_id = numbered.club AND erasures.erasure_id = numbered.id;
CREATE INDEX erasures_changes ON erasures (club_id, seq);
