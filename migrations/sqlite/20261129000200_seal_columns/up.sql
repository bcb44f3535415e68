-- The keys that clubs' private values are sealed under, each wrapped by a master key from outside the database. When one was made
-- and retired is for people who look.
CREATE TABLE club_keys (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    number INTEGER NOT NULL,
    wrapped BLOB NOT NULL,
    master_key BLOB NOT NULL,
    made_at INTEGER NOT NULL DEFAULT (CAST(unixepoch('subsec') * 1000000 AS INTEGER)),
    retired_at INTEGER,
    PRIMARY KEY (club_id, number)
) STRICT, WITHOUT ROWID;

-- Sealed values begin with 2. Those of before begin with 1 and are kept as they are until `plimsoll keys rotate` seals them. SQLite
-- cannot change a column's type, so each is made anew.
-- Who is written to twice is asked of the opened addresses, while the club is held.
DROP INDEX notice_endpoints_recipient;
ALTER TABLE session_reports ADD COLUMN note_sealed BLOB;
ALTER TABLE session_reports ADD COLUMN reason_sealed BLOB;
UPDATE session_reports SET note_sealed = CAST(char(1) || note AS BLOB), reason_sealed = CAST(char(1) || reason AS BLOB);
ALTER TABLE session_reports DROP COLUMN note;
ALTER TABLE session_reports RENAME COLUMN note_sealed TO note;
ALTER TABLE session_reports DROP COLUMN reason;
ALTER TABLE session_reports RENAME COLUMN reason_sealed TO reason;
ALTER TABLE restrictions ADD COLUMN instruction_sealed BLOB;
ALTER TABLE restrictions ADD COLUMN note_sealed BLOB;
ALTER TABLE restrictions ADD COLUMN reason_sealed BLOB;
UPDATE restrictions SET instruction_sealed = CAST(char(1) || instruction AS BLOB), note_sealed = CAST(char(1) || note AS BLOB), reason_sealed = CAST(char(1) || reason AS BLOB);
ALTER TABLE restrictions DROP COLUMN instruction;
ALTER TABLE restrictions RENAME COLUMN instruction_sealed TO instruction;
ALTER TABLE restrictions DROP COLUMN note;
ALTER TABLE restrictions RENAME COLUMN note_sealed TO note;
ALTER TABLE restrictions DROP COLUMN reason;
ALTER TABLE restrictions RENAME COLUMN reason_sealed TO reason;
ALTER TABLE clearance_records ADD COLUMN scope_sealed BLOB NOT NULL DEFAULT x'01';
ALTER TABLE clearance_records ADD COLUMN document_reference_sealed BLOB NOT NULL DEFAULT x'01';
UPDATE clearance_records SET scope_sealed = CAST(char(1) || scope AS BLOB), document_reference_sealed = CAST(char(1) || document_reference AS BLOB);
ALTER TABLE clearance_records DROP COLUMN scope;
ALTER TABLE clearance_records RENAME COLUMN scope_sealed TO scope;
ALTER TABLE clearance_records DROP COLUMN document_reference;
ALTER TABLE clearance_records RENAME COLUMN document_reference_sealed TO document_reference;
ALTER TABLE flag_acknowledgements ADD COLUMN note_sealed BLOB;
UPDATE flag_acknowledgements SET note_sealed = CAST(char(1) || note AS BLOB);
ALTER TABLE flag_acknowledgements DROP COLUMN note;
ALTER TABLE flag_acknowledgements RENAME COLUMN note_sealed TO note;
ALTER TABLE notice_endpoints ADD COLUMN address_sealed BLOB NOT NULL DEFAULT x'01';
ALTER TABLE notice_endpoints ADD COLUMN secret_sealed BLOB;
ALTER TABLE notice_endpoints ADD COLUMN old_secret_sealed BLOB;
UPDATE notice_endpoints SET address_sealed = CAST(char(1) || address AS BLOB), secret_sealed = CAST(char(1) || secret AS BLOB), old_secret_sealed = CAST(char(1) || old_secret AS BLOB);
ALTER TABLE notice_endpoints DROP COLUMN address;
ALTER TABLE notice_endpoints RENAME COLUMN address_sealed TO address;
ALTER TABLE notice_endpoints DROP COLUMN secret;
ALTER TABLE notice_endpoints RENAME COLUMN secret_sealed TO secret;
ALTER TABLE notice_endpoints DROP COLUMN old_secret;
ALTER TABLE notice_endpoints RENAME COLUMN old_secret_sealed TO old_secret;
ALTER TABLE idempotency_keys ADD COLUMN body_sealed BLOB NOT NULL DEFAULT x'01';
UPDATE idempotency_keys SET body_sealed = CAST(char(1) || body AS BLOB);
ALTER TABLE idempotency_keys DROP COLUMN body;
ALTER TABLE idempotency_keys RENAME COLUMN body_sealed TO body;
