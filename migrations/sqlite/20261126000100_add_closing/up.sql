-- When a club's weeks are closed, local time of the club, in the week after each.
ALTER TABLE clubs ADD COLUMN closes_on TEXT NOT NULL DEFAULT 'monday';
ALTER TABLE clubs ADD COLUMN closes_at_hour INTEGER NOT NULL DEFAULT 7;
