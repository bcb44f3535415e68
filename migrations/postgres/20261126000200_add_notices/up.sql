-- Where notices go. The address is the URL of a webhook. Squads is a JSON list of ids that the database never looks into;
-- empty means all squads.
CREATE TABLE notice_endpoints (
    club_id uuid NOT NULL,
    endpoint_id uuid NOT NULL,
    channel text COLLATE "C" NOT NULL,
    address text NOT NULL,
    squads jsonb NOT NULL,
    secret bytea,
    old_secret bytea,
    old_secret_until timestamptz,
    failing_since timestamptz,
    disabled_at timestamptz,
    disabled_why text COLLATE "C",
    version integer NOT NULL,
    created_at timestamptz NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, endpoint_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);

-- What there is to tell, written in the transaction that makes it true.
CREATE TABLE notices (
    club_id uuid NOT NULL,
    notice_id uuid NOT NULL,
    kind text COLLATE "C" NOT NULL,
    monday date NOT NULL,
    created_at timestamptz NOT NULL,
    payload jsonb NOT NULL,
    PRIMARY KEY (club_id, notice_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);

-- One notice for one endpoint. The body is kept as text, so that every attempt sends the same bytes. Whoever holds the lease
-- sends; a lease that has run out may be taken over.
CREATE TABLE deliveries (
    club_id uuid NOT NULL,
    delivery_id uuid NOT NULL,
    notice_id uuid NOT NULL,
    endpoint_id uuid NOT NULL,
    body text NOT NULL,
    state text COLLATE "C" NOT NULL,
    due_at timestamptz NOT NULL,
    lease_owner uuid,
    lease_until timestamptz,
    attempts integer NOT NULL,
    last_status integer,
    created_at timestamptz NOT NULL,
    PRIMARY KEY (club_id, delivery_id),
    UNIQUE (club_id, notice_id, endpoint_id),
    FOREIGN KEY (club_id, notice_id) REFERENCES notices (club_id, notice_id),
    FOREIGN KEY (club_id, endpoint_id) REFERENCES notice_endpoints (club_id, endpoint_id)
);
CREATE INDEX deliveries_due ON deliveries (club_id, endpoint_id, due_at) WHERE state = 'pending';

-- What each attempt came to; never what the other side said.
CREATE TABLE delivery_attempts (
    club_id uuid NOT NULL,
    delivery_id uuid NOT NULL,
    attempt integer NOT NULL,
    at timestamptz NOT NULL,
    outcome text COLLATE "C" NOT NULL,
    status integer,
    answer_bytes integer,
    PRIMARY KEY (club_id, delivery_id, attempt),
    FOREIGN KEY (club_id, delivery_id) REFERENCES deliveries (club_id, delivery_id)
);
