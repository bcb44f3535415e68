-- From which age athletes decide for themselves in a club, and what needs consent there. Versions are only added.
CREATE TABLE consent_settings (
    club_id BLOB NOT NULL,
    version INTEGER NOT NULL,
    own_age INTEGER NOT NULL,
    needed_for TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    PRIMARY KEY (club_id, version),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;

-- What families have consented to. The second version of a consent is its withdrawal.
CREATE TABLE consents (
    club_id BLOB NOT NULL,
    consent_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    given_by TEXT NOT NULL,
    purpose BLOB NOT NULL,
    data_classes TEXT NOT NULL,
    recipient_role TEXT,
    recipient_club BLOB,
    recipient_link BLOB,
    given_at INTEGER NOT NULL,
    from_at INTEGER NOT NULL,
    until_at INTEGER,
    text_version TEXT NOT NULL,
    evidence BLOB,
    withdrawn_at INTEGER,
    withdrawn_by TEXT,
    withdrawal_evidence BLOB,
    version INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    author TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    deleted INTEGER NOT NULL,
    PRIMARY KEY (club_id, consent_id, version),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE UNIQUE INDEX consents_current
    ON consents (club_id, consent_id) WHERE superseded_at IS NULL;
CREATE INDEX consents_athlete ON consents (club_id, athlete_id, consent_id);

-- Organisations that an athlete trains with elsewhere, and the code by which one of them may share day totals with this club.
CREATE TABLE sharing_links (
    club_id BLOB NOT NULL,
    link_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    organisation BLOB NOT NULL,
    code_hash BLOB NOT NULL,
    code_until INTEGER NOT NULL,
    made_at INTEGER NOT NULL,
    linked_at INTEGER,
    linked_seq INTEGER,
    ended_at INTEGER,
    left_at INTEGER,
    version INTEGER NOT NULL,
    PRIMARY KEY (club_id, link_id),
    FOREIGN KEY (club_id, athlete_id) REFERENCES athletes (club_id, athlete_id)
) STRICT;
CREATE INDEX sharing_links_athlete ON sharing_links (club_id, athlete_id, link_id);

-- Copies of what another organisation shares of an athlete's days, while consent to it stands. Nothing says which club it is.
CREATE TABLE shared_day_totals (
    club_id BLOB NOT NULL,
    link_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    date TEXT NOT NULL,
    load_half INTEGER NOT NULL,
    minutes INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    superseded_at INTEGER,
    seq INTEGER NOT NULL,
    PRIMARY KEY (club_id, link_id, date, seq),
    FOREIGN KEY (club_id, link_id) REFERENCES sharing_links (club_id, link_id)
) STRICT;
CREATE INDEX shared_day_totals_athlete ON shared_day_totals (club_id, athlete_id, date);

-- Which consents let day totals go to another club, and up to which of this club's changes they have been copied.
CREATE TABLE shares (
    club_id BLOB NOT NULL,
    consent_id BLOB NOT NULL,
    copied_seq INTEGER NOT NULL,
    PRIMARY KEY (club_id, consent_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;

-- Judgements that rested on totals which are no longer shared.
ALTER TABLE flag_versions ADD COLUMN hidden_at INTEGER;
