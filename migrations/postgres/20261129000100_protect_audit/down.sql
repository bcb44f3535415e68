DROP TRIGGER audit_reads_kept ON audit_reads;
DROP FUNCTION keep_audit_reads();
