DROP INDEX notice_endpoints_recipient;
ALTER TABLE deliveries DROP COLUMN waiting_for;
DROP TABLE letters;
DROP TABLE mail_names;
DROP TABLE mail_settings;
