-- Run by the image of compose.yaml when it makes its data: the service's own role, which row-level security binds, and its database.
\getenv password PLIMSOLL_POSTGRES_PASSWORD
CREATE ROLE plimsoll LOGIN NOSUPERUSER NOBYPASSRLS PASSWORD :'password';
CREATE DATABASE plimsoll OWNER plimsoll TEMPLATE template0 ENCODING 'UTF8' LOCALE 'C.UTF-8';
