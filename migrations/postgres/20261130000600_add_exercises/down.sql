DROP TABLE sign_offs;
DROP TABLE exercises;
