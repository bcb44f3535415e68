ALTER TABLE notice_endpoints DROP COLUMN questions;
DROP INDEX questions_changes;
DROP INDEX programme_assignments_changes;
DROP INDEX programmes_changes;
DROP INDEX event_warm_ups_changes;
