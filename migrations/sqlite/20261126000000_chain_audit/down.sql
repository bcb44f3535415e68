DROP TABLE audit_heads;
DROP INDEX audit_reads_number;
ALTER TABLE audit_reads DROP COLUMN link;
ALTER TABLE audit_reads DROP COLUMN number;
