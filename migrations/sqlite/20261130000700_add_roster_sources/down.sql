DROP TABLE roster_sources;
