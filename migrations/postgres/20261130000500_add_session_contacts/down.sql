DROP TABLE session_contacts;
