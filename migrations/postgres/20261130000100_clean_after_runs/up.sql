-- When the database was made to forget the bytes of what a night's run erased; tried again until it is. NULL of a run that erased
-- nothing means nothing.
ALTER TABLE retention_runs ADD COLUMN cleaned_at timestamptz;
CREATE INDEX retention_runs_unclean ON retention_runs (club_id, night) WHERE cleaned_at IS NULL AND athletes > 0;
