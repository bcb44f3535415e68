-- Row-level security: a transaction sees and changes rows of the clubs it has named, and of no other. The service names them with
-- SET LOCAL at its beginning; one that names none sees nothing. It binds the tables' owner too, and nobody who is superuser or
-- has BYPASSRLS. A migration that makes a table calls wall_off for it.
--
-- No subquery and no function of ours stands in the policy: Citus takes neither on a distributed table. A setting that was made with
-- SET LOCAL is empty afterwards, not absent, hence nullif.
CREATE FUNCTION wall_off(walled regclass) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    EXECUTE format('ALTER TABLE %s ENABLE ROW LEVEL SECURITY', walled);
    EXECUTE format('ALTER TABLE %s FORCE ROW LEVEL SECURITY', walled);
    EXECUTE format($policy$
        CREATE POLICY club_wall ON %s USING (
            club_id = nullif(current_setting('plimsoll.club', true), '')::uuid
            OR club_id = nullif(current_setting('plimsoll.beside', true), '')::uuid
            OR current_setting('plimsoll.every_club', true) = 'on'
        )$policy$, walled);
END;
$$;

SELECT wall_off(t.oid::regclass)
FROM pg_class t
JOIN pg_attribute a ON a.attrelid = t.oid AND a.attname = 'club_id'
WHERE t.relkind = 'r' AND t.relnamespace = current_schema()::regnamespace;
