DROP TABLE pain_reports;
