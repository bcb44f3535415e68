//! S08: a week that was closed and is corrected says so on its list, and the list as it was closed can be read again. The weeks are
//! those of the flag tests: 1400, 1450, 1500, then 2700 AU with a game of 80 minutes rated 9, corrected to 6 on the Wednesday after.

use crate::*;

struct Closed {
    server: Server,
    squad: Squad,
    athlete: Athlete,
    game: String,
}

/// Monday morning, 2026-W37 closed.
async fn closed_week(database: Database, game_rpe: f64) -> Closed {
    let (server, club, squad) = club_with_squad(database, "2026-09-14T07:00:00+02:00", "U18").await;
    club.example_policy().await;
    let athlete = squad.athlete("P-15").with("joined_on", "2026-08-17").await;
    store(
        &club,
        athlete.weeks("2026-08-17", &[1400.0, 1450.0, 1500.0, 1980.0]),
    )
    .await;
    let game = athlete
        .session("2026-09-12T14:00:00+02:00", 80, game_rpe)
        .with("kind", "game")
        .await;
    server.close_week("2026-W37");
    let game = game.string("session_id");
    Closed {
        server,
        squad,
        athlete,
        game,
    }
}

impl Closed {
    async fn list(&self, as_of: Option<&str>) -> e2e::Answer {
        let coach = self.athlete.club().as_role("coach");
        let list = coach.get(format!("squads/{}/weeks/2026-W37", self.squad.id()));
        match as_of {
            Some(as_of) => list.query("as_of", as_of).await.expect(200),
            None => list.await.expect(200),
        }
    }

    /// Asserts that the list is on its page and in its file, and gives the page.
    async fn page(&self, list: &e2e::Answer) -> String {
        let coach = self.athlete.club().as_role("coach");
        let as_of = list.string("as_of");
        let read = async |media_type: &str| {
            let sent = coach.get(format!("squads/{}/weeks/2026-W37", self.squad.id()));
            let sent = sent.query("as_of", &as_of).header("Accept", media_type);
            sent.await.expect(200).text()
        };
        let (page, file) = (read("text/html").await, read("text/csv").await);
        assert_same_list(&list.body, &page, &file);
        page
    }

    async fn correct(&self, rpe: f64) {
        let path = format!("sessions/{}", self.game);
        let own = self.athlete.as_caller();
        let read = own.get(&path).await.expect(200);
        let patch = own
            .patch(&path, json!({ "rpe": rpe }))
            .if_match(read.etag());
        patch.await.expect(200);
    }
}

/// The numbers of flags withdrawn, raised and changed.
fn corrected(list: &Value) -> [usize; 3] {
    ["withdrawn", "raised", "changed"].map(|kind| {
        let flags = list["correction"][kind].as_array();
        flags.unwrap_or_else(|| panic!("no {kind}: {list}")).len()
    })
}

on_both_databases! {
    async fn s08_the_list_says_that_its_week_was_corrected(database: Database) {
        let mut closed = closed_week(database, 9.0).await;
        let list = closed.list(None).await;
        let at = list.string("closed_at");
        assert_eq!((&list["late"], &list["corrected_at"], &list["correction"]), (&json!(false), &Value::Null, &Value::Null));
        let flag = list["entries"][0]["flag_id"].clone();
        let frozen = closed.list(Some(&at)).await;
        assert_eq!(frozen["entries"], list["entries"]);

        closed.server.restart_at("2026-09-16T19:10:00+02:00").await;
        closed.correct(6.0).await;
        let list = closed.list(None).await;
        assert_eq!((list["entries"].clone(), list.string("closed_at")), (json!([]), at.clone()));
        assert_eq!(corrected(&list.body), [1, 0, 0]);
        let withdrawn = &list["correction"]["withdrawn"][0];
        assert_eq!((&withdrawn["flag_id"], &withdrawn["athlete_id"], &withdrawn["rule"], &withdrawn["cause"]),
            (&flag, &json!(closed.athlete.id()), &json!("week_end_ratio"), &json!("data_changed")));
        assert_eq!(list["corrected_at"], list["correction"]["at"]);
        assert!(list.string("corrected_at").starts_with("2026-09-16T17:10:"), "{}", list.text());
        assert_eq!(list["correction"]["sentence"],
            "Corrected after the close, because what is known of the week changed: 1 flag was withdrawn.");
        let page = closed.page(&list).await;
        assert!(page.contains("Withdrawn: ") && page.contains("(data changed)"), "{page}");
        // What was closed is still there, to the byte.
        assert_eq!(closed.list(Some(&at)).await.text(), frozen.text());
        let before = closed.list(Some("2026-09-14T06:59:00+02:00")).await;
        assert_eq!((&before["closed_at"], &before["late"]), (&Value::Null, &Value::Null));

        // Other figures that leave it raised are a correction too; those of the close are none.
        closed.correct(8.5).await;
        assert_eq!(corrected(&closed.list(None).await.body), [0, 0, 1]);
        closed.correct(9.0).await;
        assert_eq!(closed.list(None).await["correction"], Value::Null);
    }

    async fn s08_a_late_entry_raises_a_flag_of_a_closed_week(database: Database) {
        let closed = closed_week(database, 6.0).await;
        assert_eq!(closed.list(None).await["entries"], json!([]));
        closed.athlete.session("2026-09-13T14:00:00+02:00", 60, 4.0).await;
        let list = closed.list(None).await;
        assert_eq!(corrected(&list.body), [0, 1, 0]);
        assert_eq!(list["correction"]["raised"][0]["flag_id"], list["entries"][0]["flag_id"]);
    }
}
