DROP TABLE event_warm_ups;
