-- Each row of the audit list is bound to the one before it: `number` counts a club's rows from 1, `link` is a keyed
-- hash over the row and the link before. Rows from before the chain have neither.
ALTER TABLE audit_reads ADD COLUMN number bigint, ADD COLUMN link bytea;
CREATE UNIQUE INDEX audit_reads_number ON audit_reads (club_id, number) WHERE number IS NOT NULL;

-- The last link of each club, and with which key it was made. No foreign key, as the list has none.
CREATE TABLE audit_heads (
    club_id uuid NOT NULL,
    number bigint NOT NULL,
    link bytea NOT NULL,
    key_id bytea NOT NULL,
    PRIMARY KEY (club_id)
);
