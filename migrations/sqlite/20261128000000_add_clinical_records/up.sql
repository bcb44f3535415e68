-- Licences of clinicians, as the club keeps them on file.
CREATE TABLE licences (
    club_id BLOB NOT NULL,
    licence_id BLOB NOT NULL,
    subject TEXT NOT NULL,
    name TEXT NOT NULL,
    licence_type TEXT NOT NULL,
    valid_until TEXT NOT NULL,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, licence_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
CREATE UNIQUE INDEX licences_current
    ON licences (club_id, licence_id) WHERE superseded_at IS NULL;
CREATE INDEX licences_subject ON licences (club_id, subject);

-- What a clinician limits, and until when. The note and the kind of clearance that is needed are for clinicians alone.
CREATE TABLE restrictions (
    club_id BLOB NOT NULL,
    restriction_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    from_date TEXT NOT NULL,
    until_date TEXT,
    review_date TEXT NOT NULL,
    availability TEXT NOT NULL,
    max_minutes INTEGER,
    max_week_au INTEGER,
    max_contacts INTEGER,
    no_games INTEGER NOT NULL,
    no_jumps INTEGER NOT NULL,
    no_throws INTEGER NOT NULL,
    no_contact INTEGER NOT NULL,
    instruction TEXT,
    note TEXT,
    written_clearance TEXT,
    reason TEXT,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, restriction_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX restrictions_current
    ON restrictions (club_id, restriction_id) WHERE superseded_at IS NULL;
CREATE INDEX restrictions_athlete ON restrictions (club_id, athlete_id, from_date);

-- What a clinician decided. Rows are only added: a decision is withdrawn by another.
CREATE TABLE clearance_records (
    club_id BLOB NOT NULL,
    clearance_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    restriction_id BLOB,
    decision TEXT NOT NULL,
    scope TEXT NOT NULL,
    name TEXT NOT NULL,
    licence_type TEXT NOT NULL,
    decided_on TEXT NOT NULL,
    document_reference TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    PRIMARY KEY (club_id, clearance_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE INDEX clearance_records_athlete ON clearance_records (club_id, athlete_id, clearance_id);
