DROP TABLE revocations;
