DROP TABLE second_copies;
