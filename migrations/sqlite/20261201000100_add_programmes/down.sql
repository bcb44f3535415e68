DROP TABLE programme_assignments;
DROP TABLE programmes;
