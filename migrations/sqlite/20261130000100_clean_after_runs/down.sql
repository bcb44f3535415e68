DROP INDEX retention_runs_unclean;
ALTER TABLE retention_runs DROP COLUMN cleaned_at;
