DROP INDEX events_calendar;
ALTER TABLE events DROP COLUMN recurrence_id;
ALTER TABLE events DROP COLUMN uid;
ALTER TABLE events DROP COLUMN calendar_id;
DROP TABLE calendars;
