//! What eight clients saw, held against what a store that loses no update may show.

mod check;
mod record;

use check::anomalies;

use crate::*;

/// Names every table whose rows have a place in the club's sequence.
fn sequenced(database: Database) -> &'static str {
    match database {
        Database::Sqlite => {
            "SELECT tables.name FROM sqlite_master AS tables, pragma_table_info(tables.name) AS columns \
             WHERE tables.type = 'table' AND columns.name = 'seq'"
        }
        Database::Postgres => {
            "SELECT table_name FROM information_schema.columns \
             WHERE table_schema = 'public' AND column_name = 'seq'"
        }
    }
}

on_both_databases! {
    async fn eight_clients_see_no_anomaly(database: Database) {
        let server = Server::setup(database).busy().start().await;
        let (club, athletes) = club_of(&server, 4).await;
        let operations = many(3_000, 100_000);
        let events = record::of_eight_clients(&club, &athletes, operations).await;
        let found = anomalies(&events);
        assert!(found.is_empty(), "{} anomalies in {} operations: {found:#?}", found.len(), events.len());

        // Nobody else wrote in this club, and it is the only one.
        let tables = server.rows(sequenced(database)).concat();
        assert!(tables.iter().any(|table| table == "session_reports"), "{tables:?}");
        let rows: Vec<_> = tables.iter().map(|table| format!("SELECT seq FROM {table}")).collect();
        let rows = rows.join(" UNION ALL ");
        let query = format!("SELECT count(*), count(DISTINCT seq), min(seq), max(seq), (SELECT last_seq FROM clubs) FROM ({rows}) AS numbers");
        let sequence = server.rows(&query);
        let last = sequence[0][0].as_str();
        assert_eq!(sequence, [[last, last, "1", last, last]], "the sequence has gaps or doubles");
        println!("{database:?}: {} operations, 0 anomalies; a sequence of {last} without gaps or doubles", events.len());
    }
}
