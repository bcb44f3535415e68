//! Licences, restrictions, availability and clearance records: who decides, what coaches are told, and what ends it.

use e2e::{Answer, Athlete, Client, Club, Database, Identity, Server, Squad, on_both_databases};
use serde_json::{Value, json};

/// Tuesday 10 November 2026, before practice.
const NOW: &str = "2026-11-10T16:00:00+01:00";

struct World {
    server: Server,
    club: Club,
    squad: Squad,
    athlete: Athlete,
    /// With a licence on file.
    trainer: Client,
}

async fn world(database: Database) -> World {
    let server = Server::setup(database).clock(NOW).start().await;
    let club = server.club("Havneby Handball").await;
    club.example_policy().await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("P-07").await;
    let trainer = trainer(&club, "trainer-1");
    license(&club, "trainer-1", "2026-11-10").await;
    World {
        server,
        club,
        squad,
        athlete,
        trainer,
    }
}

fn trainer(club: &Club, subject: &str) -> Client {
    club.client(Identity::role("athletic_trainer").subject(subject))
}

async fn license(club: &Club, subject: &str, valid_until: &str) -> Answer {
    let licence = json!({ "subject": subject, "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": valid_until });
    let admin = club.as_role("club_admin");
    admin.post("licences", licence).await.expect(201)
}

impl World {
    /// At most 60 minutes and no jump throws, to be looked at on 13 November.
    fn limited(&self) -> Value {
        json!({ "athlete_id": self.athlete.id(), "from": "2026-11-02", "review_date": "2026-11-13", "availability": "limited",
            "max_minutes": 60, "instruction": "no jump throws", "note": "left ankle, taped" })
    }

    /// After a head knock.
    fn held(&self) -> Value {
        json!({ "athlete_id": self.athlete.id(), "from": "2026-11-09", "review_date": "2026-11-16",
            "availability": "not_available", "written_clearance_required": "head_injury", "note": "fell on court 2" })
    }

    fn decision(&self, decision: &str, decided_on: &str, restriction: Option<&str>) -> Value {
        json!({ "athlete_id": self.athlete.id(), "decision": decision, "scope": "practice without contact",
            "decided_on": decided_on, "document_reference": "folder 12", "restriction_id": restriction })
    }

    async fn availability(&self, caller: &Client, date: &str) -> Answer {
        let path = format!("athletes/{}/availability", self.athlete.id());
        caller.get(path).query("date", date).await.expect(200)
    }

    async fn row_of_today(&self) -> Value {
        let coach = self.club.as_coach_of(&[&self.squad]);
        let today = coach
            .get(format!("squads/{}/today", self.squad.id()))
            .await
            .expect(200);
        assert_nothing_clinical(&today);
        today["athletes"][0].clone()
    }

    /// What the audit list holds, the oldest first.
    async fn audit(&self) -> Vec<Value> {
        let lead = self.club.as_role("privacy_lead");
        let list = lead.get("audit").query("limit", 500).await.expect(200);
        list["items"].as_array().expect("items").clone()
    }
}

/// Neither a note nor what the clearance is needed after.
#[track_caller]
fn assert_nothing_clinical(answer: &Answer) {
    let text = answer.text();
    for hidden in [
        "ankle",
        "court 2",
        "head_injury",
        "\"note\":\"left",
        "restriction_id",
        "written_clearance_required",
    ] {
        assert!(!text.contains(hidden), "{hidden}: {text}");
    }
}

fn said(answer: &Value) -> (&str, Option<&str>, Option<&str>) {
    let text = |field: &str| answer[field].as_str();
    (
        text("availability").expect("availability"),
        text("set_by"),
        text("until"),
    )
}

on_both_databases! {
    async fn only_a_licence_on_file_that_holds_lets_somebody_decide(database: Database) {
        let world = world(database).await;
        let admin = world.club.as_role("club_admin");
        let expired = trainer(&world.club, "trainer-2");
        license(&world.club, "trainer-2", "2026-11-09").await;
        let nobody = trainer(&world.club, "trainer-3");
        for caller in [&expired, &nobody] {
            caller.post("restrictions", world.limited()).await.expect_problem(403, "licence_not_on_file");
            let decision = world.decision("return_to_sport", "2026-11-10", None);
            caller.post("clearance-records", decision).await.expect_problem(403, "licence_not_on_file");
        }
        let set = world.trainer.post("restrictions", world.limited()).await.expect(201);
        let path = format!("restrictions/{}", set.string("restriction_id"));
        expired.get(&path).await.expect(200);
        expired.patch(&path, json!({ "max_minutes": 90 })).if_match("*").await.expect_problem(403, "licence_not_on_file");

        let listed = admin.get("licences").await.expect(200);
        let first = listed["items"][0].clone();
        assert_eq!((&first["subject"], &first["name"]), (&json!("trainer-1"), &json!("Vera Holm")));
        let licence = format!("licences/{}", first["licence_id"].as_str().expect("an id"));
        world.trainer.delete(&licence).if_match("*").await.expect_problem(403, "role_may_not");
        admin.delete(&licence).await.expect_problem(428, "precondition_required");
        admin.delete(&licence).if_match("\"1\"").await.expect(204);
        world.trainer.post("restrictions", world.limited()).await.expect_problem(403, "licence_not_on_file");
        let wrong = json!({ "subject": "", "name": "Vera Holm", "valid_until": "soon" });
        let wrong = admin.post("licences", wrong).await.expect_problem(422, "invalid");
        let pointers: Vec<&Value> = wrong["errors"].as_array().expect("errors").iter().map(|fault| &fault["pointer"]).collect();
        assert_eq!(pointers, ["/subject", "/licence_type", "/valid_until"]);
    }

    async fn coaches_read_the_instruction_and_never_the_reason(database: Database) {
        let world = world(database).await;
        let set = world.trainer.post("restrictions", world.limited()).await.expect(201);
        assert_eq!((&set["note"], &set["set_by"]), (&json!("left ankle, taped"), &json!("athletic_trainer")));
        let row = world.row_of_today().await;
        assert_eq!(said(&row), ("limited", Some("athletic_trainer"), Some("2026-11-12")));
        assert_eq!(row["instructions"], json!(["Limited: max 60 min; no jump throws to 2026-11-12."]));

        let coach = world.club.as_coach_of(&[&world.squad]);
        let guardian = world.club.as_guardian_of(&[&world.athlete]);
        let own = world.athlete.as_caller();
        for caller in [&coach, &guardian, &own, &world.trainer] {
            let before = world.availability(caller, "2026-11-01").await;
            assert_eq!(said(&before.body), ("nothing_entered", None, None));
            let limited = world.availability(caller, "2026-11-12").await;
            assert_eq!(said(&limited.body), ("limited", Some("athletic_trainer"), Some("2026-11-12")));
            // At the review it turns to ask, never to free.
            for later in ["2026-11-13", "2027-06-01"] {
                let asked = world.availability(caller, later).await;
                assert_eq!(said(&asked.body), ("ask", Some("athletic_trainer"), None), "{later}");
                assert_eq!(asked["instructions"], json!(["Ask the athletic trainer before play."]));
                assert_nothing_clinical(&asked);
            }
            assert_nothing_clinical(&limited);
        }
        let far = world.club.squad("U18").await;
        let other = world.club.as_coach_of(&[&far]);
        let path = format!("athletes/{}/availability", world.athlete.id());
        other.get(&path).await.expect_problem(404, "not_found");
        for role in ["club_admin", "integration", "privacy_lead"] {
            world.club.as_role(role).get(&path).await.expect_problem(403, "role_may_not");
        }

        // A last day that is there ends it; a later review renews it.
        let path = format!("restrictions/{}", set.string("restriction_id"));
        let renewed = world.trainer.patch(&path, json!({ "review_date": "2026-11-20" })).if_match(set.etag()).await.expect(200);
        assert_eq!(said(&world.availability(&coach, "2026-11-19").await.body), ("limited", Some("athletic_trainer"), Some("2026-11-19")));
        world.trainer.patch(&path, json!({ "until": "2026-11-10" })).if_match(renewed.etag()).await.expect(200);
        assert_eq!(said(&world.availability(&coach, "2026-11-11").await.body), ("nothing_entered", None, None));
        let early = world.trainer.patch(&path, json!({ "until": "2026-11-18" })).if_match("*").await.expect_problem(422, "invalid");
        assert_eq!(early["errors"][0]["pointer"], "/until");
        let no_reason = world.trainer.delete(&path).if_match("*").await.expect_problem(422, "invalid");
        assert_eq!(no_reason["errors"][0]["code"], "reason_required");
        let removal = world.trainer.delete(&path).body("application/json", r#"{"reason": "wrong athlete"}"#);
        removal.if_match("*").await.expect(204);
        world.trainer.get(&path).await.expect_problem(404, "not_found");
        assert_eq!(said(&world.row_of_today().await), ("nothing_entered", None, None));
    }

    async fn only_a_written_clearance_that_names_it_ends_the_wait(database: Database) {
        let world = world(database).await;
        let set = world.trainer.post("restrictions", world.held()).await.expect(201);
        assert_eq!(set["written_clearance_required"], "head_injury");
        let (id, coach) = (set.string("restriction_id"), world.club.as_coach_of(&[&world.squad]));
        let path = format!("restrictions/{id}");
        let sentence = json!(["Not available until cleared in writing under local law."]);
        assert_eq!(world.row_of_today().await["instructions"], sentence);
        for date in ["2026-11-09", "2026-11-16", "2027-11-09"] {
            let answer = world.availability(&coach, date).await;
            assert_eq!(said(&answer.body), ("not_available", Some("athletic_trainer"), None), "{date}");
            assert_eq!((&answer["instructions"], &answer["limit"]), (&sentence, &Value::Null));
        }
        let removal = world.trainer.delete(&path).body("application/json", r#"{"reason": "she is fine"}"#);
        removal.if_match("*").await.expect_problem(409, "written_clearance_required");
        for eased in [json!({ "written_clearance_required": null }), json!({ "from": "2026-11-20", "review_date": "2026-11-25" })] {
            world.trainer.patch(&path, eased).if_match("*").await.expect_problem(409, "written_clearance_required");
        }
        let ended = world.trainer.patch(&path, json!({ "until": "2026-11-10" })).if_match("*").await.expect_problem(422, "invalid");
        assert_eq!(ended["errors"][0]["code"], "not_with_written_clearance");
        // What was logged shortens nothing, and a decision about nothing in particular ends nothing.
        world.athlete.session("2026-11-09T17:30:00+01:00", 60, 4.0).await;
        let unnamed = world.decision("return_to_sport", "2026-11-10", None);
        world.trainer.post("clearance-records", unnamed).await.expect(201);
        let not_yet = world.decision("not_yet", "2026-11-10", Some(&id));
        world.trainer.post("clearance-records", not_yet).await.expect(201);
        assert_eq!(world.row_of_today().await["availability"], "not_available");

        let named = world.decision("return_to_participation", "2026-11-10", Some(&id));
        let record = world.trainer.post("clearance-records", named).await.expect(201);
        assert_eq!((&record["name"], &record["licence_type"]), (&json!("Vera Holm"), &json!("physiotherapist")));
        assert_eq!(said(&world.row_of_today().await), ("nothing_entered", None, None));
        assert_eq!(world.availability(&coach, "2026-11-09").await["availability"], "not_available");
        let withdrawn = world.decision("not_yet", "2026-11-10", Some(&id));
        world.trainer.post("clearance-records", withdrawn).await.expect(201);
        assert_eq!(world.row_of_today().await["instructions"], sentence);
        let records = world.trainer.get("clearance-records").query("athlete", world.athlete.id()).await.expect(200);
        let decisions: Vec<&Value> = records["items"].as_array().expect("items").iter().map(|one| &one["decision"]).collect();
        assert_eq!(decisions, ["return_to_sport", "not_yet", "return_to_participation", "not_yet"]);
        let one = format!("clearance-records/{}", record.string("clearance_id"));
        assert_eq!(world.trainer.get(&one).await.expect(200)["scope"], "practice without contact");
        for (method, status) in [("PUT", 405), ("PATCH", 405), ("DELETE", 405)] {
            let method = method.parse().expect("a method");
            world.trainer.request(method, &one).await.expect(status);
        }
    }

    async fn bad_input_is_refused_with_its_code_and_all_faults_together(database: Database) {
        let world = world(database).await;
        let faults = async |path: &str, body: Value| -> Vec<(String, String)> {
            let refused = world.trainer.post(path, body).await.expect_problem(422, "invalid");
            let faults = refused["errors"].as_array().expect("errors").iter();
            let text = |fault: &Value, field: &str| fault[field].as_str().expect("text").to_owned();
            faults.map(|fault| (text(fault, "pointer"), text(fault, "code"))).collect()
        };
        let pairs = |expected: &[(&str, &str)]| -> Vec<(String, String)> {
            expected.iter().map(|(pointer, code)| ((*pointer).to_owned(), (*code).to_owned())).collect()
        };
        let with = |change: Value| {
            let mut body = world.limited();
            for (field, value) in change.as_object().expect("fields") {
                body[field] = value.clone();
            }
            body
        };
        let mut unreviewed = world.limited();
        unreviewed.as_object_mut().expect("fields").remove("review_date");
        assert_eq!(faults("restrictions", unreviewed).await, pairs(&[("/review_date", "review_date_required")]));
        let year = with(json!({ "review_date": "2027-11-03" }));
        assert_eq!(faults("restrictions", year).await, pairs(&[("/review_date", "out_of_range")]));
        let several = with(json!({ "athlete_id": e2e::FREE_ID, "max_minutes": 601, "availability": "full", "note": "x".repeat(281) }));
        let expected = [("/athlete_id", "unknown_person"), ("/availability", "unknown_value"), ("/max_minutes", "out_of_range"), ("/note", "text_too_long")];
        assert_eq!(faults("restrictions", several).await, pairs(&expected));
        let mut beside = world.held();
        beside["max_minutes"] = json!(30);
        assert_eq!(faults("restrictions", beside).await, pairs(&[("/max_minutes", "not_with_written_clearance")]));

        let empty = json!({ "athlete_id": world.athlete.id() });
        let expected = ["/decided_on", "/decision", "/scope", "/document_reference"].map(|pointer| (pointer, "missing_field"));
        assert_eq!(faults("clearance-records", empty).await, pairs(&expected));
        let ahead = world.decision("cleared", "2026-11-11", Some(e2e::FREE_ID));
        let expected = [("/restriction_id", "unknown_restriction"), ("/decided_on", "in_future"), ("/decision", "unknown_value")];
        assert_eq!(faults("clearance-records", ahead).await, pairs(&expected));
        let mut named = world.decision("not_yet", "2026-11-10", None);
        named["name"] = json!("Somebody Else");
        assert_eq!(faults("clearance-records", named).await, pairs(&[("/name", "unknown_field")]));
        let long = json!({ "athlete_id": world.athlete.id(), "from": "2025-11-01", "to": "2026-11-06", "category": "not_available" });
        assert_eq!(faults("absences", long).await, pairs(&[("/to", "range_too_long")]), "371 days");
        // Each of them was asked for, and is in the list; nothing was stored.
        let rows = world.audit().await;
        let asked = |action: &str| rows.iter().filter(|row| row["action"] == action && row["outcome"] == "asked").count();
        assert_eq!((asked("create_restriction"), asked("create_clearance_record")), (4, 3));
        assert_eq!(world.trainer.get("restrictions").await.expect(200)["items"], json!([]));
    }

    async fn nobody_decides_about_herself(database: Database) {
        let world = world(database).await;
        let own = [
            Identity::role("athletic_trainer").subject("trainer-1").athlete(world.athlete.id()),
            Identity::role("athletic_trainer").subject("trainer-1").athlete("ext:plimsoll-cli:P-07"),
            Identity::role("athletic_trainer").subject(world.athlete.id()),
            Identity::role("athletic_trainer").subject("P-07"),
        ];
        for subject in [world.athlete.id(), "P-07"] {
            license(&world.club, subject, "2027-06-30").await;
        }
        for identity in own {
            let caller = world.club.client(identity);
            let decision = world.decision("return_to_sport", "2026-11-10", None);
            caller.post("clearance-records", decision).await.expect_problem(403, "own_record");
            caller.post("restrictions", world.limited()).await.expect_problem(403, "own_record");
        }
        let records = world.trainer.get("clearance-records").await.expect(200);
        assert_eq!(records["items"], json!([]));
    }

    async fn who_is_refused_is_in_the_audit_list_and_told_nothing(database: Database) {
        let world = world(database).await;
        let set = world.trainer.post("restrictions", world.held()).await.expect(201);
        let path = format!("restrictions/{}", set.string("restriction_id"));
        let known = world.audit().await.len();
        let coach = world.club.client(Identity::role("coach").subject("coach-3"));
        let there = coach.get("restrictions").query("athlete", world.athlete.id()).await.expect_problem(403, "role_may_not");
        let absent = coach.get("restrictions").query("athlete", e2e::FREE_ID).await.expect_problem(403, "role_may_not");
        assert_eq!(there["detail"], absent["detail"], "the same whether there is anything or not");
        coach.get(&path).await.expect_problem(403, "role_may_not");
        coach.post("restrictions", world.limited()).await.expect_problem(403, "role_may_not");
        for role in ["coach", "strength_coach", "club_admin", "integration", "guardian", "athlete", "privacy_lead"] {
            let caller = world.club.client(Identity::role(role).subject("coach-3"));
            let decision = world.decision("return_to_sport", "2026-11-10", None);
            caller.post("clearance-records", decision).await.expect_problem(403, "role_may_not");
        }
        let rows = world.audit().await;
        let refused: Vec<&Value> = rows.iter().filter(|row| row["outcome"] == "refused").collect();
        assert_eq!((refused.len(), rows.len()), (11, known + 11));
        assert!(refused.iter().all(|row| row["subject"] == "coach-3" && row["athlete_id"] == Value::Null));
        assert!(refused.iter().any(|row| row["action"] == "GET restrictions/{restriction_id}"), "{refused:?}");

        // What was read is in the list too, for each athlete who is shown.
        for (read, action) in [("restrictions", "list_restrictions"), (&path, "read_restriction")] {
            let answer = world.trainer.get(read).await.expect(200);
            let rows = world.audit().await;
            let row = rows.iter().find(|row| row["request_id"] == answer.header("x-request-id").expect("an id")).expect("a row");
            assert_eq!((&row["action"], &row["athlete_id"]), (&json!(action), &json!(world.athlete.id())));
        }
        let coach_reads = world.availability(&coach, "2026-11-10").await;
        let rows = world.audit().await;
        assert!(rows.iter().any(|row| row["request_id"] == coach_reads.header("x-request-id").expect("an id")));
    }

    async fn what_was_reported_against_a_restriction_counts_and_is_told_to_the_trainer(database: Database) {
        let world = world(database).await;
        world.trainer.post("restrictions", world.limited()).await.expect(201);
        world.athlete.session("2026-11-03T17:30:00+01:00", 60, 5.0).await;
        world.athlete.session("2026-11-05T17:30:00+01:00", 90, 6.0).await;
        assert_eq!(world.athlete.day_figures("2026-11-05").await["load_au"], 540.0);
        let listed = async |role: &str| {
            let caller = world.club.client(Identity::role(role).subject("trainer-1"));
            caller.get("contradictions").await.expect(200)["items"].clone()
        };
        let told = listed("athletic_trainer").await;
        assert_eq!((&told[0]["load_date"], &told[0]["why"]), (&json!("2026-11-05"), &json!(["during_restriction"])), "{told}");
        assert_eq!(told.as_array().map(Vec::len), Some(1));
        assert_eq!(listed("coach").await, json!([]));
        drop(world.server);
    }
}
