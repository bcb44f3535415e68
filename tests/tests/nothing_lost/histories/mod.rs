//! What eight clients saw, held against what a store that loses no update may show.

mod check;
mod record;

use check::anomalies;

use crate::*;

/// Every table whose rows have a place in the club's sequence.
const SEQUENCED: [&str; 10] = [
    "policies",
    "athlete_versions",
    "memberships",
    "session_reports",
    "rest_days",
    "absences",
    "closed_weeks",
    "flag_versions",
    "flag_acknowledgements",
    "revocations",
];

on_both_databases! {
    async fn eight_clients_see_no_anomaly(database: Database) {
        let server = Server::start(database).await;
        let (club, athletes) = club_of(&server, 4).await;
        let operations = many(5_000, 100_000);
        let events = record::of_eight_clients(&club, &athletes, operations).await;
        let found = anomalies(&events);
        assert!(found.is_empty(), "{} anomalies in {} operations: {found:#?}", found.len(), events.len());

        // Nobody else wrote in this club, and it is the only one.
        let rows = SEQUENCED.map(|table| format!("SELECT seq FROM {table}")).join(" UNION ALL ");
        let query = format!("SELECT count(*), count(DISTINCT seq), min(seq), max(seq), (SELECT last_seq FROM clubs) FROM ({rows}) AS numbers");
        let sequence = server.rows(&query);
        let last = sequence[0][0].as_str();
        assert_eq!(sequence, [[last, last, "1", last, last]], "the sequence has gaps or doubles");
        println!("{database:?}: {} operations, 0 anomalies; a sequence of {last} without gaps or doubles", events.len());
    }
}
