-- The role that tests run the service as: row-level security binds it. Two tests may make it at once.
DO $$
BEGIN
    CREATE ROLE plimsoll_app LOGIN NOSUPERUSER NOBYPASSRLS PASSWORD 'plimsoll_app';
EXCEPTION WHEN duplicate_object OR unique_violation THEN
    NULL;
END;
$$;
-- Some tests read the files that a checkpoint has written.
GRANT pg_checkpoint, pg_read_all_settings TO plimsoll_app;
