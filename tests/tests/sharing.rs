//! Two clubs that share an athlete's day totals: codes, what follows by itself, and that each sees only its own records.

use e2e::{Answer, Athlete, Client, Club, Database, Server, on_both_databases, until};
use serde_json::{Value, json};

struct World {
    server: Server,
    /// The same child in the club that receives, and in the one that shares.
    here: Athlete,
    there: Athlete,
}

async fn world(database: Database, jobs: &str) -> World {
    let server = Server::setup(database)
        .setting("PLIMSOLL_JOBS", jobs)
        .start()
        .await;
    let (a, b) = (
        server.club("HK Nordvang").await,
        server.club("Fjordby Gymnastics").await,
    );
    let here = a.squad("U14").await.athlete("D-05").await;
    let there = b.squad("Juniors").await.athlete("F-31").await;
    World {
        server,
        here,
        there,
    }
}

fn guardian(athlete: &Athlete) -> Client {
    athlete.club().as_guardian_of(&[athlete])
}

fn consents(athlete: &Athlete) -> String {
    format!("athletes/{}/consents", athlete.id())
}

async fn code(to: &Athlete) -> String {
    let codes = format!("athletes/{}/sharing-codes", to.id());
    let named = guardian(to)
        .post(codes, json!({ "organisation": "the other club" }))
        .await
        .expect(201);
    named.string("sharing_code")
}

fn consent(code: &str) -> Value {
    json!({ "purpose": "one figure for the whole week", "data_classes": ["day_totals"], "sharing_code": code, "text_version": "2026-1" })
}

async fn give(from: &Athlete, code: &str) -> Answer {
    guardian(from).post(consents(from), consent(code)).await
}

async fn withdraw(from: &Athlete, given: &Answer) -> Answer {
    let path = format!(
        "{}/{}/withdrawal",
        consents(from),
        given.string("consent_id")
    );
    guardian(from).post(path, json!({})).await
}

async fn load_on(athlete: &Athlete, date: &str) -> Value {
    let coach = athlete.club().as_role("coach");
    let path = format!("athletes/{}/load?from={date}&to={date}", athlete.id());
    coach.get(path).await.expect(200)["days"][0]["load_au"].clone()
}

#[track_caller]
fn assert_unknown(answer: &Answer) {
    assert_eq!(answer.status, 422, "{}", answer.text());
    let error = &answer["errors"][0];
    assert_eq!(
        (&error["pointer"], &error["code"]),
        (&json!("/sharing_code"), &json!("unknown_sharing_code"))
    );
    assert_eq!(error["given"], Value::Null, "a code is not repeated");
}

async fn links(athlete: &Athlete) -> Vec<Value> {
    let list = guardian(athlete)
        .get(format!("athletes/{}/sharing-links", athlete.id()))
        .await
        .expect(200);
    list["items"].as_array().expect("items").clone()
}

on_both_databases! {
    async fn a_code_is_good_once_for_a_week_and_for_another_club(database: Database) {
        let mut world = world(database, "off").await;
        let first = code(&world.here).await;
        // Neither in the club that made it, nor cut, nor with another secret.
        assert_unknown(&give(&world.here, &first).await);
        let other = code(&world.here).await;
        let mixed = format!("{}{}", &first[..43], &other[43..]);
        for wrong in ["", "x", &first[1..], &mixed] {
            assert_unknown(&give(&world.there, wrong).await);
        }
        guardian(&world.there).post(consents(&world.there), consent(&first)).dry_run().await.expect(201);
        let given = give(&world.there, &first).await.expect(201);
        assert_eq!(given["recipient_role"], Value::Null);
        assert_unknown(&give(&world.there, &first).await);
        // One consent at a time for one club, also by another code.
        let twice = give(&world.there, &other).await.expect_problem(422, "invalid");
        assert_eq!(twice["errors"][0]["code"], "consent_stands");
        withdraw(&world.there, &given).await.expect(200);
        assert_unknown(&give(&world.there, &first).await);
        let states: Vec<Value> = links(&world.here).await.iter().map(|link| link["state"].clone()).collect();
        assert_eq!(states, ["ended", "not_shared"]);
        world.server.restart_at("2026-11-16T08:30:00+01:00").await;
        assert_unknown(&give(&world.there, &other).await);
    }

    async fn sharing_stands_alone_and_begins_now(database: Database) {
        let world = world(database, "off").await;
        let code = code(&world.here).await;
        let mut body = consent(&code);
        body["data_classes"] = json!(["day_totals", "tests"]);
        body["from"] = json!("2026-12-01T00:00:00+01:00");
        body["recipient_role"] = json!("coach");
        let refused = guardian(&world.there).post(consents(&world.there), body).await.expect_problem(422, "invalid");
        let errors = refused["errors"].as_array().expect("errors").iter();
        let codes: Vec<(&str, &str)> = errors.map(|error| (error["pointer"].as_str().expect("text"), error["code"].as_str().expect("text"))).collect();
        assert_eq!(codes, [("/recipient_role", "not_with_sharing"), ("/from", "not_with_sharing"), ("/data_classes/1", "unknown_value")]);
        let mut without = consent("");
        without.as_object_mut().expect("an object").remove("sharing_code");
        let refused = guardian(&world.there).post(consents(&world.there), without).await.expect_problem(422, "invalid");
        assert_eq!((&refused["errors"][0]["pointer"], &refused["errors"][0]["code"]), (&json!("/sharing_code"), &json!("missing_field")));
    }

    async fn an_organisation_is_known_of_until_she_leaves_it(database: Database) {
        let world = world(database, "off").await;
        let code = code(&world.here).await;
        let path = format!("athletes/{}/sharing-links/{}", world.here.id(), links(&world.here).await[0]["link_id"].as_str().expect("an id"));
        let family = guardian(&world.here);
        let given = give(&world.there, &code).await.expect(201);
        family.delete(&path).if_match("*").await.expect_problem(409, "still_shared");
        withdraw(&world.there, &given).await.expect(200);
        family.delete(&path).await.expect_problem(428, "precondition_required");
        world.here.club().as_role("club_admin").delete(&path).if_match("*").await.expect_problem(403, "role_may_not");
        family.delete(&path).if_match("*").await.expect(204);
        family.delete(&path).if_match("*").await.expect_problem(404, "not_found");
        assert_eq!(links(&world.here).await[0]["state"], "left");
    }

    async fn what_is_reported_later_follows_by_itself(database: Database) {
        let world = world(database, "on").await;
        world.there.session("2026-11-03T17:30:00+01:00", 60, 5.0).await;
        give(&world.there, &code(&world.here).await).await.expect(201);
        assert_eq!(load_on(&world.here, "2026-11-03").await, 300.0);
        let late = world.there.session("2026-11-04T17:30:00+01:00", 60, 6.0).await;
        follows(&world.here, "2026-11-04", 360.0).await;
        let club = world.there.club().as_role("integration");
        let path = format!("sessions/{}", late.string("session_id"));
        let removal = club.delete(&path).body("application/json", r#"{"reason": "entered twice"}"#);
        removal.if_match("*").await.expect(204);
        follows(&world.here, "2026-11-04", 0.0).await;
    }

    async fn a110_each_club_sees_only_its_own_records(database: Database) {
        let world = world(database, "off").await;
        let session = world.there.session("2026-11-03T17:30:00+01:00", 60, 5.0).await;
        let given = give(&world.there, &code(&world.here).await).await.expect(201);
        let own: &Club = world.here.club();
        for role in ["integration", "coach", "athletic_trainer", "club_admin", "privacy_lead"] {
            let caller = own.as_role(role);
            let foreign = format!("/v1/clubs/{}/athletes/{}", world.there.club().id(), world.there.id());
            caller.get(&foreign).await.expect_problem(404, "not_found");
            let answer = caller.get(format!("athletes/{}", world.there.id())).await;
            assert!([403, 404].contains(&answer.status), "{role}: {}", answer.text());
        }
        let sessions = own.as_role("integration").get("sessions").await.expect(200);
        assert_eq!(sessions["items"], json!([]));
        own.as_role("integration").get(format!("sessions/{}", session.string("session_id"))).await.expect_problem(404, "not_found");
        // The family's word in one club is no word in the other.
        let path = format!("{}/{}", consents(&world.here), given.string("consent_id"));
        guardian(&world.here).get(&path).await.expect_problem(404, "not_found");
        guardian(&world.here).post(format!("{path}/withdrawal"), json!({})).await.expect_problem(404, "not_found");
        assert_eq!(load_on(&world.here, "2026-11-03").await, 300.0);
        assert_eq!(load_on(&world.there, "2026-11-03").await, 300.0);
    }

    async fn clubs_that_share_both_ways_do_not_wait_for_each_other_for_ever(database: Database) {
        let world = world(database, "off").await;
        for date in ["2026-11-03", "2026-11-04", "2026-11-05"] {
            world.here.session(&format!("{date}T17:30:00+01:00"), 60, 5.0).await;
            world.there.session(&format!("{date}T19:30:00+01:00"), 60, 5.0).await;
        }
        let turns = async |from: &Athlete, to: &Athlete| {
            for hour in 10..18 {
                let given = give(from, &code(to).await).await.expect(201);
                from.session(&format!("2026-11-06T{hour}:30:00+01:00"), 10, 5.0).await;
                withdraw(from, &given).await.expect(200);
            }
        };
        tokio::join!(turns(&world.here, &world.there), turns(&world.there, &world.here));
        for club in [world.here.club(), world.there.club()] {
            let gaps = club.as_role("privacy_lead").get("consent-gaps").await.expect(200);
            assert_eq!(gaps["gaps"], json!([]));
        }
        let left = world.server.rows("SELECT count(*) FROM shared_day_totals");
        assert_eq!(left, [["0"]]);
    }
}

/// Waits until the job has brought a day's load.
async fn follows(athlete: &Athlete, date: &str, load: f64) {
    until(async || {
        let found = load_on(athlete, date).await;
        let said = format!("{date} is {found} and not {load}");
        (found == load).then_some(()).ok_or(said)
    })
    .await;
}
