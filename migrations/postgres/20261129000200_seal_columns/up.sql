-- The keys that clubs' private values are sealed under, each wrapped by a master key from outside the database. When one was made
-- and retired is for people who look.
CREATE TABLE club_keys (
    club_id uuid NOT NULL,
    number integer NOT NULL,
    wrapped bytea NOT NULL,
    master_key bytea NOT NULL,
    made_at timestamptz NOT NULL DEFAULT now(),
    retired_at timestamptz,
    PRIMARY KEY (club_id, number),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);

-- Sealed values begin with 2. Those of before begin with 1 and are kept as they are until `plimsoll keys rotate` seals them.
-- Who is written to twice is asked of the opened addresses, while the club is held.
DROP INDEX notice_endpoints_recipient;
ALTER TABLE session_reports
    ALTER COLUMN note TYPE bytea USING '\x01'::bytea || convert_to(note, 'UTF8'),
    ALTER COLUMN reason TYPE bytea USING '\x01'::bytea || convert_to(reason, 'UTF8');
ALTER TABLE restrictions
    ALTER COLUMN instruction TYPE bytea USING '\x01'::bytea || convert_to(instruction, 'UTF8'),
    ALTER COLUMN note TYPE bytea USING '\x01'::bytea || convert_to(note, 'UTF8'),
    ALTER COLUMN reason TYPE bytea USING '\x01'::bytea || convert_to(reason, 'UTF8');
ALTER TABLE clearance_records
    ALTER COLUMN scope TYPE bytea USING '\x01'::bytea || convert_to(scope, 'UTF8'),
    ALTER COLUMN document_reference TYPE bytea USING '\x01'::bytea || convert_to(document_reference, 'UTF8');
ALTER TABLE flag_acknowledgements
    ALTER COLUMN note TYPE bytea USING '\x01'::bytea || convert_to(note, 'UTF8');
ALTER TABLE notice_endpoints
    ALTER COLUMN address TYPE bytea USING '\x01'::bytea || convert_to(address, 'UTF8'),
    ALTER COLUMN secret TYPE bytea USING '\x01'::bytea || secret,
    ALTER COLUMN old_secret TYPE bytea USING '\x01'::bytea || old_secret;
ALTER TABLE idempotency_keys
    ALTER COLUMN body TYPE bytea USING '\x01'::bytea || body;
