DROP TABLE policy_drafts;
ALTER TABLE policies DROP COLUMN approver;
