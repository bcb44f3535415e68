-- What is sealed cannot be opened here: its octets are written down in hexadecimal digits.
ALTER TABLE session_reports
    ALTER COLUMN note TYPE text USING CASE substr(note, 1, 1) WHEN '\x01' THEN convert_from(substr(note, 2), 'UTF8') ELSE encode(note, 'hex') END,
    ALTER COLUMN reason TYPE text USING CASE substr(reason, 1, 1) WHEN '\x01' THEN convert_from(substr(reason, 2), 'UTF8') ELSE encode(reason, 'hex') END;
ALTER TABLE restrictions
    ALTER COLUMN instruction TYPE text USING CASE substr(instruction, 1, 1) WHEN '\x01' THEN convert_from(substr(instruction, 2), 'UTF8') ELSE encode(instruction, 'hex') END,
    ALTER COLUMN note TYPE text USING CASE substr(note, 1, 1) WHEN '\x01' THEN convert_from(substr(note, 2), 'UTF8') ELSE encode(note, 'hex') END,
    ALTER COLUMN reason TYPE text USING CASE substr(reason, 1, 1) WHEN '\x01' THEN convert_from(substr(reason, 2), 'UTF8') ELSE encode(reason, 'hex') END;
ALTER TABLE clearance_records
    ALTER COLUMN scope TYPE text USING CASE substr(scope, 1, 1) WHEN '\x01' THEN convert_from(substr(scope, 2), 'UTF8') ELSE encode(scope, 'hex') END,
    ALTER COLUMN document_reference TYPE text USING CASE substr(document_reference, 1, 1) WHEN '\x01' THEN convert_from(substr(document_reference, 2), 'UTF8') ELSE encode(document_reference, 'hex') END;
ALTER TABLE flag_acknowledgements
    ALTER COLUMN note TYPE text USING CASE substr(note, 1, 1) WHEN '\x01' THEN convert_from(substr(note, 2), 'UTF8') ELSE encode(note, 'hex') END;
ALTER TABLE notice_endpoints
    ALTER COLUMN address TYPE text USING CASE substr(address, 1, 1) WHEN '\x01' THEN convert_from(substr(address, 2), 'UTF8') ELSE encode(address, 'hex') END,
    ALTER COLUMN secret TYPE bytea USING CASE substr(secret, 1, 1) WHEN '\x01' THEN substr(secret, 2) ELSE secret END,
    ALTER COLUMN old_secret TYPE bytea USING CASE substr(old_secret, 1, 1) WHEN '\x01' THEN substr(old_secret, 2) ELSE old_secret END;
ALTER TABLE idempotency_keys
    ALTER COLUMN body TYPE bytea USING CASE substr(body, 1, 1) WHEN '\x01' THEN substr(body, 2) ELSE body END;
CREATE UNIQUE INDEX notice_endpoints_recipient ON notice_endpoints (club_id, address) WHERE channel = 'email' AND NOT deleted;
DROP TABLE club_keys;
