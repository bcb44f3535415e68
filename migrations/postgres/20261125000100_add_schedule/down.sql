DROP INDEX session_reports_event;
DROP TABLE expected_sessions;
DROP TABLE declared_histories;
DROP TABLE attendance;
DROP TABLE event_squads;
DROP TABLE events;
