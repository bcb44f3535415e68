-- The second person who approved a version, where it was a draft before.
ALTER TABLE policies ADD COLUMN approver text COLLATE "C";

-- Policies that nobody has approved yet. No figure and no flag looks at them. An approved draft is a version and no draft any more.
CREATE TABLE policy_drafts (
    club_id uuid NOT NULL,
    draft_id uuid NOT NULL,
    body jsonb NOT NULL,
    written_by text COLLATE "C" NOT NULL,
    written_at timestamptz NOT NULL,
    changed_by text COLLATE "C" NOT NULL,
    changed_at timestamptz NOT NULL,
    version integer NOT NULL,
    PRIMARY KEY (club_id, draft_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
);
