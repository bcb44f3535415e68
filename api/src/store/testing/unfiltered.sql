-- Every row has a twin: the same row once more, of another club, kept up by triggers that nothing binds. And every table has a view
-- of its name in the schema `unfiltered` in which all rows are the asking club's, so that `club_id = $1` holds of each. The views are
-- read with the rights of whom reads, so row-level security is what is left between a club and the twins.
CREATE FUNCTION twin(club uuid) RETURNS uuid LANGUAGE sql IMMUTABLE AS $$ SELECT md5(club::text)::uuid $$;

-- As a replica: no foreign keys are looked at, and the twins' own triggers rest.
CREATE FUNCTION keep_twin() RETURNS trigger LANGUAGE plpgsql
    SECURITY DEFINER SET session_replication_role = replica SET search_path = public AS $$
BEGIN
    IF TG_OP <> 'INSERT' THEN
        EXECUTE format('DELETE FROM %s t WHERE t.* = $1', TG_RELID::regclass)
            USING jsonb_populate_record(OLD, jsonb_build_object('club_id', twin(OLD.club_id)));
    END IF;
    IF TG_OP <> 'DELETE' THEN
        EXECUTE format('INSERT INTO %s SELECT ($1).*', TG_RELID::regclass)
            USING jsonb_populate_record(NEW, jsonb_build_object('club_id', twin(NEW.club_id)));
    END IF;
    RETURN NULL;
END;
$$;

CREATE SCHEMA unfiltered;
GRANT USAGE ON SCHEMA unfiltered TO plimsoll_app;

DO $$
DECLARE
    t record;
BEGIN
    FOR t IN
        SELECT table_name AS name,
               string_agg(CASE column_name WHEN 'club_id'
                   THEN 'coalesce(nullif(current_setting(''plimsoll.club'', true), '''')::uuid, club_id) AS club_id'
                   ELSE quote_ident(column_name) END, ', ' ORDER BY ordinal_position) AS columns
        FROM information_schema.columns
        WHERE table_schema = 'public'
        GROUP BY table_name
        HAVING bool_or(column_name = 'club_id')
    LOOP
        EXECUTE format('CREATE TRIGGER keep_twin AFTER INSERT OR UPDATE OR DELETE ON public.%I
                        FOR EACH ROW EXECUTE FUNCTION keep_twin()', t.name);
        EXECUTE format('CREATE VIEW unfiltered.%I WITH (security_invoker = true) AS SELECT %s FROM public.%I',
                       t.name, t.columns, t.name);
        EXECUTE format('GRANT SELECT ON unfiltered.%I TO plimsoll_app', t.name);
    END LOOP;
END;
$$;
