-- Two roles for the tool's database: one owns and migrates it, the app runs as the other.
-- By a superuser, in the tool's own database, as often as you like; nothing is lost:
--   psql -d fleet -v owner=fleet_owner -v app=fleet_app < deploy/postgresql/roles.sql
\set ON_ERROR_STOP on
\if :{?owner}
\else
  \set owner fleet_owner
\endif
\if :{?app}
\else
  \set app fleet_app
\endif
BEGIN;

SELECT format('CREATE ROLE %I LOGIN', name)
FROM unnest(ARRAY[:'owner', :'app']) AS name
WHERE NOT EXISTS (SELECT FROM pg_roles WHERE rolname = name) \gexec

ALTER ROLE :"app" NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION NOBYPASSRLS;
SELECT format('REVOKE %I FROM %I', roleid::regrole::name, :'app')
FROM pg_auth_members WHERE member = (SELECT oid FROM pg_roles WHERE rolname = :'app') \gexec

-- the owner of a database or schema may drop what is in it: none of them is the app's
ALTER DATABASE :"DBNAME" OWNER TO :"owner";
ALTER SCHEMA public OWNER TO :"owner";
SELECT format('ALTER TABLE %s OWNER TO %I', oid::regclass, :'owner')
FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') \gexec
SELECT format('ALTER FUNCTION %s OWNER TO %I', oid::regprocedure, :'owner')
FROM pg_proc WHERE proname = 'fleet_insert_only' \gexec

REVOKE TEMPORARY ON DATABASE :"DBNAME" FROM PUBLIC;
REVOKE CREATE ON SCHEMA public FROM PUBLIC;
REVOKE ALL ON DATABASE :"DBNAME" FROM :"app";
REVOKE ALL ON SCHEMA public FROM :"app";
REVOKE ALL ON ALL TABLES IN SCHEMA public FROM :"app";
GRANT CONNECT ON DATABASE :"DBNAME" TO :"app";
GRANT USAGE ON SCHEMA public TO :"app";

GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO :"app";
-- a backup by pg_dump reads where each sequence stands
GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO :"app";
-- tables of later migrations too; each migrate takes back what is too much
ALTER DEFAULT PRIVILEGES FOR ROLE :"owner" IN SCHEMA public
    GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO :"app";
ALTER DEFAULT PRIVILEGES FOR ROLE :"owner" IN SCHEMA public
    GRANT USAGE, SELECT ON SEQUENCES TO :"app";

-- what is recorded is inserted and read, no more
SELECT DISTINCT format('REVOKE UPDATE, DELETE ON %s FROM %I', tgrelid::regclass, :'app')
FROM pg_trigger JOIN pg_proc ON pg_proc.oid = tgfoid
WHERE proname = 'fleet_insert_only' \gexec

COMMIT;
