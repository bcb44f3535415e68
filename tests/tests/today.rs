//! A squad's day: availability and limits as instructions, what is done, who is expected at what.

use e2e::{Athlete, Club, Server, Squad, assert_same_day, example_rules, on_both_databases};
use serde_json::{Value, json};

/// Thursday 19 November 2026, before practice.
const NOW: &str = "2026-11-19T16:00:00+01:00";

struct Day {
    _server: Server,
    club: Club,
    squad: Squad,
}

async fn day(database: e2e::Database) -> Day {
    let server = Server::setup(database).clock(NOW).start().await;
    let club = server.club("Havneby Handball").await;
    let mut rules = example_rules();
    let ceiling = json!({ "code": "return_ceiling", "enabled": true, "limit": 1.0, "source_note": "club choice" });
    rules
        .as_array_mut()
        .expect("rules")
        .retain(|rule| rule["code"] != "return_ceiling");
    rules.as_array_mut().expect("rules").push(ceiling);
    club.example_policy().with("rules", rules).await;
    let squad = club.squad("U18").await;
    Day {
        _server: server,
        club,
        squad,
    }
}

async fn away(athlete: &Athlete, from: &str, to: &str) {
    let absence =
        json!({ "athlete_id": athlete.id(), "from": from, "to": to, "category": "not_available" });
    let guardian = athlete.club().as_guardian_of(&[athlete]);
    guardian.post("absences", absence).await.expect(201);
}

impl Day {
    async fn read(&self) -> e2e::Answer {
        let coach = self.club.as_coach_of(&[&self.squad]);
        coach
            .get(format!("squads/{}/today", self.squad.id()))
            .await
            .expect(200)
    }
}

/// The row of an athlete.
fn of<'a>(answer: &'a e2e::Answer, athlete: &Athlete) -> &'a Value {
    let rows = answer["athletes"].as_array().expect("athletes");
    let row = rows.iter().find(|row| row["athlete_id"] == athlete.id());
    row.expect("the athlete's row")
}

on_both_databases! {
    async fn who_is_shown_is_entered_in_the_audit_list(database: Database) {
        let day = day(database).await;
        let shown = [day.squad.athlete("P-07").await, day.squad.athlete("P-08").await];
        day.club.squad("U14").await.athlete("P-20").await;
        day.read().await;
        let lead = day.club.as_role("privacy_lead");
        let rows = lead.get("audit").await.expect(200)["items"].clone();
        let entered: Vec<_> = rows.as_array().expect("items").iter().map(|row| (&row["action"], &row["athlete_id"])).collect();
        let mut expected = shown.each_ref().map(|one| json!(one.id()));
        expected.sort_by_key(Value::to_string);
        let mut found: Vec<_> = entered.iter().filter(|(action, _)| *action == "read_squad_today").map(|(_, id)| (*id).clone()).collect();
        found.sort_by_key(Value::to_string);
        assert_eq!(found, expected, "each who is shown, and nobody else");
    }

    // S18: ratings below about twelve years are said to be less dependable beside every figure.
    async fn below_twelve_the_day_says_that_ratings_are_less_dependable(database: Database) {
        let day = day(database).await;
        let young = day.squad.athlete("P-07").with("birth_date", "2014-11-20").await;
        let twelve = day.squad.athlete("P-08").with("birth_date", "2014-11-19").await;
        let answer = day.read().await;
        let note = of(&answer, &young)["age_note"].as_str().expect("a note").to_owned();
        assert!(note.starts_with("Below about 12 years ratings are less dependable"), "{note}");
        assert!(of(&answer, &twelve)["age_note"].is_null());
        let path = format!("squads/{}/today", day.squad.id());
        let page = day.club.as_role("coach").get(path).header("Accept", "text/html").await.expect(200).text();
        assert_eq!(page.matches(&note).count(), 1, "{page}");
    }

    async fn who_is_limited_or_away_is_said_without_the_reason(database: Database) {
        let day = day(database).await;
        // S16: a mean of 2250 AU before 35 days away; 900 AU in the first week back is within 50 %, so the second has 70 %.
        let returning = day.squad.athlete("P-31").with("joined_on", "2026-09-07").await;
        day.club.bulk(returning.weeks("2026-09-07", &[2100.0, 2300.0, 2200.0, 2400.0])).await.expect(200);
        day.club.bulk(returning.weeks("2026-11-09", &[900.0])).await.expect(200);
        returning.session("2026-11-17T17:30:00+01:00", 90, 5.0).await;
        away(&returning, "2026-10-05", "2026-11-08").await;
        let gone = day.squad.athlete("P-32").with("joined_on", "2026-09-07").await;
        away(&gone, "2026-11-16", "2026-11-22").await;
        let unknown = day.squad.athlete("P-33").with("joined_on", "2026-10-26").await;
        away(&unknown, "2026-11-02", "2026-11-15").await;
        let rested = day.squad.athlete("P-34").await;
        rested.rest("2026-11-19").await;

        let answer = day.read().await;
        let row = of(&answer, &returning);
        assert_eq!((&row["availability"], &row["until"]), (&json!("limited"), &json!("2026-11-22")));
        assert_eq!((&row["set_by"], &row["limit"]["binding"]), (&json!("club_policy"), &json!("policy")));
        assert_eq!(row["limit"]["max_week_au"], json!({ "low": 1575.0, "high": 1575.0 }));
        assert_eq!(row["limit"]["done_au"]["point"], 450.0);
        let sentence = "Week 2 after an absence of 35 days: at most 1575 AU from 2026-11-16 to 2026-11-22, 450 AU of it done.";
        assert_eq!(row["instructions"], json!([sentence]));
        let row = of(&answer, &gone);
        assert_eq!((&row["availability"], &row["until"], &row["limit"]), (&json!("not_available"), &json!("2026-11-22"), &Value::Null));
        assert_eq!(row["set_by"], "guardian");
        assert_eq!(row["instructions"], json!(["Not available until 2026-11-22."]));
        let row = of(&answer, &unknown);
        assert_eq!((&row["availability"], &row["until"], &row["limit"]), (&json!("limited"), &Value::Null, &Value::Null));
        let row = of(&answer, &rested);
        assert_eq!((&row["availability"], &row["rest_declared"]), (&json!("nothing_entered"), &json!(true)));
        let text = answer.text();
        assert!(!text.contains("category") && !text.contains("\"reason\""), "{text}");
    }

    async fn the_load_of_the_day_and_who_is_expected_at_what(database: Database) {
        let day = day(database).await;
        let (ida, mia) = (day.squad.athlete("Ida").await, day.squad.athlete("Mia").await);
        let other = day.club.squad("U20").await;
        let (app, coach) = (day.club.as_role("integration"), day.club.as_coach_of(&[&day.squad]));
        let event = |start: &str, squad: &Squad, athletes: Value| json!({
            "setting": "club", "kind": "practice", "minutes": 90, "intended_rpe": 6, "starts_at": start,
            "squads": [squad.id()], "athletes": athletes });
        let plan = |body: Value| app.post("events", body);
        let practice = plan(event("2026-11-19T17:30:00+01:00", &day.squad, json!([]))).await.expect(201).string("event_id");
        let morning = plan(event("2026-11-19T07:00:00+01:00", &other, json!([ida.id()]))).await.expect(201).string("event_id");
        // Not hers to see: nobody of the squad is invited. Nor is tomorrow today.
        plan(event("2026-11-19T19:30:00+01:00", &other, json!([]))).await.expect(201);
        plan(event("2026-11-20T17:30:00+01:00", &day.squad, json!([]))).await.expect(201);
        ida.session("2026-11-19T12:00:00+01:00", 45, 5.0).with("setting", "pe").await;
        let absent = json!({ "event_id": practice, "athlete_id": mia.id(), "status": "absent" });
        coach.post("attendance", absent).await.expect(201);

        let answer = day.read().await;
        assert_eq!(answer["date"], "2026-11-19");
        let sessions: Vec<&Value> = answer["sessions"].as_array().expect("sessions").iter().map(|one| &one["event_id"]).collect();
        assert_eq!(sessions, [&json!(morning), &json!(practice)]);
        assert_eq!((&answer["sessions"][1]["intended_rpe"], &answer["sessions"][1]["status"]), (&json!(6.0), &json!("planned")));
        let row = of(&answer, &ida);
        // PE 45 minutes at 5, and the morning's practice, which is over and not logged, up to 10 x 90.
        assert_eq!(row["load_au"], json!({ "point": 225.0, "low": 225.0, "high": 1125.0 }));
        assert_eq!((&row["logged_sessions"], &row["unlogged_sessions"], &row["minutes"]), (&json!(1), &json!(1), &json!(45)));
        let expected = json!([{ "event_id": morning, "attendance": null }, { "event_id": practice, "attendance": null }]);
        assert_eq!(row["expected_at"], expected);
        assert_eq!(of(&answer, &mia)["expected_at"], json!([{ "event_id": practice, "attendance": "absent" }]));
        assert_eq!(of(&answer, &mia)["load_au"], json!({ "point": 0.0, "low": 0.0, "high": 0.0 }));
        let names: Vec<&Value> = answer["athletes"].as_array().expect("athletes").iter().map(|row| &row["display_name"]).collect();
        assert_eq!(names, ["Ida", "Mia"]);
    }

    async fn page_and_file_of_a_day_say_the_same(database: Database) {
        let day = day(database).await;
        let ida = day.squad.athlete("Ida").with("display_name", "=Ida <b>").await;
        ida.session("2026-11-19T12:00:00+01:00", 45, 5.0).with("setting", "pe").await;
        let gone = day.squad.athlete("P-32").with("joined_on", "2026-09-07").await;
        away(&gone, "2026-11-16", "2026-11-22").await;
        let event = json!({ "setting": "club", "kind": "practice", "minutes": 90, "intended_rpe": 6,
            "starts_at": "2026-11-19T17:30:00+01:00", "squads": [day.squad.id()], "athletes": [] });
        day.club.as_role("integration").post("events", event).await.expect(201);
        let read = async |accept: &str| {
            let coach = day.club.as_coach_of(&[&day.squad]);
            let sent = coach.get(format!("squads/{}/today", day.squad.id())).header("Accept", accept).await;
            assert_eq!(sent.header("vary"), Some("Accept"), "{accept}");
            sent.expect(200)
        };
        let (page, file) = (read("text/html").await, read("text/csv").await);
        assert!(page.header("content-security-policy").is_some_and(|policy| policy.starts_with("default-src 'none'")));
        assert_eq!(file.header("content-disposition"), Some("attachment; filename=\"squad-day-2026-11-19.csv\""));
        let (page, file) = (page.text(), file.text());
        let count = assert_same_day(&read("application/json").await.body, &page, &file);
        assert!(count > 30, "{count} texts and numbers");
        assert!(page.contains("17:30 practice (club)") && page.contains("=Ida &lt;b&gt;"), "{page}");
        assert!(file.contains("'=Ida <b>"), "{file}");
        let refused = day.club.as_role("coach").get(format!("squads/{}/today", day.squad.id()));
        refused.header("Accept", "application/pdf").await.expect_problem(406, "not_acceptable");
    }

    async fn a_day_is_read_as_it_was_known_and_explained(database: Database) {
        let day = day(database).await;
        let ida = day.squad.athlete("Ida").with("joined_on", "2026-09-07").await;
        let event = day.squad.event("2026-11-19T12:00:00+01:00", 90).await;
        let coach = day.club.as_coach_of(&[&day.squad]);
        let path = format!("squads/{}/today", day.squad.id());
        let availability = format!("athletes/{}/availability", ida.id());
        let (before, able) = (day.read().await, coach.get(&availability).await.expect(200));
        let with = coach.get(&path).query("explain", true).await.expect(200);
        let row = &with["athletes"][0];
        let explained = row["explained"]["days"].as_array().and_then(|days| days.last()).expect("today");
        assert_eq!((&explained["date"], &explained["load_au"]), (&json!("2026-11-19"), &row["load_au"]));
        assert_eq!(explained["unlogged"][0]["event_id"], event["event_id"]);
        let audit = day.club.as_role("privacy_lead").get("audit").query("limit", 500).await.expect(200);
        let last = audit["items"].as_array().and_then(|rows| rows.last()).expect("a row");
        assert_eq!((&last["action"], &last["athlete_id"]), (&json!("read_squad_today"), &json!(ida.id())));

        ida.session("2026-11-19T12:00:00+01:00", 90, 6.0).await;
        away(&ida, "2026-11-19", "2026-11-22").await;
        assert_eq!(day.read().await["athletes"][0]["availability"], "not_available");
        for (path, then) in [(&path, &before), (&availability, &able)] {
            let again = coach.get(path).query("as_of", then.string("as_of")).await.expect(200);
            assert_eq!(again.text(), then.text(), "{path} as it was known then");
        }
        let again = coach.get(&path).query("as_of", with.string("as_of")).query("explain", true).await.expect(200);
        assert_eq!(again.text(), with.text(), "the arithmetic too");
        coach.get(&path).query("as_of", "2026-11-20T08:00:00Z").await.expect_problem(422, "invalid");
        let page = coach.get(&path).query("explain", true).header("Accept", "text/html");
        page.await.expect_problem(406, "not_acceptable");
    }

    async fn a_squads_day_is_for_those_who_train_it(database: Database) {
        let day = day(database).await;
        let athlete = day.squad.athlete("P-31").await;
        let path = format!("squads/{}/today", day.squad.id());
        for role in ["coach", "strength_coach", "athletic_trainer", "integration"] {
            day.club.as_role(role).get(&path).await.expect(200);
        }
        for role in ["club_admin", "guardian", "privacy_lead"] {
            day.club.as_role(role).get(&path).await.expect_problem(403, "role_may_not");
        }
        athlete.as_caller().get(&path).await.expect_problem(403, "role_may_not");
        let other = day.club.squad("U20").await;
        day.club.as_coach_of(&[&other]).get(&path).await.expect_problem(404, "not_found");
    }
}
