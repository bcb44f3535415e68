ALTER TABLE clubs DROP COLUMN closes_at_hour;
ALTER TABLE clubs DROP COLUMN closes_on;
