-- The second person who approved a version, where it was a draft before.
ALTER TABLE policies ADD COLUMN approver TEXT;

-- Policies that nobody has approved yet. No figure and no flag looks at them. An approved draft is a version and no draft any more.
CREATE TABLE policy_drafts (
    club_id BLOB NOT NULL,
    draft_id BLOB NOT NULL,
    body TEXT NOT NULL,
    written_by TEXT NOT NULL,
    written_at INTEGER NOT NULL,
    changed_by TEXT NOT NULL,
    changed_at INTEGER NOT NULL,
    version INTEGER NOT NULL,
    PRIMARY KEY (club_id, draft_id),
    FOREIGN KEY (club_id) REFERENCES clubs (club_id)
) STRICT;
