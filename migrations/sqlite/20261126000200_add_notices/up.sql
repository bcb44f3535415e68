-- Where notices go. The address is the URL of a webhook. Squads is a JSON list of ids that the database never looks into;
-- empty means all squads.
CREATE TABLE notice_endpoints (
    club_id BLOB NOT NULL,
    endpoint_id BLOB NOT NULL,
    channel TEXT NOT NULL,
    address TEXT NOT NULL,
    squads TEXT NOT NULL,
    secret BLOB,
    old_secret BLOB,
    old_secret_until INTEGER,
    failing_since INTEGER,
    disabled_at INTEGER,
    disabled_why TEXT,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, endpoint_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;

-- What there is to tell, written in the transaction that makes it true.
CREATE TABLE notices (
    club_id BLOB NOT NULL,
    notice_id BLOB NOT NULL,
    kind TEXT NOT NULL,
    monday TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    payload TEXT NOT NULL,
    PRIMARY KEY (club_id, notice_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;

-- One notice for one endpoint. The body is kept as text, so that every attempt sends the same bytes. Whoever holds the lease
-- sends; a lease that has run out may be taken over.
CREATE TABLE deliveries (
    club_id BLOB NOT NULL,
    delivery_id BLOB NOT NULL,
    notice_id BLOB NOT NULL,
    endpoint_id BLOB NOT NULL,
    body TEXT NOT NULL,
    state TEXT NOT NULL,
    due_at INTEGER NOT NULL,
    lease_owner BLOB,
    lease_until INTEGER,
    attempts INTEGER NOT NULL,
    last_status INTEGER,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (club_id, delivery_id),
    UNIQUE (club_id, notice_id, endpoint_id),
    FOREIGN KEY (club_id, notice_id) REFERENCES notices (club_id, notice_id),
    FOREIGN KEY (club_id, endpoint_id) REFERENCES notice_endpoints (club_id, endpoint_id)
) STRICT;
CREATE INDEX deliveries_due ON deliveries (club_id, endpoint_id, due_at) WHERE state = 'pending';

-- What each attempt came to; never what the other side said.
CREATE TABLE delivery_attempts (
    club_id BLOB NOT NULL,
    delivery_id BLOB NOT NULL,
    attempt INTEGER NOT NULL,
    at INTEGER NOT NULL,
    outcome TEXT NOT NULL,
    status INTEGER,
    answer_bytes INTEGER,
    PRIMARY KEY (club_id, delivery_id, attempt),
    FOREIGN KEY (club_id, delivery_id) REFERENCES deliveries (club_id, delivery_id)
) STRICT;
