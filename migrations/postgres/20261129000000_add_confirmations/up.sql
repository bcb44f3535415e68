-- Nothing but its challenge goes to an endpoint before it is confirmed: a webhook by echoing the challenge, which lies in the body of
-- that notice's delivery; a club's first recipient of mail by somebody else than whoever entered the address. What was there before
-- counts as confirmed.
ALTER TABLE notice_endpoints ADD COLUMN confirmed_at timestamptz;
ALTER TABLE notice_endpoints ADD COLUMN challenge_id uuid;
ALTER TABLE notice_endpoints ADD COLUMN entered_by text;
UPDATE notice_endpoints SET confirmed_at = created_at;
