//! The look-ahead to the weekend: made once a club and week, when it is due, and never for a weekend that is over.

use e2e::{
    Athlete, Club, Database, Mailbox, Receiver, Server, Squad, many, on_both_databases, until,
};
use jiff::ToSpan;
use jiff::civil::date;
use serde_json::{Value, json};

/// Monday of the running week, 2026-W47.
const MONDAY: &str = "2026-11-16T08:00:00+01:00";
const BEFORE: &str = "2026-11-19T17:59:00+01:00";
const DUE: &str = "2026-11-19T18:00:00+01:00";

struct World {
    server: Server,
    club: Club,
    squad: Squad,
    athlete: Athlete,
}

/// A club that looks ahead on Thursdays at 18:00. Ida's prior 21 days hold 4290 AU, so the week has 0.6 x 4290 = 2574; on
/// Saturday and Sunday games of 120 minutes are planned at 9.
async fn world(database: Database) -> World {
    let setup = Server::setup(database).clock(MONDAY);
    let setup = setup.setting("PLIMSOLL_JOBS", "on");
    let setup = setup.setting("PLIMSOLL_WEBHOOK_LOOPBACK", "on");
    let server = setup.start().await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("Ida").with("joined_on", "2026-10-26").await;
    let weeks = athlete.weeks("2026-10-26", &[1380.0, 1380.0, 1530.0]);
    club.bulk(weeks).await.expect(200);
    for day in ["2026-11-21", "2026-11-22"] {
        let game = json!({ "setting": "club", "kind": "game", "minutes": 120, "intended_rpe": 9,
            "starts_at": format!("{day}T14:00:00+01:00"), "squads": [squad.id()] });
        let app = club.as_role("integration");
        app.post("events", game).await.expect(201);
    }
    set(&club, true).await;
    World {
        server,
        club,
        squad,
        athlete,
    }
}

async fn set(club: &Club, enabled: bool) {
    let setting = json!({ "enabled": enabled, "weekday": "thursday", "time": "18:00" });
    let admin = club.as_role("club_admin");
    let set = admin.put("look-ahead", setting).if_match("*").await;
    set.expect(200);
}

/// The Mondays of the weeks that were looked at.
fn made(server: &Server) -> Vec<String> {
    server
        .rows("SELECT monday FROM look_aheads ORDER BY monday")
        .concat()
}

async fn made_soon(server: &Server, weeks: usize) -> Vec<String> {
    until(async || {
        let made = made(server);
        if made.len() >= weeks {
            Ok(made)
        } else {
            Err(made)
        }
    })
    .await
}

/// Waits until the job has looked once since the server was started.
async fn until_looked(server: &Server) {
    until(async || {
        let metrics = server.anonymous().get("/metrics").await.expect(200).text();
        let looked = metrics.contains("plimsoll_look_ahead_last_success_timestamp_seconds");
        looked.then_some(()).ok_or("the job did not look")
    })
    .await;
}

on_both_databases! {
    async fn on_thursday_the_club_is_told_of_the_weekend(database: Database) {
        let mut world = world(database).await;
        let receiver = Receiver::taking().await;
        let endpoint = json!({ "url": receiver.url() });
        world.club.as_role("club_admin").post("notice-endpoints", endpoint).await.expect(201);
        world.server.restart_at(BEFORE).await;
        until_looked(&world.server).await;
        assert!(made(&world.server).is_empty());
        // 540 AU are done: with 2 x 1080 the week comes to 2700, 126 above the limit.
        world.athlete.session("2026-11-17T17:30:00+01:00", 90, 6.0).await;
        world.server.restart_at(DUE).await;
        assert_eq!(made_soon(&world.server, 1).await, ["2026-11-16"]);

        let message = receiver.wait_for(1).await.remove(0);
        let event: Value = serde_json::from_str(&message.body).expect("JSON");
        assert_eq!((&event["type"], &event["subject"]), (&json!("plimsoll.look_ahead"), &json!("2026-W47")));
        for word in ["Ida", "U16", world.athlete.id(), "certain", "126"] {
            assert!(!message.body.contains(word), "{word}: {}", message.body);
        }
        let stored = world.server.rows("SELECT payload FROM notices WHERE kind = 'look_ahead'").concat();
        let payload: Value = serde_json::from_str(&stored[0]).expect("JSON");
        assert_eq!(payload["over"], json!([{ "squad_id": world.squad.id(), "certain": 1, "possible": 0 }]));

        let coach = world.club.as_coach_of(&[&world.squad]);
        let href = event["data"]["squads"][0]["href"].as_str().expect("a link").to_owned();
        let told = coach.get(&href).await.expect(200);
        let entry = &told["entries"][0];
        assert_eq!((&entry["display_name"], &entry["certainty"], &entry["rule"]), (&json!("Ida"), &json!("certain"), &json!("week_end_ratio")));
        assert_eq!((&entry["planned_au"]["low"], &entry["limit_au"]["low"], &entry["over_by_au"]["high"]), (&json!(2700.0), &json!(2574.0), &json!(126.0)));
        assert_eq!((&entry["planned_sessions"], told["entries"].as_array().map(Vec::len)), (&json!(2), Some(1)));
        let explained = coach.get(&href).query("explain", true).await.expect(200);
        let days = explained["entries"][0]["explained"]["days"].as_array().expect("days");
        let tuesday = days.iter().find(|day| day["date"] == "2026-11-17").expect("the day that is done");
        assert_eq!((&tuesday["load_au"]["point"], &tuesday["sessions"][0]["rpe"]), (&json!(540.0), &json!(6.0)));
        let read = world.club.as_role("privacy_lead").get("audit").query("limit", 500).await.expect(200);
        let last = read["items"].as_array().and_then(|rows| rows.last()).expect("a row");
        assert_eq!((&last["action"], &last["athlete_id"]), (&json!("read_look_ahead"), &json!(world.athlete.id())));
        // What was told stays readable; what is known since changes the present alone.
        world.athlete.session("2026-11-18T17:30:00+01:00", 90, 4.0).await;
        assert_eq!(coach.get(&href).await.expect(200).body, told.body);
        let path = format!("squads/{}/weeks/2026-W47/look-ahead", world.squad.id());
        assert_eq!(coach.get(&path).await.expect(200)["entries"][0]["over_by_au"]["low"], 486.0);
        coach.get(path.replace("W47", "W48")).await.expect_problem(422, "invalid");
        world.club.as_role("guardian").get(&path).await.expect_problem(403, "role_may_not");
    }

    async fn whoever_gets_mail_is_told_in_counts_with_a_link(database: Database) {
        let mut world = world(database).await;
        let mailbox = Mailbox::start().await;
        let mail = [
            ("PLIMSOLL_SMTP_URL", mailbox.url()),
            ("PLIMSOLL_SMTP_FROM", "plimsoll@example.org".to_owned()),
            ("PLIMSOLL_PUBLIC_URL", "https://plimsoll.example.org".to_owned()),
        ];
        world.server.set_and_restart(&mail.each_ref().map(|(name, value)| (*name, value.as_str()))).await;
        let recipient = json!({ "channel": "email", "address": "coach@havneby.example" });
        let made = world.club.as_role("club_admin").post("notice-endpoints", recipient).await.expect(201);
        let approval = format!("notice-endpoints/{}/approval", made.string("endpoint_id"));
        world.club.as_role("club_admin").colleague("privacy_lead").post(approval, json!({})).if_match("*").await.expect(200);
        world.server.restart_at(BEFORE).await;
        world.athlete.session("2026-11-17T17:30:00+01:00", 90, 6.0).await;
        world.server.restart_at(DUE).await;
        let told = mailbox.wait_for(1).await.remove(0);
        assert_eq!(told.field("Subject"), "Look ahead 2026-W47, U16");
        let text = told.text();
        assert!(text.contains("if what is planned happens: 1 certain, 0 possible."), "{text}");
        assert!(!text.contains("Ida") && !text.contains(" AU"), "{text}");
        let (_, link) = text.split_once("The list: https://plimsoll.example.org").expect("a link");
        let page = world.server.anonymous().get(link.lines().next().expect("a line")).await;
        assert_eq!(page.status, 303, "{}", page.text());
    }

    async fn a_missed_one_is_made_until_its_sunday_is_over_and_never_after(database: Database) {
        let mut world = world(database).await;
        world.server.restart_at("2026-11-22T23:59:00+01:00").await;
        assert_eq!(made_soon(&world.server, 1).await, ["2026-11-16"]);
        // The server is away over Thursday to Sunday of the next week.
        for now in ["2026-11-30T00:00:00+01:00", "2026-12-03T17:59:00+01:00"] {
            world.server.restart_at(now).await;
            until_looked(&world.server).await;
            assert_eq!(made(&world.server), ["2026-11-16"], "{now}");
        }
        world.server.restart_at("2026-12-03T18:00:00+01:00").await;
        assert_eq!(made_soon(&world.server, 2).await, ["2026-11-16", "2026-11-30"]);
        // A clock that steps back makes nothing again, nor for the week that was missed.
        world.server.restart_at(DUE).await;
        until_looked(&world.server).await;
        assert_eq!(made(&world.server), ["2026-11-16", "2026-11-30"]);
    }

    async fn it_is_off_until_it_is_set_and_a_time_passed_before_is_not_made_up_for(database: Database) {
        let mut world = world(database).await;
        let admin = world.club.as_role("club_admin");
        set(&world.club, false).await;
        world.server.restart_at(DUE).await;
        set(&world.club, true).await;
        world.server.restart_at("2026-11-20T12:00:00+01:00").await;
        until_looked(&world.server).await;
        assert!(made(&world.server).is_empty());

        let now = admin.get("look-ahead").await.expect(200);
        let body = json!({ "enabled": true, "weekday": "thursday", "time": "18:00", "time_zone": "Europe/Copenhagen", "version": 3 });
        assert_eq!((&now.body, now.etag()), (&body, "\"3\""));
        let same = json!({ "enabled": true, "weekday": "thursday", "time": "18:00" });
        assert_eq!(admin.put("look-ahead", same).await.expect(200).body, body);
        let other = json!({ "enabled": false, "weekday": "thursday", "time": "18:00" });
        admin.put("look-ahead", other).await.expect_problem(428, "precondition_required");
        let faulty = admin.put("look-ahead", json!({ "weekday": "someday", "time": "24:00" })).if_match("*").await;
        let faulty = faulty.expect_problem(422, "invalid");
        let faults: Vec<_> = faulty["errors"].as_array().expect("errors").iter().map(|fault| &fault["code"]).collect();
        assert_eq!(faults, ["missing_field", "unknown_value", "invalid_time"]);
        let fresh = world.server.club("Fjordby Handball").await.as_role("club_admin").get("look-ahead").await.expect(200);
        assert_eq!((&fresh["enabled"], &fresh["version"]), (&json!(false), &json!(0)));
        world.club.as_role("coach").put("look-ahead", json!({ "enabled": true })).await.expect_problem(403, "role_may_not");
    }

    async fn two_servers_at_the_same_tick_look_once(database: Database) {
        let mut world = world(database).await;
        let mut other = world.server.beside().await;
        let mut monday = date(2026, 11, 16);
        for round in 1..=many(3, 50) {
            let thursday = monday.saturating_add(3.days());
            let due = thursday.at(18, 0, 0, 0).in_tz("Europe/Copenhagen").expect("an instant").timestamp().to_string();
            tokio::join!(world.server.restart_at(&due), other.restart_at(&due));
            let found = made_soon(&world.server, round).await;
            assert_eq!((found.len(), found.last()), (round, Some(&monday.to_string())), "round {round}");
            until_looked(&world.server).await;
            until_looked(&other).await;
            let notices = world.server.rows("SELECT notice_id FROM notices WHERE kind = 'look_ahead'");
            assert_eq!(notices.len(), round);
            monday = monday.saturating_add(7.days());
        }
        for one in [&world.server, &other] {
            assert_eq!(one.anonymous().get("/health/ready").await.expect(200)["status"], "ready");
        }
    }
}
