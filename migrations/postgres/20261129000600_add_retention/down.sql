DROP TABLE retention_runs;
DROP TABLE retention_holds;
DROP TABLE retention_settings;
