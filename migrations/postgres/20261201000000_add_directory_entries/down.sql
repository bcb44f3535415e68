DROP TABLE directory_entries;
