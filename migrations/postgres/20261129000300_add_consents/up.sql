-- From which age athletes decide for themselves in a club, and what needs consent there. Versions are only added.
CREATE TABLE consent_settings (
    club_id uuid NOT NULL,
    version integer NOT NULL,
    own_age integer NOT NULL,
    needed_for jsonb NOT NULL,
    received_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    PRIMARY KEY (club_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);

-- What families have consented to. The second version of a consent is its withdrawal.
CREATE TABLE consents (
    club_id uuid NOT NULL,
    consent_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    given_by text COLLATE "C" NOT NULL,
    purpose bytea NOT NULL,
    data_classes jsonb NOT NULL,
    recipient_role text COLLATE "C",
    recipient_club uuid,
    recipient_link uuid,
    given_at timestamptz NOT NULL,
    from_at timestamptz NOT NULL,
    until_at timestamptz,
    text_version text NOT NULL,
    evidence bytea,
    withdrawn_at timestamptz,
    withdrawn_by text COLLATE "C",
    withdrawal_evidence bytea,
    version integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    author text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    deleted boolean NOT NULL,
    PRIMARY KEY (club_id, consent_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE UNIQUE INDEX consents_current
    ON consents (club_id, consent_id) WHERE superseded_at IS NULL;
CREATE INDEX consents_athlete ON consents (club_id, athlete_id, consent_id);

-- Organisations that an athlete trains with elsewhere, and the code by which one of them may share day totals with this club.
CREATE TABLE sharing_links (
    club_id uuid NOT NULL,
    link_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    organisation bytea NOT NULL,
    code_hash bytea NOT NULL,
    code_until timestamptz NOT NULL,
    made_at timestamptz NOT NULL,
    linked_at timestamptz,
    linked_seq bigint,
    ended_at timestamptz,
    left_at timestamptz,
    version integer NOT NULL,
    PRIMARY KEY (club_id, link_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
);
CREATE INDEX sharing_links_athlete ON sharing_links (club_id, athlete_id, link_id);

-- Copies of what another organisation shares of an athlete's days, while consent to it stands. Nothing says which club it is.
CREATE TABLE shared_day_totals (
    club_id uuid NOT NULL,
    link_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    date date NOT NULL,
    load_half bigint NOT NULL,
    minutes integer NOT NULL,
    received_at timestamptz NOT NULL,
    superseded_at timestamptz,
    seq bigint NOT NULL,
    PRIMARY KEY (club_id, link_id, date, seq),
    FOREIGN KEY (club_id, link_id) REFERENCES sharing_links (club_id, link_id)
);
CREATE INDEX shared_day_totals_athlete ON shared_day_totals (club_id, athlete_id, date);

-- Which consents let day totals go to another club, and up to which of this club's changes they have been copied.
CREATE TABLE shares (
    club_id uuid NOT NULL,
    consent_id uuid NOT NULL,
    copied_seq bigint NOT NULL,
    PRIMARY KEY (club_id, consent_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);

-- Judgements that rested on totals which are no longer shared.
ALTER TABLE flag_versions ADD COLUMN hidden_at timestamptz;
