-- What was erased: the proof without the data. `filed_at` is when it was written to the file outside the database, `cleaned_at` when
-- the database was made to forget the bytes too; whichever is missing is tried again.
CREATE TABLE erasures (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    erasure_id BLOB NOT NULL,
    athlete_id BLOB NOT NULL,
    at INTEGER NOT NULL,
    by_subject TEXT NOT NULL,
    acting_role TEXT NOT NULL,
    reason TEXT NOT NULL,
    counts TEXT NOT NULL,
    filed_at INTEGER,
    cleaned_at INTEGER,
    PRIMARY KEY (club_id, erasure_id)
) STRICT;
CREATE INDEX erasures_unfinished
    ON erasures (club_id, erasure_id) WHERE filed_at IS NULL OR cleaned_at IS NULL;

-- Closed weeks of squads from which records were erased: figures of the group are told no more, since the difference would be hers.
-- The nil squad stands for counts of the whole club. A squad's weeks are marked whether or not she contributed, or the mark would tell.
CREATE TABLE withheld_weeks (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    squad_id BLOB NOT NULL,
    monday TEXT NOT NULL,
    PRIMARY KEY (club_id, squad_id, monday)
) STRICT, WITHOUT ROWID;

-- The work of the key was done, and its answer was erased.
ALTER TABLE idempotency_keys ADD COLUMN erased INTEGER NOT NULL DEFAULT 0;
