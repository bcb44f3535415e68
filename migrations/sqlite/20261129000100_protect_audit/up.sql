-- The audit list is only ever added to: who read what cannot be changed or taken away afterwards. Rows hold ids and the
-- token's subject and no names, so erasing a person leaves them alone.
CREATE TRIGGER audit_reads_no_update BEFORE UPDATE ON audit_reads
BEGIN
    SELECT RAISE(ABORT, 'audit_reads is only ever added to, so that who read what stays as it was written');
END;

CREATE TRIGGER audit_reads_no_delete BEFORE DELETE ON audit_reads
BEGIN
    SELECT RAISE(ABORT, 'audit_reads is only ever added to, so that who read what stays as it was written');
END;

-- INSERT OR REPLACE takes a row away without asking the triggers of DELETE (SQLite documentation, "ON CONFLICT").
CREATE TRIGGER audit_reads_no_replace BEFORE INSERT ON audit_reads
WHEN EXISTS (SELECT 1 FROM audit_reads WHERE club_id = NEW.club_id AND audit_id = NEW.audit_id)
    OR EXISTS (SELECT 1 FROM audit_reads WHERE club_id = NEW.club_id AND number = NEW.number)
BEGIN
    SELECT RAISE(ABORT, 'audit_reads holds a row of that key, and is only ever added to');
END;
