-- SQLite has no row-level security; the folder keeps the two lists of migrations the same.
SELECT 1;
