//! What was done about a flag, said on the page of the weekly list: stored once, shown, and good until the flag grows.
//!
//! The figures are those of an athlete of the invented club (P-15, U18): weeks of 1400, 1450 and 1500 AU, then 2700 AU with a
//! game of 80 minutes rated 9. With a limit of 1.50 on the coupled ratio, 2610 AU would just meet it.

use e2e::{
    Answer, Athlete, Club, Database, Method, Page, Server, Squad, assert_same_list,
    on_both_databases,
};
use serde_json::{Value, json};

const MONDAY: &str = "2026-09-14T07:00:00+02:00";

struct World {
    server: Server,
    club: Club,
    squad: Squad,
    athlete: Athlete,
    game: String,
    page: Page,
}

async fn world(database: Database) -> World {
    let server = Server::setup(database).clock(MONDAY).start().await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("U18").await;
    let athlete = squad.athlete("P-15").with("joined_on", "2026-08-17").await;
    let weeks = athlete.weeks("2026-08-17", &[1400.0, 1450.0, 1500.0, 1980.0]);
    club.bulk(weeks).await.expect(200);
    let game = athlete
        .session("2026-09-12T14:00:00+02:00", 80, 9.0)
        .with("kind", "game")
        .await;
    server.close_week("2026-W37");
    let endpoint = json!({ "url": "https://club.example.org/notices" });
    let endpoint = club
        .as_role("club_admin")
        .post("notice-endpoints", endpoint)
        .await
        .expect(201);
    let link = server.page_link(&club, &endpoint.string("endpoint_id"), &squad, "2026-W37");
    World {
        page: Page::open(&server, &link).await,
        game: game.string("session_id"),
        server,
        club,
        squad,
        athlete,
    }
}

impl World {
    /// The only entry of the list, as a coach of the squad reads it.
    async fn entry(&self) -> Value {
        let list = self.list(&self.squad).await;
        assert_eq!(
            list["entries"].as_array().map(Vec::len),
            Some(1),
            "{}",
            list.text()
        );
        list["entries"][0].clone()
    }

    async fn list(&self, squad: &Squad) -> Answer {
        let path = format!("squads/{}/weeks/2026-W37", squad.id());
        self.club.as_role("coach").get(path).await.expect(200)
    }

    async fn say(&self, fields: &[(&str, &str)]) -> Answer {
        let entry = self.entry().await;
        let flag = entry["flag_id"].as_str().expect("a flag").to_owned();
        let version = entry["flag_version"].to_string();
        let own = [("flag_id", flag.as_str()), ("version", version.as_str())];
        self.page.form(&[&own[..], fields].concat()).await
    }

    async fn rate_game(&self, rpe: f64) {
        let app = self.club.as_role("integration");
        let patch = app.patch(format!("sessions/{}", self.game), json!({ "rpe": rpe }));
        patch.if_match("*").await.expect(200);
    }

    /// How often something was said.
    async fn said(&self) -> usize {
        let flags = self.club.as_role("coach").get("flags").await.expect(200);
        flags["items"][0]["acknowledgements"]
            .as_array()
            .expect("a list")
            .len()
    }
}

on_both_databases! {
    async fn what_was_done_is_said_on_the_page_once(database: Database) {
        let world = world(database).await;
        assert_eq!(world.entry().await["acknowledged"], Value::Null);
        for _ in 0..2 {
            let back = world.say(&[("action", "talked"), ("note", "Free day on \"Thursday\" & rest")]).await.expect(303);
            assert_eq!(back.header("location"), Some(format!("{}#decisions", world.page.path).as_str()));
        }
        assert_eq!(world.said().await, 1);
        let done = world.entry().await["acknowledged"].clone();
        assert_eq!((&done["action"], &done["role"]), (&json!("talked"), &json!("coach")));
        assert!(done["by"].as_str().expect("who").starts_with("notice-endpoint/"), "{done}");

        let page = world.page.read().await.expect(200).text();
        let (decisions, rest) = page.split_once("Acknowledged, and not grown since").expect("the heading");
        assert!(!decisions.contains("P-15:") && rest.contains("Done: talked."), "{page}");
        assert!(!page.contains("<form"), "it is asked for again: {page}");
    }

    async fn page_and_file_say_what_was_done(database: Database) {
        let world = world(database).await;
        world.say(&[("action", "other"), ("note", "Parents called")]).await.expect(303);
        let list = world.list(&world.squad).await;
        let coach = world.club.as_role("coach");
        let read = async |accept: &str| {
            let again = coach.get(&world.page.path).query("as_of", list.string("as_of"));
            again.header("Accept", accept).await.expect(200).text()
        };
        assert_eq!(list["entries"][0]["acknowledged"]["note"], "Parents called");
        assert!(assert_same_list(&list.body, &read("text/html").await, &read("text/csv").await) > 40);
        let before = coach.get(&world.page.path).query("as_of", "2026-09-14T07:00:00+02:00");
        assert_eq!(before.await.expect(200)["entries"][0]["acknowledged"], Value::Null);
    }

    async fn what_was_done_holds_until_the_flag_grows(database: Database) {
        let world = world(database).await;
        world.say(&[("action", "reduced")]).await.expect(303);
        // 2660 AU: nearer to the limit, and still above it.
        world.rate_game(8.5).await;
        let entry = world.entry().await;
        assert_eq!((&entry["flag_version"], &entry["acknowledged"]["action"]), (&json!(2), &json!("reduced")));
        // Above what was seen by 80 AU.
        world.rate_game(10.0).await;
        let entry = world.entry().await;
        assert_eq!((&entry["flag_version"], &entry["acknowledged"]), (&json!(3), &Value::Null));
        assert!(world.page.read().await.text().contains("<form"));
        world.say(&[("action", "rested")]).await.expect(303);
        assert_eq!(world.entry().await["acknowledged"]["action"], "rested");
    }

    async fn what_one_squad_did_is_not_what_another_did(database: Database) {
        let world = world(database).await;
        let other = world.club.squad("U20").await;
        let member = json!({ "athlete_id": world.athlete.id(), "from": "2026-08-17" });
        world.club.as_role("club_admin").post(format!("squads/{}/members", other.id()), member).await.expect(201);
        world.say(&[("action", "moved")]).await.expect(303);
        assert_eq!(world.entry().await["acknowledged"]["action"], "moved");
        assert_eq!(world.list(&other).await["entries"][0]["acknowledged"], Value::Null);
        let for_all = json!({ "action": "talked" });
        let flag = world.entry().await["flag_id"].as_str().expect("a flag").to_owned();
        world.club.as_role("coach").post(format!("flags/{flag}/acknowledgement"), for_all).await.expect(201);
        for squad in [&world.squad, &other] {
            assert_eq!(world.list(squad).await["entries"][0]["acknowledged"]["action"], "talked");
        }
    }

    async fn a_form_from_elsewhere_stores_nothing(database: Database) {
        let world = world(database).await;
        let entry = world.entry().await;
        let flag = entry["flag_id"].as_str().expect("a flag");
        let fields = [("flag_id", flag), ("version", "1"), ("action", "talked")];
        let form = || world.page.form(&fields);
        for origin in ["null", "https://club.example.org", "http://127.0.0.1", "http://127.0.0.1:1", "http://localhost:1", "no"] {
            let sent = form().without_header("Origin").header("Origin", origin);
            sent.await.expect_problem(403, "foreign_form");
        }
        form().without_header("Origin").await.expect_problem(403, "foreign_form");
        let endpoint = world.club.as_role("club_admin").post("notice-endpoints", json!({ "url": "https://two.example.org/" }));
        let endpoint = endpoint.await.expect(201).string("endpoint_id");
        let link = world.server.page_link(&world.club, &endpoint, &world.squad, "2026-W37");
        let other = Page::open(&world.server, &link).await;
        let stolen = form().without_header("Cookie").header("Cookie", &other.cookie);
        stolen.await.expect_problem(403, "foreign_form");
        let twice = world.page.form(&[&fields[..], &[("token", "x")]].concat());
        twice.await.expect_problem(400, "bad_query");
        form().without_header("Cookie").await.expect_problem(401, "unauthenticated");
        let asked = world.page.request(Method::GET, &format!("{}/acknowledgements", world.page.path));
        asked.await.expect_problem(405, "method_not_allowed");
        assert_eq!(world.said().await, 0);
    }

    async fn a_form_that_is_wrong_is_told_on_a_page(database: Database) {
        let world = world(database).await;
        let flag = world.entry().await["flag_id"].as_str().expect("a flag").to_owned();
        let send = async |fields: &[(&str, &str)]| {
            let flag = [("flag_id", flag.as_str())];
            world.page.form(&[&flag[..], fields].concat()).header("Accept", "text/html").await
        };
        let long = "x".repeat(281);
        for (fields, status, told) in [
            (&[("version", "1"), ("action", "other")][..], 422, "could not be done"),
            (&[("version", "1"), ("action", "other"), ("note", " ")], 422, "could not be done"),
            (&[("version", "1"), ("action", "talked"), ("note", &long)], 422, "could not be done"),
            (&[("version", "1")], 422, "could not be done"),
            (&[("version", "7"), ("action", "talked")], 412, "has changed since"),
        ] {
            let answer = send(fields).await.expect(status);
            assert_eq!(answer.header("content-type"), Some("text/html; charset=utf-8"));
            assert!(answer.text().contains(told), "{}", answer.text());
        }
        world.rate_game(6.0).await;
        send(&[("version", "2"), ("action", "talked")]).await.expect(422);
        assert_eq!(world.said().await, 0);
    }
}
