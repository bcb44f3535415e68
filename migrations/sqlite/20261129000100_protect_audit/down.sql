DROP TRIGGER audit_reads_no_replace;
DROP TRIGGER audit_reads_no_delete;
DROP TRIGGER audit_reads_no_update;
