-- How a club's mail looks and when it goes out. Quiet hours are minutes of the day in the club's zone; both or neither.
CREATE TABLE mail_settings (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    sender_name TEXT,
    reply_to TEXT,
    quiet_from INTEGER CHECK (quiet_from BETWEEN 0 AND 1439),
    quiet_to INTEGER CHECK (quiet_to BETWEEN 0 AND 1439),
    version INTEGER NOT NULL,
    PRIMARY KEY (club_id)
) STRICT, WITHOUT ROWID;

-- Whether a club's mail may name athletes: the privacy lead's alone, and so apart.
CREATE TABLE mail_names (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    allowed INTEGER NOT NULL,
    version INTEGER NOT NULL,
    PRIMARY KEY (club_id)
) STRICT, WITHOUT ROWID;

-- What a recipient is told of a week, once: edition 0 of its close, 1, 2, … of corrections after it.
CREATE TABLE letters (
    club_id BLOB NOT NULL,
    endpoint_id BLOB NOT NULL,
    monday TEXT NOT NULL,
    edition INTEGER NOT NULL,
    delivery_id BLOB NOT NULL,
    PRIMARY KEY (club_id, endpoint_id, monday, edition),
    FOREIGN KEY (club_id, endpoint_id) REFERENCES notice_endpoints (club_id, endpoint_id),
    FOREIGN KEY (club_id, delivery_id) REFERENCES deliveries (club_id, delivery_id)
) STRICT, WITHOUT ROWID;

-- What a pending delivery waits for, where it is not the other side: quiet hours, the club's quota, the mail server.
ALTER TABLE deliveries ADD COLUMN waiting_for TEXT;

CREATE UNIQUE INDEX notice_endpoints_recipient ON notice_endpoints (club_id, address) WHERE channel = 'email' AND deleted = 0;
