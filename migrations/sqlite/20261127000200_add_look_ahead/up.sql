-- When a club looks ahead to the weekend: a weekday (1 is Monday) and minute of that day, in the club's zone. Clubs without a row do
-- not. A time that was passed before the setting was made is not made up for.
CREATE TABLE look_ahead_times (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    enabled INTEGER NOT NULL,
    weekday INTEGER NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    minute INTEGER NOT NULL CHECK (minute BETWEEN 0 AND 1439),
    set_at INTEGER NOT NULL,
    version INTEGER NOT NULL,
    PRIMARY KEY (club_id)
) STRICT, WITHOUT ROWID;

-- The look-aheads that were made: one a club and ISO week.
CREATE TABLE look_aheads (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    monday TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    policy_version INTEGER,
    PRIMARY KEY (club_id, monday)
) STRICT, WITHOUT ROWID;
