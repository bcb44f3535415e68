-- The two database roles of Plimsoll: plimsoll_owner owns the tables and applies migrations; plimsoll reads and writes rows, owns
-- nothing, and no policy of row-level security is passed over for it. As a superuser, in the database that holds the data or is to:
--
--     sudo -u postgres psql --set ON_ERROR_STOP=1 --dbname plimsoll --file deploy/postgres-roles.sql
--
-- Then give both a password (\password plimsoll) or another way to be known (pg_hba.conf). Running it again changes nothing.
SELECT format('CREATE ROLE %I LOGIN', name)
FROM unnest(ARRAY['plimsoll_owner', 'plimsoll']) AS name
WHERE NOT EXISTS (SELECT FROM pg_roles WHERE rolname = name)
\gexec
ALTER ROLE plimsoll_owner NOSUPERUSER NOBYPASSRLS NOCREATEROLE NOCREATEDB;
ALTER ROLE plimsoll NOSUPERUSER NOBYPASSRLS NOCREATEROLE NOCREATEDB;

-- Only the owner of a database can make it forget the samples of values that the planner keeps (`plimsoll erasures finish`).
SELECT format('ALTER DATABASE %I OWNER TO plimsoll_owner', current_database())
\gexec
GRANT CREATE, USAGE ON SCHEMA public TO plimsoll_owner;
GRANT USAGE ON SCHEMA public TO plimsoll;

-- What another role has made already.
SELECT format('ALTER TABLE public.%I OWNER TO plimsoll_owner', tablename) FROM pg_tables WHERE schemaname = 'public'
\gexec
SELECT format('ALTER FUNCTION %s OWNER TO plimsoll_owner', oid::regprocedure)
FROM pg_proc WHERE pronamespace = 'public'::regnamespace
\gexec

-- No TRUNCATE, no REFERENCES, no TRIGGER; the second for tables of later migrations.
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO plimsoll;
ALTER DEFAULT PRIVILEGES FOR ROLE plimsoll_owner IN SCHEMA public
    GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO plimsoll;
