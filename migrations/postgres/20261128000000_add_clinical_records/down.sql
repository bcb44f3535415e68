DROP TABLE clearance_records;
DROP TABLE restrictions;
DROP TABLE licences;
