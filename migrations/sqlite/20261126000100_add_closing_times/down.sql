DROP TABLE closing_times;
