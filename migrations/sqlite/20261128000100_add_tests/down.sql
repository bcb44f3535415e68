DROP TABLE injuries;
DROP TABLE test_results;
