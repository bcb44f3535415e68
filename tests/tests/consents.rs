//! Consents: who decides, from when to when they hold, what a withdrawal closes, and that nothing flows without.

use e2e::{Answer, Athlete, Client, Club, Database, Identity, Server, Squad, on_both_databases};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use serde_json::{Value, json};

struct World {
    server: Server,
    club: Club,
    squad: Squad,
    athlete: Athlete,
    guardian: Client,
    trainer: Client,
    lead: Client,
}

async fn world(database: Database) -> World {
    world_at(database, "2026-11-09T08:00:00+01:00").await
}

async fn world_at(database: Database, now: &str) -> World {
    let server = Server::setup(database).clock(now).start().await;
    let club = server.club("HK Nordvang").await;
    let squad = club.squad("U18").await;
    // Of age on 20 November 2026.
    let athlete = squad.athlete("P-07").with("birth_date", "2008-11-20").await;
    World {
        guardian: club.as_guardian_of(&[&athlete]),
        trainer: club.as_role("athletic_trainer"),
        lead: club.as_role("privacy_lead"),
        server,
        club,
        squad,
        athlete,
    }
}

fn consent(data_class: &str) -> Value {
    let recipient = if data_class == "squad_figures" {
        "coach"
    } else {
        "athletic_trainer"
    };
    json!({ "purpose": "decide on her return", "data_classes": [data_class], "recipient_role": recipient,
        "text_version": "2026-1" })
}

fn list(athlete: &Athlete) -> String {
    format!("athletes/{}/consents", athlete.id())
}

fn withdrawal(athlete: &Athlete, given: &Answer) -> String {
    format!(
        "{}/{}/withdrawal",
        list(athlete),
        given.string("consent_id")
    )
}

fn with(mut body: Value, field: &str, value: impl Into<Value>) -> Value {
    body[field] = value.into();
    body
}

impl World {
    async fn give(&self, data_class: &str) -> Answer {
        self.guardian
            .post(list(&self.athlete), consent(data_class))
            .await
            .expect(201)
    }

    async fn withdraw(&self, given: &Answer) -> Answer {
        self.guardian
            .post(withdrawal(&self.athlete, given), json!({}))
            .await
            .expect(200)
    }

    /// A result of a test, by its path.
    async fn tested(&self, athlete: &Athlete) -> String {
        let result = json!({ "athlete_id": athlete.id(), "test": "single_hop_distance", "side": "left",
            "trials": [126, 128.5], "tested_on": "2026-11-02", "tester": "Runa F." });
        let made = self.trainer.post("tests", result).await.expect(201);
        format!("tests/{}", made.string("test_result_id"))
    }

    fn results_of(&self, athlete: &Athlete) -> e2e::Request {
        self.trainer.get("tests").query("athlete", athlete.id())
    }

    fn history(&self) -> e2e::Request {
        let path = format!("athletes/{}/history", self.athlete.id());
        self.trainer.get(path).query("purpose", "screening")
    }

    async fn need(&self, own_age: u8, classes: &[&str]) {
        let settings = json!({ "own_age": own_age, "needed_for": classes });
        self.lead
            .put("consent-settings", settings)
            .if_match("*")
            .await
            .expect(200);
    }

    /// What the audit list holds, the oldest first.
    async fn audit(&self) -> Vec<Value> {
        let list = self.lead.get("audit").query("limit", 500).await.expect(200);
        list["items"].as_array().expect("items").clone()
    }
}

fn standings(list: &Answer) -> Vec<&str> {
    let items = list["items"].as_array().expect("items").iter();
    items
        .map(|item| item["standing"].as_str().expect("a standing"))
        .collect()
}

on_both_databases! {
    async fn a_consent_is_given_withdrawn_and_given_anew(database: Database) {
        let world = world(database).await;
        let given = world.give("tests").await;
        assert_eq!((&given["given_by"], &given["standing"], &given["version"]), (&json!("guardian"), &json!("in_force"), &json!(1)));
        assert_eq!(given["from"], given["given_at"]);
        let path = format!("{}/{}", list(&world.athlete), given.string("consent_id"));
        assert!(given.header("location").is_some_and(|location| location.ends_with(&path)));

        // One at a time, so that a withdrawal leaves nothing behind.
        let twice = world.guardian.post(list(&world.athlete), consent("tests")).await.expect_problem(422, "invalid");
        assert_eq!((&twice["errors"][0]["pointer"], &twice["errors"][0]["code"]), (&json!("/data_classes/0"), &json!("consent_stands")));
        world.guardian.post(list(&world.athlete), consent("pain")).await.expect(201);

        let withdrawn = world.withdraw(&given).await;
        assert_eq!((&withdrawn["standing"], &withdrawn["withdrawn_by"], &withdrawn["version"]), (&json!("withdrawn"), &json!("guardian"), &json!(2)));
        assert_eq!(world.withdraw(&given).await.body, withdrawn.body, "withdrawn twice it is unchanged");
        world.give("tests").await;
        let all = world.guardian.get(list(&world.athlete)).await.expect(200);
        assert_eq!(standings(&all), ["withdrawn", "in_force", "in_force"], "nothing is removed");
        assert_eq!(world.lead.get(&path).await.expect(200).body, withdrawn.body);
        let first = world.lead.get(list(&world.athlete)).query("limit", 1).await.expect(200);
        let rest = world.lead.get(list(&world.athlete)).query("after", first.string("next")).await.expect(200);
        assert_eq!((standings(&first).len(), standings(&rest).len()), (1, 2));
    }

    async fn a_consent_never_reaches_back(database: Database) {
        let world = world(database).await;
        let post = |body: Value| world.guardian.post(list(&world.athlete), body);
        let early = with(consent("tests"), "from", "2026-11-09T07:59:59+01:00");
        let early = post(early).await.expect_problem(422, "invalid");
        assert_eq!((&early["errors"][0]["pointer"], &early["errors"][0]["code"]), (&json!("/from"), &json!("backdated")));
        let later = with(consent("tests"), "from", "2026-11-10T00:00:00+01:00");
        let later = post(with(later, "until", "2026-11-12T00:00:00+01:00")).await.expect(201);
        assert_eq!(later["standing"], "to_come");
        let faults = post(json!({ "data_classes": ["tests", "mood"], "recipient_role": "coach", "until": "soon" })).await;
        let faults = faults.expect_problem(422, "invalid");
        let pointers: Vec<&Value> = faults["errors"].as_array().expect("errors").iter().map(|fault| &fault["pointer"]).collect();
        assert_eq!(pointers, ["/purpose", "/data_classes/0", "/data_classes/1", "/until", "/text_version"]);
    }

    async fn a_consent_holds_from_its_first_instant_to_its_last(database: Database) {
        let mut world = world(database).await;
        world.tested(&world.athlete).await;
        let span = with(consent("tests"), "from", "2026-11-10T00:00:00+01:00");
        let span = with(span, "until", "2026-11-12T00:00:00+01:00");
        world.guardian.post(list(&world.athlete), span).await.expect(201);
        world.results_of(&world.athlete).await.expect_problem(403, "consent_missing");
        world.server.restart_at("2026-11-11T08:00:00+01:00").await;
        world.results_of(&world.athlete).await.expect(200);
        world.server.restart_at("2026-11-12T08:00:00+01:00").await;
        world.results_of(&world.athlete).await.expect_problem(403, "consent_missing");
        assert_eq!(standings(&world.guardian.get(list(&world.athlete)).await.expect(200)), ["ended"]);
    }

    async fn a35_a_guardian_decides_for_her_own_children_alone(database: Database) {
        let world = world(database).await;
        let sibling = world.squad.athlete("P-08").await;
        let given = world.give("tests").await;
        let stranger = world.club.as_guardian_of(&[&sibling]);
        stranger.get(list(&world.athlete)).await.expect_problem(404, "not_found");
        stranger.post(list(&world.athlete), consent("pain")).await.expect_problem(404, "not_found");
        stranger.post(withdrawal(&world.athlete, &given), json!({})).await.expect_problem(404, "not_found");
        // Nor under the path of a child of her own.
        stranger.post(withdrawal(&sibling, &given), json!({})).await.expect_problem(404, "not_found");
        assert_eq!(standings(&world.guardian.get(list(&world.athlete)).await.expect(200)), ["in_force"]);
        // Nobody else speaks for a family, and a minor reads without deciding.
        for role in ["club_admin", "coach", "strength_coach", "athletic_trainer", "integration"] {
            let other = world.club.as_role(role);
            other.post(list(&world.athlete), consent("pain")).await.expect_problem(403, "role_may_not");
            other.get(list(&world.athlete)).await.expect_problem(403, "role_may_not");
        }
        let own = world.athlete.as_caller();
        assert_eq!(standings(&own.get(list(&world.athlete)).await.expect(200)), ["in_force"]);
        own.post(list(&world.athlete), consent("pain")).await.expect_problem(403, "guardian_decides");
        own.post(withdrawal(&world.athlete, &given), json!({})).await.expect_problem(403, "guardian_decides");
    }

    async fn from_her_birthday_on_the_athlete_decides(database: Database) {
        let mut world = world_at(database, "2026-11-19T23:00:00+01:00").await;
        let (tests, pain) = (world.give("tests").await, world.give("pain").await);
        world.server.restart_at("2026-11-20T00:00:01+01:00").await;
        // What guardians gave holds until she changes it, and they no longer can.
        world.tested(&world.athlete).await;
        world.results_of(&world.athlete).await.expect(200);
        world.guardian.post(withdrawal(&world.athlete, &pain), json!({})).await.expect_problem(403, "athlete_decides");
        world.guardian.post(list(&world.athlete), consent("wellness")).await.expect_problem(403, "athlete_decides");
        let own = world.athlete.as_caller();
        let withdrawn = own.post(withdrawal(&world.athlete, &tests), json!({})).await.expect(200);
        assert_eq!((&withdrawn["given_by"], &withdrawn["withdrawn_by"]), (&json!("guardian"), &json!("athlete")));
        let refused = world.results_of(&world.athlete).await.expect_problem(403, "consent_withdrawn");
        assert!(refused.string("detail").contains("ask the athlete"), "{}", refused.text());
        let given = own.post(list(&world.athlete), consent("tests")).await.expect(201);
        assert_eq!(given["given_by"], "athlete");
        // Where the law says otherwise, the club does.
        world.need(19, &[]).await;
        own.post(withdrawal(&world.athlete, &given), json!({})).await.expect_problem(403, "guardian_decides");
        world.guardian.post(withdrawal(&world.athlete, &given), json!({})).await.expect(200);
    }

    async fn a_signed_form_is_entered_by_who_answers_for_personal_data(database: Database) {
        let world = world(database).await;
        let missing = world.lead.post(list(&world.athlete), consent("tests")).await.expect_problem(422, "invalid");
        assert_eq!(missing["errors"][0]["pointer"], "/evidence");
        let signed = with(consent("tests"), "evidence", "folder 3, page 7");
        let given = world.lead.post(list(&world.athlete), signed).await.expect(201);
        assert_eq!((&given["given_by"], &given["evidence"]), (&json!("guardian"), &json!("folder 3, page 7")));
        let path = withdrawal(&world.athlete, &given);
        world.lead.post(&path, json!({})).await.expect_problem(422, "invalid");
        let withdrawn = world.lead.post(&path, json!({ "evidence": "letter of 9 November" })).await.expect(200);
        assert_eq!(withdrawn["withdrawal_evidence"], "letter of 9 November");
        let asked: Vec<Value> = world.audit().await;
        let asked = asked.iter().filter(|row| row["outcome"] == "asked").map(|row| row["action"].as_str().expect("text"));
        let expected = ["create_consent", "create_consent", "withdraw_consent", "withdraw_consent"];
        assert_eq!(asked.collect::<Vec<_>>(), expected);
    }

    async fn a36_what_was_withdrawn_is_refused_and_left_out(database: Database) {
        let world = world(database).await;
        let other = world.squad.athlete("P-08").await;
        let untested = world.squad.athlete("P-09").await;
        let (own, others) = (world.tested(&world.athlete).await, world.tested(&other).await);
        let shown = async || {
            let list = world.trainer.get("tests").await.expect(200);
            list["items"].as_array().expect("items").len()
        };
        assert_eq!(shown().await, 2, "nobody was asked, and nothing needs to be");
        let given = world.give("tests").await;
        assert_eq!(shown().await, 2);
        assert_eq!(world.history().await.expect(200)["tests"].as_array().map(Vec::len), Some(1));

        world.withdraw(&given).await;
        assert_eq!(shown().await, 1, "a list leaves out what was withdrawn");
        let refused = world.trainer.get(&own).await.expect_problem(403, "consent_withdrawn");
        assert!(refused.string("detail").contains("ask her guardians"), "{}", refused.text());
        world.results_of(&world.athlete).await.expect_problem(403, "consent_withdrawn");
        world.trainer.get(&others).await.expect(200);
        let history = world.history().await.expect(200);
        assert_eq!((&history["tests"], &history["not_included"][0]["what"]), (&json!([]), &json!("tests")));
        for kind in ["text/csv", "text/html"] {
            let page = world.history().header("Accept", kind).await.expect(200);
            let text = String::from_utf8_lossy(&page.bytes).into_owned();
            assert!(!text.contains("single_hop") && text.contains("Nobody has consented"), "{kind}: {text}");
        }
        let last: Vec<Value> = world.audit().await;
        let of_today = last.iter().map(|row| (row["action"].as_str().expect("text"), row["outcome"].as_str().expect("text")));
        let refusals: Vec<_> = of_today.filter(|(_, outcome)| *outcome == "refused").collect();
        assert_eq!(refusals, [("GET tests/{test_result_id}", "refused"), ("GET tests", "refused")]);

        // The same words whether there is something to be read or not.
        let nothing = world.club.as_guardian_of(&[&untested]);
        let given = nothing.post(list(&untested), consent("tests")).await.expect(201);
        nothing.post(withdrawal(&untested, &given), json!({})).await.expect(200);
        let absent = world.results_of(&untested).await.expect_problem(403, "consent_withdrawn");
        assert_eq!(absent["detail"], refused["detail"]);
    }

    async fn a_club_may_ask_for_consent_first(database: Database) {
        let world = world(database).await;
        let path = world.tested(&world.athlete).await;
        let usual = world.guardian.get("consent-settings").await.expect(200);
        assert_eq!(usual.body, json!({ "own_age": 18, "needed_for": [], "version": 0 }));
        world.club.as_role("club_admin").put("consent-settings", json!({})).await.expect_problem(403, "role_may_not");
        let wrong = json!({ "own_age": 12, "needed_for": ["tests", "mood"] });
        let wrong = world.lead.put("consent-settings", wrong).if_match("*").await.expect_problem(422, "invalid");
        assert_eq!((&wrong["errors"][0]["pointer"], &wrong["errors"][1]["pointer"]), (&json!("/own_age"), &json!("/needed_for/1")));
        world.trainer.get(&path).await.expect(200);
        world.need(18, &["tests"]).await;
        world.trainer.get(&path).await.expect_problem(403, "consent_missing");
        assert_eq!(world.trainer.get("tests").await.expect(200)["items"], json!([]));
        world.give("tests").await;
        world.trainer.get(&path).await.expect(200);
        assert_eq!(world.trainer.get("tests").await.expect(200)["items"].as_array().map(Vec::len), Some(1));
    }

    async fn nothing_flows_without_consent_whatever_is_said(database: Database) {
        let mut world = world_at(database, "2026-11-19T12:00:00+01:00").await;
        let other = world.squad.athlete("P-08").await;
        let paths = [world.tested(&world.athlete).await, world.tested(&other).await];
        let mut random = ChaCha20Rng::seed_from_u64(19);
        let mut given: [Vec<Answer>; 2] = [vec![], vec![]];
        let mut refused = 0;
        for step in 0..120 {
            if step == 60 {
                // One of the two is of age by then.
                world.server.restart_at("2026-11-20T12:00:00+01:00").await;
            }
            let who = random.random_range(0..2);
            let athlete = [&world.athlete, &other][who];
            let is_of_age = step >= 60 && who == 0;
            let family = if is_of_age { athlete.as_caller() } else { world.club.as_guardian_of(&[athlete]) };
            let answer = match random.random_range(0..7) {
                0 => {
                    let answer = family.post(list(athlete), consent("tests")).await;
                    if answer.status == 201 {
                        given[who].push(answer.clone());
                    }
                    answer
                }
                1 => match given[who].last() {
                    Some(last) => family.post(withdrawal(athlete, last), json!({})).await.expect(200),
                    None => continue,
                },
                2 => {
                    let classes: &[&str] = if random.random() { &["tests"] } else { &[] };
                    let settings = json!({ "own_age": 18, "needed_for": classes });
                    world.lead.put("consent-settings", settings).if_match("*").await.expect(200)
                }
                3 => world.trainer.get(&paths[who]).await,
                4 => world.results_of(athlete).await,
                5 => world.trainer.get("tests").await.expect(200),
                _ => world.history().await.expect(200),
            };
            assert!([200, 201, 403, 422].contains(&answer.status), "{}", answer.text());
            refused += usize::from(answer.status == 403);
        }
        let gaps = world.lead.get("consent-gaps").await.expect(200);
        assert_eq!(gaps["gaps"], json!([]), "seed 19");
        let flows = gaps["flows"].as_u64().expect("a number");
        assert!(flows > 20 && refused > 5, "{flows} flows, {refused} refusals");
        println!("120 steps: {flows} reads behind consents, {refused} refusals, no gap");
        for role in ["club_admin", "coach", "guardian"] {
            world.club.as_role(role).get("consent-gaps").await.expect_problem(403, "role_may_not");
        }
    }

    async fn a_read_that_should_not_have_been_is_found(database: Database) {
        let world = world(database).await;
        let path = world.tested(&world.athlete).await;
        let given = world.give("tests").await;
        world.trainer.get(&path).await.expect(200);
        world.withdraw(&given).await;
        assert_eq!(world.lead.get("consent-gaps").await.expect(200)["gaps"], json!([]));
        // As if the withdrawal had been there five minutes earlier and nobody had looked.
        let earlier = match database {
            Database::Sqlite => "UPDATE consents SET withdrawn_at = withdrawn_at - 300000000, given_at = given_at - 600000000",
            Database::Postgres => "UPDATE consents SET withdrawn_at = withdrawn_at - interval '5 minutes', given_at = given_at - interval '10 minutes'",
        };
        world.server.rows(&format!("{earlier} WHERE superseded_at IS NULL"));
        let gaps = world.lead.get("consent-gaps").await.expect(200);
        let gap = &gaps["gaps"][0];
        assert_eq!((&gap["athlete_id"], &gap["action"]), (&json!(world.athlete.id()), &json!("read_test_result")));
        assert_eq!((&gap["data_class"], &gap["code"]), (&json!("tests"), &json!("consent_withdrawn")));
    }

    async fn a_parent_who_coaches_acts_in_one_role(database: Database) {
        let world = world(database).await;
        let path = world.tested(&world.athlete).await;
        let both = Identity::role("coach").also("guardian").squad(world.squad.id()).athlete(world.athlete.id());
        let both = world.club.client(both.subject("parent-coach"));
        both.get(list(&world.athlete)).await.expect_problem(403, "acting_role_required");
        both.get(list(&world.athlete)).header("Acting-Role", "coach").await.expect_problem(403, "role_may_not");
        both.get(&path).header("Acting-Role", "coach").await.expect_problem(403, "role_may_not");
        both.get(list(&world.athlete)).header("Acting-Role", "guardian").await.expect(200);
        both.post(list(&world.athlete), consent("tests")).header("Acting-Role", "guardian").await.expect(201);
    }
}
