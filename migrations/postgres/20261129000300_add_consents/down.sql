ALTER TABLE flag_versions DROP COLUMN hidden_at;
DROP TABLE shares;
DROP TABLE shared_day_totals;
DROP TABLE sharing_links;
DROP TABLE consents;
DROP TABLE consent_settings;
