-- What was erased: the proof without the data. `filed_at` is when it was written to the file outside the database, `cleaned_at` when
-- the database was made to forget the bytes too; whichever is missing is tried again.
CREATE TABLE erasures (
    club_id uuid NOT NULL,
    erasure_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    at timestamptz NOT NULL,
    by_subject text NOT NULL,
    acting_role text COLLATE "C" NOT NULL,
    reason text COLLATE "C" NOT NULL,
    counts jsonb NOT NULL,
    filed_at timestamptz,
    cleaned_at timestamptz,
    PRIMARY KEY (club_id, erasure_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
CREATE INDEX erasures_unfinished
    ON erasures (club_id, erasure_id) WHERE filed_at IS NULL OR cleaned_at IS NULL;

-- Closed weeks of squads from which records were erased: figures of the group are told no more, since the difference would be hers.
-- The nil squad stands for counts of the whole club. A squad's weeks are marked whether or not she contributed, or the mark would tell.
CREATE TABLE withheld_weeks (
    club_id uuid NOT NULL,
    squad_id uuid NOT NULL,
    monday date NOT NULL,
    PRIMARY KEY (club_id, squad_id, monday),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);

-- The work of the key was done, and its answer was erased.
ALTER TABLE idempotency_keys ADD COLUMN erased boolean NOT NULL DEFAULT false;

SELECT wall_off('erasures');
SELECT wall_off('withheld_weeks');
