//! Who sees whom: squads, own record, children, and the list of who looked.

use crate::*;

struct World {
    server: Server,
    club: Club,
    u16: Squad,
    u18: Squad,
    /// In U16.
    own: Athlete,
    /// In U18.
    other: Athlete,
}

async fn world(database: Database) -> World {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let (u16, u18) = (club.squad("U16").await, club.squad("U18").await);
    let (own, other) = (u16.athlete("P-07").await, u18.athlete("P-12").await);
    for athlete in [&own, &other] {
        athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0).await;
    }
    World {
        server,
        club,
        u16,
        u18,
        own,
        other,
    }
}

fn load(athlete: &Athlete) -> String {
    format!("athletes/{}/load", athlete.id())
}

async fn listed(caller: &Client, path: &str, field: &str) -> Vec<String> {
    let list = caller.get(path).await.expect(200);
    let items = list["items"].as_array().expect("items");
    items
        .iter()
        .map(|item| item[field].as_str().unwrap_or("null").to_owned())
        .collect()
}

on_both_databases! {
    async fn a_coach_sees_the_squads_of_the_token(database: Database) {
        let world = world(database).await;
        let coach = world.club.as_coach_of(&[&world.u16]);
        assert_eq!(listed(&coach, "squads", "squad_id").await, [world.u16.id()]);
        assert_eq!(listed(&coach, "athletes", "athlete_id").await, [world.own.id()]);
        coach.get(load(&world.own)).await.expect(200);
        coach.get(load(&world.other)).await.expect_problem(404, "not_found");
        coach.get(format!("athletes/{}", world.other.id())).await.expect_problem(404, "not_found");
        coach.get(format!("athletes/{}/weeks", world.other.id())).await.expect_problem(404, "not_found");
        coach.get(format!("squads/{}/weeks/2026-W45", world.u16.id())).await.expect(200);
        coach.get(format!("squads/{}/weeks/2026-W45", world.u18.id())).await.expect_problem(404, "not_found");
        coach.get(format!("squads/{}/members", world.u18.id())).await.expect_problem(404, "not_found");
        let by_external_id = world.club.client(Identity::role("coach").squad("ext:plimsoll-cli:U18"));
        assert_eq!(listed(&by_external_id, "athletes", "athlete_id").await, [world.other.id()]);
        // A limit to a squad that is not there is a limit to nobody.
        let nobody = world.club.client(Identity::role("coach").squad("ext:plimsoll-cli:U99"));
        assert!(listed(&nobody, "athletes", "athlete_id").await.is_empty());
    }

    async fn a_bulk_row_for_somebody_out_of_reach_is_unknown(database: Database) {
        let world = world(database).await;
        let row = |athlete: &Athlete| {
            let report = athlete.session("2026-11-04T17:30:00+01:00", 60, 5.0);
            report.with("given_by", "guardian").into_body()
        };
        let guardian = world.club.as_guardian_of(&[&world.own]);
        let rows = json!({ "sessions": [row(&world.own), row(&world.other)] });
        let answer = guardian.post("sessions/bulk", rows).await.expect(200);
        assert_eq!((&answer["accepted"], &answer["rejected"]), (&json!(1), &json!(1)));
        assert_eq!(answer["results"][1]["problems"][0]["code"], "unknown_person");
    }

    async fn an_athlete_sees_herself_and_no_limit(database: Database) {
        let world = world(database).await;
        let own = world.own.as_caller();
        own.get(load(&world.own)).await.expect(200);
        own.get(load(&world.other)).await.expect_problem(404, "not_found");
        assert_eq!(listed(&own, "athletes", "athlete_id").await, [world.own.id()]);
        let sessions = listed(&own, "sessions", "athlete_id").await;
        assert_eq!(sessions, [world.own.id()]);
        own.get("sessions").query("athlete", world.other.id()).await.expect_problem(404, "not_found");
        for closed in ["policy", "flags", "audit", &format!("squads/{}/weeks/2026-W45", world.u16.id())] {
            own.get(closed).await.expect_problem(403, "role_may_not");
        }
        let report = world.other.session("2026-11-04T17:30:00+01:00", 60, 5.0).into_body();
        let refused = own.post("sessions", report).await.expect_problem(422, "invalid");
        assert_eq!(refused["errors"][0]["code"], "unknown_person");
    }

    async fn a_guardian_sees_the_children_by_our_ids_or_the_clubs(database: Database) {
        let world = world(database).await;
        let guardian = world.club.as_guardian_of(&[&world.own]);
        guardian.get(load(&world.own)).await.expect(200);
        guardian.get(load(&world.other)).await.expect_problem(404, "not_found");
        let named = world.club.client(Identity::role("guardian").athlete("ext:plimsoll-cli:P-12"));
        named.get(load(&world.other)).await.expect(200);
        named.get(load(&world.own)).await.expect_problem(404, "not_found");
        // The same code from another source is another person.
        let foreign = world.club.client(Identity::role("guardian").athlete("ext:school-roster:P-12"));
        foreign.get(load(&world.other)).await.expect_problem(404, "not_found");
        let both = world.club.as_guardian_of(&[&world.own, &world.other]);
        assert_eq!(listed(&both, "athletes", "athlete_id").await.len(), 2);
    }

    async fn each_read_of_one_athlete_is_in_the_audit_list(database: Database) {
        let world = world(database).await;
        let coach = world.club.client(Identity::role("coach").subject("coach-3"));
        let session = world.club.as_role("integration").get("sessions").await.expect(200)["items"][0].clone();
        let whose = session["athlete_id"].as_str().expect("an id").to_owned();
        let trainer = world.club.client(Identity::role("athletic_trainer").subject("trainer-1"));
        let own = world.own.id();
        let reads = [
            (&coach, load(&world.own), "read_load", own),
            (&coach, format!("athletes/{own}/weeks"), "read_weeks", own),
            (&trainer, format!("sessions?athlete={own}"), "list_sessions", own),
            (&trainer, format!("sessions/{}", session["session_id"].as_str().expect("an id")), "read_session", whose.as_str()),
            (&coach, format!("flags?athlete={own}"), "list_flags", own),
            (&coach, format!("athletes/{own}"), "read_athlete", own),
        ];
        let lead = world.club.as_role("privacy_lead");
        let mut known = audit(&lead).await.len();
        for (caller, path, action, athlete) in reads {
            let read = caller.get(&path).await.expect(200);
            let rows = audit(&lead).await;
            assert_eq!(rows.len(), known + 1, "{path}");
            known += 1;
            let id = read.header("x-request-id").expect("X-Request-Id");
            let row = rows.iter().find(|row| row["request_id"] == id).unwrap_or_else(|| panic!("{path}: no row {id}"));
            assert_eq!((&row["action"], &row["athlete_id"]), (&json!(action), &json!(athlete)), "{path}");
            let who = if action.ends_with("sessions") || action.ends_with("session") { "trainer-1" } else { "coach-3" };
            assert_eq!(row["subject"], who);
        }
        let of_other = lead.get("audit").query("athlete", world.other.id()).await.expect(200);
        let others = of_other["items"].as_array().expect("items");
        assert!(others.iter().all(|row| row["athlete_id"] == world.other.id()));
    }

    async fn a_read_that_is_refused_is_not_listed_as_read(database: Database) {
        let world = world(database).await;
        let lead = world.club.as_role("privacy_lead");
        let guardian = world.club.as_guardian_of(&[&world.own]);
        let coach = world.club.as_coach_of(&[&world.u16]);
        let session = world.club.as_role("integration").get(format!("sessions?athlete={}", world.other.id())).await.expect(200);
        let session = session["items"][0]["session_id"].as_str().expect("an id").to_owned();
        let reads = async || {
            let rows = audit(&lead).await;
            rows.iter().filter(|row| row["outcome"] == "read").count()
        };
        let known = reads().await;
        for other in [world.other.id(), "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b"] {
            for one in ["", "/load", "/load?explain=true", "/weeks", "/declared-history"] {
                guardian.get(format!("athletes/{other}{one}")).await.expect_problem(404, "not_found");
            }
            for list in ["sessions", "events", "attendance", "rest-days", "absences"] {
                guardian.get(list).query("athlete", other).await.expect_problem(404, "not_found");
            }
            for list in ["flags", "contradictions"] {
                coach.get(list).query("athlete", other).await.expect_problem(404, "not_found");
            }
        }
        guardian.get(format!("sessions/{session}")).await.expect_problem(404, "not_found");
        // What is asked for wrongly is not read either.
        guardian.get(load(&world.own)).query("from", "2026-13-01").await.expect_problem(400, "bad_query");
        guardian.get(load(&world.own)).query("to", "2030-01-01").await.expect(422);
        guardian.get(format!("athletes/{}/weeks?to=2030-W01", world.own.id())).await.expect(422);
        assert_eq!(reads().await, known, "{:?}", audit(&lead).await);
        guardian.get(load(&world.own)).await.expect(200);
        assert_eq!(reads().await, known + 1);
    }

    async fn a24_a_token_with_the_subject_of_another_club_opens_nothing_there(database: Database) {
        let world = world(database).await;
        let there = world.server.club("Sundby Handball").await;
        there.example_policy().await;
        let squad = there.squad("U18").await;
        let athlete = squad.athlete("P-31").await;
        athlete.session("2026-11-03T17:30:00+01:00", 60, 5.0).await;
        let coach_there = there.client(Identity::role("coach").subject("coach-3"));
        coach_there.get("squads").await.expect(200);

        // Signed by us, for this club, with a subject, squads and athletes of the other one.
        let here = world.club.id();
        let claims = |role: &str| {
            let identity = Identity::role(role).club(here).subject("coach-3");
            identity.squad(squad.id()).athlete(athlete.id())
        };
        let seen = there.as_role("privacy_lead").get("audit").await.expect(200).body;
        for role in ["integration", "coach", "club_admin", "athletic_trainer", "guardian", "privacy_lead"] {
            let caller = world.server.client(claims(role), Some(there.id()));
            for path in ["squads", "athletes", "sessions", "flags", "policy", "audit"] {
                caller.get(path).await.expect_problem(404, "not_found");
            }
            caller.get(load(&athlete)).await.expect_problem(404, "not_found");
            caller.get(format!("squads/{}/weeks/2026-W45", squad.id())).await.expect_problem(404, "not_found");
            let report = athlete.session("2026-11-04T17:30:00+01:00", 60, 5.0).into_body();
            caller.post("sessions", report).await.expect_problem(404, "not_found");
        }
        assert_eq!(there.as_role("privacy_lead").get("audit").await.expect(200).body, seen);

        // In its own club it has its own scope and no more: what it names is not there.
        let coach = world.server.client(claims("coach"), Some(here));
        assert_eq!(listed(&coach, "squads", "squad_id").await, Vec::<String>::new());
        assert_eq!(listed(&coach, "athletes", "athlete_id").await, Vec::<String>::new());
        coach.get(load(&athlete)).await.expect_problem(404, "not_found");
        let guardian = world.server.client(claims("guardian"), Some(here));
        guardian.get(load(&athlete)).await.expect_problem(404, "not_found");
        coach.get("audit").await.expect_problem(403, "role_may_not");

        // A subject that one club shuts out stays in the other.
        let admin = world.club.as_role("club_admin");
        admin.post("revocations", json!({ "subject": "coach-3", "reason": "left" })).await.expect(201);
        coach.get("squads").await.expect_problem(401, "unauthenticated");
        coach_there.get("squads").await.expect(200);
    }
}

async fn audit(lead: &Client) -> Vec<Value> {
    let list = lead.get("audit").query("limit", 500).await.expect(200);
    list["items"].as_array().expect("items").clone()
}
