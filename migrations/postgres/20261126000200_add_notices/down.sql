DROP TABLE delivery_attempts;
DROP TABLE deliveries;
DROP TABLE notices;
DROP TABLE notice_endpoints;
