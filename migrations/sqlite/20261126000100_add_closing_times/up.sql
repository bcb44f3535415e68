-- When a club's week is closed: a weekday (1 is Monday) and minute of the day after it, in the club's zone. Clubs without a row
-- close on Monday at 07:00.
CREATE TABLE closing_times (
    club_id BLOB NOT NULL REFERENCES clubs (club_id),
    weekday INTEGER NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    minute INTEGER NOT NULL CHECK (minute BETWEEN 0 AND 1439),
    version INTEGER NOT NULL,
    PRIMARY KEY (club_id)
) STRICT, WITHOUT ROWID;
