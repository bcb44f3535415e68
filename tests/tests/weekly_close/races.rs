//! Two servers at one time, and one that dies half-way: each week is closed once, each flag raised once.

use e2e::{Held, HeldClose};
use jiff::civil::Date;

use crate::*;

/// A club of four athletes who take turns: each week one has a spike, which is raised when the week is closed.
struct Turns {
    athletes: Vec<Athlete>,
    /// The Monday of the week that runs.
    monday: Date,
}

impl Turns {
    /// A club made on Monday 9 November 2026, with three quiet weeks behind it.
    async fn begin(server: &Server) -> Self {
        let club = server.club(HAVNEBY).await;
        club.example_policy().await;
        let squad = club.squad("U16").await;
        let mut athletes = Vec::new();
        for code in ["P-01", "P-02", "P-03", "P-04"] {
            let athlete = squad.athlete(code).with("joined_on", "2026-10-19").await;
            club.bulk(athlete.weeks("2026-10-19", &[400.0; 3]))
                .await
                .expect(200);
            athletes.push(athlete);
        }
        let turns = Self {
            athletes,
            monday: date(2026, 11, 9),
        };
        turns.train(0).await;
        turns
    }

    /// The week that runs: 2880 AU of whose turn it is and 400 of everybody else, on Monday before 07:00.
    async fn train(&self, turn: usize) {
        let at = format!("{}T01:00:00+01:00", self.monday);
        let reports = self.athletes.iter().enumerate().map(|(number, athlete)| {
            let minutes = if number == turn % self.athletes.len() {
                288
            } else {
                40
            };
            athlete.session(&at, minutes, 10.0).into_body()
        });
        self.athletes[0]
            .club()
            .bulk(reports.collect())
            .await
            .expect(200);
    }

    /// When the week that runs is to be closed.
    fn due(&self) -> String {
        let next = self.monday.saturating_add(7.days());
        let due = next.at(7, 0, 0, 0).in_tz("Europe/Copenhagen");
        due.expect("an instant").timestamp().to_string()
    }

    /// What must be true once the first `rounds` weeks are closed. Then the next week runs.
    async fn judge(&mut self, server: &Server, rounds: usize) {
        let found = closed_soon(server, HAVNEBY, rounds).await;
        assert_eq!(
            found.last(),
            Some(&week(&self.monday.to_string(), false)),
            "round {rounds}"
        );
        assert_eq!(found.len(), rounds);
        assert_eq!(notices(server, "week_closed"), rounds, "round {rounds}");
        assert_eq!(
            raised_once(server),
            rounds,
            "each week has raised something"
        );
        self.monday = self.monday.saturating_add(7.days());
        self.train(rounds).await;
    }
}

/// The weeks with flags, none of which has more than the version that its close has raised.
fn raised_once(server: &Server) -> usize {
    let versions = server.rows(
        "SELECT monday, athlete_id, rule, count(*), min(cause) FROM flags JOIN flag_versions USING (club_id, flag_id) \
         GROUP BY monday, athlete_id, rule ORDER BY monday",
    );
    let twice: Vec<_> = versions
        .iter()
        .filter(|row| row[3] != "1" || row[4] != "week_closed")
        .collect();
    assert!(twice.is_empty(), "{twice:?}");
    let mut weeks: Vec<&String> = versions.iter().map(|row| &row[0]).collect();
    weeks.dedup();
    weeks.len()
}

/// Waits until a server has nothing left to do and says so.
async fn in_order(server: &Server) {
    until_looked(server).await;
    until(async || {
        let ready = server.anonymous().get("/health/ready").await.expect(200);
        if ready["status"] == "ready" {
            Ok(())
        } else {
            Err(ready)
        }
    })
    .await;
}

/// Gives the lock back once both closes wait for it, or once the first has waited for a second: a little later it would give up.
/// Says whether both were seen; on SQLite, where nobody can tell, whether both had time to come.
async fn let_go_when_both_wait(held: Held) -> bool {
    let mut waited = 0;
    while waited < 10 {
        match held.waiting() {
            Some(0) => {}
            Some(1) => waited += 1,
            Some(_) => return true,
            None => {
                // Less than a write waits for SQLite's lock, or both looks would fail and come again after half a minute.
                tokio::time::sleep(Duration::from_secs(1)).await;
                return true;
            }
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    false
}

on_both_databases! {
    async fn two_servers_at_the_same_tick_close_a_week_once(database: Database) {
        let mut server = with_jobs(database).await;
        let mut turns = Turns::begin(&server).await;
        let mut other = server.beside().await;
        let mut met = 0;
        for round in 1..=many(10, 200) {
            // Both look as soon as they have started, and wait for each other at the start.
            let (due, held) = (turns.due(), server.hold_database());
            let (started, both) = (
                async { tokio::join!(server.restart_at(&due), other.restart_at(&due)) },
                let_go_when_both_wait(held),
            );
            met += usize::from(tokio::join!(started, both).1);
            turns.judge(&server, round).await;
        }
        for one in [&server, &other] {
            in_order(one).await;
        }
        assert!(met > 0, "no two closes have met");
        println!("{database:?}: {} weeks, two closes each, {met} at one instant; 0 missing, 0 doubled", many(10, 200));
    }

    async fn a_server_killed_half_way_leaves_one_close_and_one_notice(database: Database) {
        let mut server = with_jobs(database).await;
        let mut turns = Turns::begin(&server).await;
        let mut other = server.beside().await;
        for round in 1..=many(10, 200) {
            let (due, held): (String, HeldClose) = (turns.due(), server.hold_closes());
            other.restart_at(&due).await;
            held.is_under_way().await;
            other.kill();
            assert_eq!(closed(&server, HAVNEBY).len(), round - 1, "it was killed before its end");
            drop(held);
            server.restart_at(&due).await;
            turns.judge(&server, round).await;
        }
        println!("{database:?}: {} closes killed half-way; 0 missing, 0 doubled", many(10, 200));
    }
}
