DO $$
DECLARE
    walled text;
BEGIN
    FOR walled IN
        SELECT tablename FROM pg_policies WHERE schemaname = current_schema() AND policyname = 'club_wall'
    LOOP
        EXECUTE format('DROP POLICY club_wall ON %I', walled);
        EXECUTE format('ALTER TABLE %I NO FORCE ROW LEVEL SECURITY', walled);
        EXECUTE format('ALTER TABLE %I DISABLE ROW LEVEL SECURITY', walled);
    END LOOP;
END;
$$;

DROP FUNCTION wall_off(regclass);
