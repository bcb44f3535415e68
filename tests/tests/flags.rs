//! Flags of closed weeks: raised at the close, withdrawn when the data changed, raised again, acknowledged by version.
//!
//! The figures are those of an athlete of the invented club (P-15, U18): weeks of 1400, 1450 and 1500 AU, then 2700 AU
//! with a game of 80 minutes rated 9, which the athlete corrects to 6 on the Wednesday after.

use e2e::{Answer, Athlete, Club, Database, Server, assert_printed, on_both_databases};
use serde_json::{Value, json};

const MONDAY: &str = "2026-09-14T07:00:00+02:00";
const WEDNESDAY: &str = "2026-09-16T19:10:00+02:00";

struct Closed {
    server: Server,
    club: Club,
    athlete: Athlete,
    game: Answer,
}

/// The club on Monday morning, its week 2026-W37 closed.
async fn closed_week(database: Database) -> Closed {
    let server = Server::setup(database).clock(MONDAY).start().await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let athlete = club
        .squad("U18")
        .await
        .athlete("P-15")
        .with("joined_on", "2026-08-17")
        .await;
    let weeks = athlete.weeks("2026-08-17", &[1400.0, 1450.0, 1500.0, 1980.0]);
    club.bulk(weeks).await.expect(200);
    let game = athlete
        .session("2026-09-12T14:00:00+02:00", 80, 9.0)
        .with("kind", "game")
        .await;
    assert_eq!(game["counted"]["load_au"], 720.0);
    server.close_week("2026-W37");
    Closed {
        server,
        club,
        athlete,
        game,
    }
}

impl Closed {
    /// The only flag there is.
    async fn flag(&self) -> Answer {
        let coach = self.club.as_role("coach");
        let list = coach
            .get("flags")
            .query("week", "2026-W37")
            .await
            .expect(200);
        assert_eq!(
            list["items"].as_array().map(Vec::len),
            Some(1),
            "{}",
            list.text()
        );
        let id = list["items"][0]["flag_id"]
            .as_str()
            .expect("an id")
            .to_owned();
        coach.get(format!("flags/{id}")).await.expect(200)
    }

    /// The athlete rates the game anew.
    async fn correct(&self, rpe: f64) {
        let path = format!("sessions/{}", self.game.string("session_id"));
        let own = self.athlete.as_caller();
        let read = own.get(&path).await.expect(200);
        let changed = own
            .patch(&path, json!({ "rpe": rpe }))
            .if_match(read.etag())
            .await
            .expect(200);
        assert_eq!(changed["rpe"], rpe);
    }

    async fn acknowledge(&self, flag: &Answer, body: Value) -> Answer {
        let path = format!("flags/{}/acknowledgement", flag.string("flag_id"));
        self.club.as_role("coach").post(path, body).await
    }
}

#[track_caller]
fn assert_judged(judgement: &Value, state: &str, week: &str, ratio: &str, over_by: &str) {
    assert_eq!(judgement["state"], state, "{judgement}");
    let figures = &judgement["figures"];
    assert_printed(&figures["week_load_au"]["point"], week);
    assert_printed(&figures["ratio"]["point"], ratio);
    assert_printed(&figures["limit_au"]["point"], "2610");
    assert_printed(&figures["over_by_au"]["point"], over_by);
}

on_both_databases! {
    async fn s08_raised_at_the_close(database: Database) {
        let closed = closed_week(database).await;
        let flag = closed.flag().await;
        assert_eq!((&flag["rule"], &flag["week"], &flag["state"]), (&json!("week_end_ratio"), &json!("2026-W37"), &json!("open")));
        assert_eq!(flag["athlete_id"], closed.athlete.id());
        let versions = flag["versions"].as_array().expect("versions");
        assert_eq!(versions.len(), 1);
        assert_eq!((&versions[0]["version"], &versions[0]["certainty"], &versions[0]["cause"]),
            (&json!(1), &json!("certain"), &json!("week_closed")));
        assert_judged(&versions[0], "raised", "2700", "1.5319", "90");
        // Closing the week again changes nothing.
        closed.server.close_week("2026-W37");
        assert_eq!(closed.flag().await.body, flag.body);
    }

    async fn s08_a_correction_withdraws_it_and_both_values_are_kept(database: Database) {
        let mut closed = closed_week(database).await;
        let before = closed.athlete.load("2026-08-17", "2026-09-11").await["days"].clone();
        let raised = closed.flag().await;
        closed.server.restart_at(WEDNESDAY).await;
        closed.correct(6.0).await;

        let flag = closed.flag().await;
        assert_eq!((&flag["flag_id"], &flag["state"]), (&raised["flag_id"], &json!("withdrawn")));
        assert_judged(&flag["versions"][0], "raised", "2700", "1.5319", "90");
        assert_judged(&flag["versions"][1], "withdrawn", "2460", "1.4449", "-150");
        assert_eq!(flag["versions"][1]["cause"], "data_changed");
        assert_eq!(flag["current"], flag["versions"][1]);
        // Figures of dates that no window of the changed day reaches stay as they were, byte for byte.
        let after = closed.athlete.load("2026-08-17", "2026-09-11").await["days"].clone();
        assert_eq!(after, before);
        let nothing = closed.acknowledge(&flag, json!({ "action": "talked" })).await;
        nothing.expect_problem(422, "flag_withdrawn");
        let coach = closed.club.as_role("coach");
        let raised = coach.get("flags").query("state", "raised").await.expect(200);
        assert_eq!(raised["items"], json!([]));
    }

    async fn s08_what_was_known_when(database: Database) {
        let mut closed = closed_week(database).await;
        closed.server.restart_at(WEDNESDAY).await;
        closed.correct(6.0).await;
        closed.server.restart_at("2026-09-16T20:00:00+02:00").await;
        let coach = closed.club.as_role("coach");
        let load = coach.get(format!("athletes/{}/load", closed.athlete.id()));
        let sunday = load.query("from", "2026-09-13").query("to", "2026-09-13");
        let then = sunday.query("as_of", "2026-09-14T08:00:00+02:00").await.expect(200);
        assert_printed(&then["days"][0]["ratio_coupled"]["point"], "1.5319");
        assert_printed(&then["days"][0]["acute_7d_au"]["point"], "2700");
        let now = closed.athlete.day_figures("2026-09-13").await;
        assert_printed(&now["ratio_coupled"]["point"], "1.4449");
        assert_printed(&now["acute_7d_au"]["point"], "2460");
    }

    async fn s08_raised_again_under_its_id(database: Database) {
        let mut closed = closed_week(database).await;
        let raised = closed.flag().await;
        closed.server.restart_at(WEDNESDAY).await;
        closed.correct(6.0).await;
        closed.correct(9.0).await;
        let flag = closed.flag().await;
        assert_eq!((&flag["flag_id"], &flag["state"]), (&raised["flag_id"], &json!("open")));
        let versions = flag["versions"].as_array().expect("versions");
        let states: Vec<&Value> = versions.iter().map(|version| &version["state"]).collect();
        assert_eq!(states, ["raised", "withdrawn", "raised"]);
        assert_judged(&versions[2], "raised", "2700", "1.5319", "90");
    }

    async fn an_acknowledgement_holds_for_the_judgement_that_was_seen(database: Database) {
        let mut closed = closed_week(database).await;
        let flag = closed.flag().await;
        let talked = closed.acknowledge(&flag, json!({ "action": "talked", "note": "free day on Thursday" })).await.expect(201);
        assert_eq!(talked["state"], "acknowledged");
        assert_eq!((&talked["acknowledgements"][0]["action"], &talked["acknowledgements"][0]["version"]), (&json!("talked"), &json!(1)));

        closed.server.restart_at(WEDNESDAY).await;
        // Another rating that still leaves the week over the limit: judged anew, and open again.
        closed.correct(8.5).await;
        let anew = closed.flag().await;
        assert_eq!((&anew["state"], &anew["current"]["version"]), (&json!("open"), &json!(2)));
        assert_eq!(anew["acknowledgements"].as_array().map(Vec::len), Some(1), "what was done stays");
        let stale = closed.acknowledge(&anew, json!({ "action": "reduced", "version": 1 })).await;
        stale.expect_problem(412, "precondition_failed");
        let again = closed.acknowledge(&anew, json!({ "action": "reduced", "version": 2 })).await.expect(201);
        assert_eq!(again["state"], "acknowledged");
        assert_eq!(again["acknowledgements"].as_array().map(Vec::len), Some(2));
    }

    async fn a_week_that_is_running_has_findings_and_no_flags(database: Database) {
        let server = Server::setup(database).clock("2026-11-05T20:00:00+01:00").start().await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let squad = club.squad("U18").await;
        let athlete = squad.athlete("P-12").with("joined_on", "2026-10-12").await;
        club.bulk(athlete.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0])).await.expect(200);
        let list = squad.weekly_list("2026-W45").await;
        assert_eq!((&list["complete"], &list["entries"][0]["finding"]), (&json!(false), &json!("over_limit")));
        assert_eq!(list["entries"][0]["flag_id"], Value::Null);
        let early = server.run(&["close-week", "--week", "2026-W45"]);
        assert!(!early.status.success(), "the week is not over");
        let flags = club.as_role("coach").get("flags").await.expect(200);
        assert_eq!(flags["items"], json!([]));
    }
}
