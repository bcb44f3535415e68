DROP TABLE look_aheads;
DROP TABLE look_ahead_times;
