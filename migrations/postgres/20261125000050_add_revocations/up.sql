CREATE TABLE revocations (
    club_id uuid NOT NULL,
    revocation_id uuid NOT NULL,
    kind text COLLATE "C" NOT NULL,
    value text COLLATE "C" NOT NULL,
    reason text NOT NULL,
    revoked_by text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    received_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    lifted_at timestamptz,
    PRIMARY KEY (club_id, revocation_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
