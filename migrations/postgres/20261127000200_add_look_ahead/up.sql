-- When a club looks ahead to the weekend: a weekday (1 is Monday) and minute of that day, in the club's zone. Clubs without a row do
-- not. A time that was passed before the setting was made is not made up for.
CREATE TABLE look_ahead_times (
    club_id uuid NOT NULL REFERENCES clubs (club_id),
    enabled boolean NOT NULL,
    weekday integer NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    minute integer NOT NULL CHECK (minute BETWEEN 0 AND 1439),
    set_at timestamptz NOT NULL,
    version integer NOT NULL,
    PRIMARY KEY (club_id)
);

-- The look-aheads that were made: one a club and ISO week.
CREATE TABLE look_aheads (
    club_id uuid NOT NULL REFERENCES clubs (club_id),
    monday date NOT NULL,
    made_at timestamptz NOT NULL,
    seq bigint NOT NULL,
    policy_version integer,
    PRIMARY KEY (club_id, monday)
);
