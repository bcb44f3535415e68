-- Licences of clinicians, as the club keeps them on file.
CREATE TABLE licences (
    club_id uuid NOT NULL,
    licence_id uuid NOT NULL,
    subject text COLLATE "C" NOT NULL,
    name text NOT NULL,
    licence_type text NOT NULL,
    valid_until date NOT NULL,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, licence_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
CREATE UNIQUE INDEX licences_current
    ON licences (club_id, licence_id) WHERE superseded_at IS NULL;
CREATE INDEX licences_subject ON licences (club_id, subject);

-- What a clinician limits, and until when. The note and the kind of clearance that is needed are for clinicians alone.
CREATE TABLE restrictions (
    club_id uuid NOT NULL,
    restriction_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    from_date date NOT NULL,
    until_date date,
    review_date date NOT NULL,
    availability text COLLATE "C" NOT NULL,
    max_minutes integer,
    max_week_au integer,
    max_contacts integer,
    no_games boolean NOT NULL,
    no_jumps boolean NOT NULL,
    no_throws boolean NOT NULL,
    no_contact boolean NOT NULL,
    instruction text,
    note text,
    written_clearance text COLLATE "C",
    reason text,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, restriction_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX restrictions_current
    ON restrictions (club_id, restriction_id) WHERE superseded_at IS NULL;
CREATE INDEX restrictions_athlete ON restrictions (club_id, athlete_id, from_date);

-- What a clinician decided. Rows are only added: a decision is withdrawn by another.
CREATE TABLE clearance_records (
    club_id uuid NOT NULL,
    clearance_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    restriction_id uuid,
    decision text COLLATE "C" NOT NULL,
    scope text NOT NULL,
    name text NOT NULL,
    licence_type text NOT NULL,
    decided_on date NOT NULL,
    document_reference text NOT NULL,
    received_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    PRIMARY KEY (club_id, clearance_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE INDEX clearance_records_athlete ON clearance_records (club_id, athlete_id, clearance_id);
