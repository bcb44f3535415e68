ALTER TABLE notice_endpoints DROP COLUMN entered_by;
ALTER TABLE notice_endpoints DROP COLUMN challenge_id;
ALTER TABLE notice_endpoints DROP COLUMN confirmed_at;
