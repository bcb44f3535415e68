DROP TABLE guardian_links;
