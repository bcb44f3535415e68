ALTER TABLE idempotency_keys DROP COLUMN erased;
DROP TABLE withheld_weeks;
DROP TABLE erasures;
