//! Other programs that open the database and close it again while the service runs: its own command line, a backup, a look
//! with another tool. On SQLite they share the write-ahead log with it.

use crate::*;

on_both_databases! {
    async fn nothing_is_lost_when_other_programs_come_and_go(database: Database) {
        let mut server = Server::setup(database).busy().start().await;
        let (club, athletes) = club_of(&server, 1).await;
        let rounds = many(5, 50);
        for round in 0..rounds {
            for day in [1, 2] {
                let start = format!("2026-{:02}-{day:02}T08:{:02}:00+02:00", round % 5 + 5, round / 5);
                athletes[0].session(&start, 30, 5.0).await;
                // Both close the database: the command line at its end, and whoever reads the rows.
                let verify = server.run(&["audit", "verify"]);
                assert!(verify.status.success(), "{}", String::from_utf8_lossy(&verify.stderr));
                let stored = server.rows("SELECT count(*) FROM session_reports").concat();
                assert_eq!(stored, [(2 * round + day).to_string()], "round {round}");
            }
            server.kill();
            server.restart().await;
            let kept = all_items(&club.as_role("integration"), "sessions").await.len();
            assert_eq!(kept, 2 * (round + 1), "after the crash of round {round}");
        }
    }
}
