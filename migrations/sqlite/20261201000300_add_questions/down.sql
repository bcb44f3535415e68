DROP TABLE questions;
