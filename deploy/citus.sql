-- Distributes the tables of Plimsoll by club over the workers of a Citus cluster (a PostgreSQL extension). The way was tried with
-- Citus 13.0 on PostgreSQL 15; of this file order and completeness are checked, not a run on a cluster. Run it once, on the coordinator, after `plimsoll migrate` and before the first club is made:
--
--     psql --set ON_ERROR_STOP=1 --single-transaction --dbname plimsoll --file deploy/citus.sql
--
-- Every table holds club_id first in each key, so a club lies whole on one worker and each statement of the service, which
-- always names its club, is answered there. Tables that others refer to come first: a foreign key may point only at a table
-- that is distributed already.

CREATE EXTENSION IF NOT EXISTS citus;

-- Citus takes a table with triggers only where this is set (as in a published example of a Citus developer,
-- gist.github.com/marcocitus/b6babfb40f867c5338b36edc07d0fd0c; not tried here). The one of the audit list looks at no row.
SET citus.enable_unsafe_triggers = on;

-- Row-level security goes along with the tables; the clubs that a transaction names reach the workers only so.
ALTER DATABASE plimsoll SET citus.propagate_set_commands = 'local';

SELECT create_distributed_table('clubs', 'club_id');

SELECT create_distributed_table(name::regclass, 'club_id', colocate_with => 'clubs')
FROM unnest(ARRAY[
    'policies',
    'squads',
    'athletes',
    'athlete_versions',
    'memberships',
    'session_reports',
    'session_contacts',
    'rest_days',
    'absences',
    'test_results',
    'injuries',
    'pain_reports',
    'exercises',
    'sign_offs',
    'event_warm_ups',
    'questions',
    'programmes',
    'programme_assignments',
    'guardian_links',
    'second_copies',
    'licences',
    'restrictions',
    'clearance_records',
    'consent_settings',
    'retention_settings',
    'retention_holds',
    'retention_runs',
    'consents',
    'sharing_links',
    'shared_day_totals',
    'shares',
    'day_totals',
    'closing_times',
    'closed_weeks',
    'flags',
    'flag_versions',
    'flag_acknowledgements',
    'idempotency_keys',
    'audit_reads',
    'audit_heads',
    'revocations',
    'calendars',
    'roster_sources',
    'directory_entries',
    'events',
    'event_squads',
    'attendance',
    'declared_histories',
    'expected_sessions',
    'notice_endpoints',
    'notices',
    'deliveries',
    'delivery_attempts',
    'policy_drafts',
    'look_ahead_times',
    'look_aheads',
    'mail_settings',
    'mail_names',
    'letters',
    'club_keys',
    'erasures',
    'withheld_weeks'
]) WITH ORDINALITY AS tables (name, position)
ORDER BY position;

-- A new migration that makes a table adds it here.
