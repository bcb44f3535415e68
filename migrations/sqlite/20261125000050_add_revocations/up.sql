CREATE TABLE revocations (
    club_id BLOB NOT NULL,
    revocation_id BLOB NOT NULL,
    kind TEXT NOT NULL,
    value TEXT NOT NULL,
    reason TEXT NOT NULL,
    revoked_by TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    lifted_at INTEGER,
    PRIMARY KEY (club_id, revocation_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
