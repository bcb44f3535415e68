-- The audit list is only ever added to: who read what cannot be changed or taken away afterwards. Rows hold ids and the
-- token's subject and no names, so erasing a person leaves them alone.
CREATE FUNCTION keep_audit_reads() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'audit_reads is only ever added to, so that who read what stays as it was written';
END;
$$;

CREATE TRIGGER audit_reads_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON audit_reads
    FOR EACH STATEMENT EXECUTE FUNCTION keep_audit_reads();
-- In a session that plays a replica too, where other triggers rest.
ALTER TABLE audit_reads ENABLE ALWAYS TRIGGER audit_reads_kept;
