//! `explain=true`: the arithmetic of an answer, and that it is enough to come to the same figures by another way.

use std::collections::{BTreeSet, HashMap};
use std::io::Write;
use std::process::{Command, Output, Stdio};

use e2e::{Demo, Identity, Server, on_both_databases};
use serde_json::{Value, json};

/// The variables that the demo sets for a shell.
fn variables(demo: &Demo) -> HashMap<String, String> {
    let exports = demo.exports();
    let words = exports
        .split_whitespace()
        .filter_map(|word| word.split_once('='));
    words
        .map(|(name, value)| (name.to_owned(), value.trim_matches('"').to_owned()))
        .collect()
}

async fn read(variables: &HashMap<String, String>, path: &str) -> String {
    let url = format!("{}/{path}", variables["CLUB"]);
    // A history is a clinician's to read.
    let reader = match path.contains("/history") {
        true => "TRAINER",
        false => "COACH",
    };
    let answer = reqwest::Client::new()
        .get(url)
        .bearer_auth(&variables[reader])
        .send()
        .await;
    let answer = answer
        .expect("an answer")
        .error_for_status()
        .expect("an answer");
    answer.text().await.expect("text")
}

/// The figures of every athlete of the demo, computed once more in another language from the sessions alone.
#[tokio::test]
async fn explained_figures_are_recomputed_to_the_last_digit() {
    let demo = Demo::start(["--seed", "5", "--at", "2026-11-25"]).await;
    let variables = variables(&demo);
    let athletes: Value =
        serde_json::from_str(&read(&variables, "athletes?limit=500").await).expect("JSON");
    let mut answers = Vec::new();
    for athlete in athletes["items"].as_array().expect("items") {
        let id = athlete["athlete_id"].as_str().expect("an id");
        let history = "history?purpose=screening&explain=true";
        for figures in ["load?explain=true", "weeks?explain=true", history] {
            answers.push(read(&variables, &format!("athletes/{id}/{figures}")).await);
        }
    }
    let (mut findings, mut ahead) = (BTreeSet::new(), 0);
    let squads: Value = serde_json::from_str(&read(&variables, "squads").await).expect("JSON");
    for squad in squads["items"].as_array().expect("items") {
        let id = squad["squad_id"].as_str().expect("an id");
        for week in 36..=48 {
            let list = format!("squads/{id}/weeks/2026-W{week}?explain=true");
            let list = read(&variables, &list).await;
            let entries: Value = serde_json::from_str(&list).expect("JSON");
            let entries = entries["entries"].as_array().expect("entries").iter();
            findings.extend(entries.map(|entry| entry["finding"].to_string()));
            answers.push(list);
        }
        answers.push(read(&variables, &format!("squads/{id}/today?explain=true")).await);
        let over = format!("squads/{id}/weeks/2026-W48/look-ahead?explain=true");
        let over = read(&variables, &over).await;
        ahead += over.matches("\"planned_au\"").count();
        answers.push(over);
    }
    assert!(ahead > 0, "nobody is over in the week that runs");
    assert_eq!(findings.len(), 6, "not every finding: {findings:?}");
    let output = recompute(&answers);
    let fault = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{fault}");
    let said = String::from_utf8(output.stdout).expect("UTF-8");
    let number = said
        .split_whitespace()
        .find_map(|word| word.parse::<u32>().ok());
    print!("{said}");
    assert!(number.is_some_and(|number| number >= 10_000), "{said}");
    assert_notices_changes(&answers);
}

/// The script, run over these answers.
fn recompute(answers: &[String]) -> Output {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/explain/recompute.py");
    let mut python = Command::new("python3")
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("python3 starts");
    let mut input = python.stdin.take().expect("its input");
    // A fault ends it before it has read everything.
    let _ = input.write_all(answers.join("\n").as_bytes());
    drop(input);
    python.wait_with_output().expect("its end")
}

/// The script fails where a figure was changed, taken away, or has another reason.
fn assert_notices_changes(answers: &[String]) {
    let days = answers.iter().find_map(|answer| {
        let answer: Value = serde_json::from_str(answer).expect("JSON");
        let last = answer["days"].as_array()?.last()?;
        last["ratio_coupled"]["point"].is_number().then_some(answer)
    });
    let days = days.expect("days of somebody with a ratio");
    let last = days["days"].as_array().expect("days").len() - 1;
    let day = format!("/days/{last}");
    let first_reason = days["days"].as_array().and_then(|days| {
        days.iter()
            .position(|day| day["ratio_coupled"]["point"].is_null())
    });
    let mut changes = vec![
        (format!("{day}/ratio_coupled/point"), Value::Null),
        (
            format!("{day}/ratio_coupled/reason"),
            json!("fewer_than_28_days"),
        ),
        (format!("{day}/monotony/sample/high"), json!(9.9999)),
        (format!("{day}/strain_au/population/low"), json!(0.01)),
        (
            format!("{day}/acute_7d_au"),
            json!({ "point": null, "low": null, "high": null, "reason": "fewer_than_7_days" }),
        ),
        (format!("{day}/ewma/ratio"), Value::Null),
    ];
    changes.extend(first_reason.map(|at| {
        let reason = format!("/days/{at}/ratio_coupled/reason");
        (reason, json!("below_chronic_floor_"))
    }));
    for (pointer, value) in changes {
        let mut changed = days.clone();
        *changed.pointer_mut(&pointer).expect("it is there") = value;
        let output = recompute(&[changed.to_string()]);
        assert!(
            !output.status.success(),
            "{pointer} was changed and not noticed"
        );
    }
}

on_both_databases! {
    async fn sessions_sources_and_policy_are_told(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let squad = club.squad("U16").await;
        let athlete = squad.athlete("P-18").with("joined_on", "2026-11-02").await;
        let start = "2026-11-03T17:30:00+01:00";
        let event = squad.event(start, 90).await;
        let home = squad.event("2026-11-03T20:00:00+01:00", 45).with("setting", "prescribed_home").await;
        let report = athlete.session(start, 75, 6.5).await;
        let guardian = club.client(Identity::role("guardian").athlete(athlete.id()).client("family-app"));
        let theirs = athlete.session(start, 75, 6.0).with("given_by", "guardian").into_body();
        guardian.post("sessions", theirs).await.expect(201);
        athlete.attendance(&event, "present").with("minutes", 85).await.expect(201);

        let path = format!("athletes/{}/load?from=2026-11-03&to=2026-11-04", athlete.id());
        let coach = club.as_role("coach");
        let plain = coach.get(&path).await.expect(200);
        assert_eq!(plain["explained"], Value::Null);
        let told = coach.get(&path).query("explain", true).await.expect(200);
        assert_eq!(told["days"], plain["days"], "the figures are the same");
        let explained = &told["explained"];
        assert_eq!(explained["member_since"], "2026-11-02");
        let day = &explained["days"][1];
        assert_eq!((&day["date"], &day["state"]), (&json!("2026-11-03"), &json!("partly_reported")));
        assert_eq!(day["load_au"], json!({ "point": 552.5, "low": 450.0, "high": 1035.0 }));
        let session = &day["sessions"][0];
        assert_eq!((&session["session_id"], &session["event_id"]), (&report["session_id"], &event["event_id"]));
        assert_eq!((&session["rpe"], &session["minutes"], &session["minutes_from"]), (&json!(6.5), &json!(85), &json!("attendance")));
        let reports = session["reports"].as_array().expect("reports");
        let sources: Vec<_> = reports.iter().map(|one| (&one["source"], &one["given_by"], &one["rpe_counts"])).collect();
        assert_eq!(sources, [
            (&json!("plimsoll-cli"), &json!("athlete"), &json!(true)),
            (&json!("family-app"), &json!("guardian"), &json!(false)),
        ]);
        assert_eq!(day["unlogged"], json!([{
            "event_id": home["event_id"], "setting": "prescribed_home", "kind": "practice", "minutes": 45, "at_most_au": 450.0,
        }]));
        let policy = &explained["policies"][0];
        assert_eq!((&policy["policy_version"], &policy["policy"]["rules"][0]["limit"]), (&json!(1), &json!(1.5)));

        let hers = athlete.as_caller().get(&path).query("explain", true).await.expect(200);
        let policy = &hers["explained"]["policies"][0];
        assert_eq!((&policy["policy_version"], &policy["policy"]), (&json!(1), &Value::Null), "limits stay with staff");
        assert_eq!(hers["explained"]["days"], explained["days"]);
        let club_only = coach.get(&path).query("explain", true).query("setting", "club").await.expect(200);
        assert_eq!(club_only["explained"]["days"][1]["unlogged"], json!([]));

        let as_of = told.string("as_of");
        athlete.attendance(&event, "absent").with("confirmed", true).await.expect(200);
        let then = coach.get(&path).query("explain", true).query("as_of", &as_of).await.expect(200);
        assert_eq!(then.text(), told.text(), "the arithmetic of then stays");
        let weeks = coach.get(format!("athletes/{}/weeks?from=2026-W45&to=2026-W45&explain=true", athlete.id())).await.expect(200);
        assert_eq!(weeks["explained"]["days"][1]["sessions"], json!([]), "set aside");
    }

    async fn entries_of_the_weekly_list_are_explained_as_weeks_are(database: Database) {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let squad = club.squad("U16").await;
        let mut joiners = Vec::new();
        for name in ["P-18", "P-19"] {
            let joiner = squad.athlete(name).with("joined_on", "2026-11-02").await;
            joiner.session("2026-11-03T17:30:00+01:00", 75, 6.5).await;
            joiners.push(joiner);
        }
        squad.athlete("P-20").with("joined_on", "2026-11-02").await;

        let lead = club.as_role("privacy_lead");
        let coach = club.as_role("coach");
        let path = format!("squads/{}/weeks/2026-W45", squad.id());
        let plain = coach.get(&path).query("explain", false).await.expect(200);
        let told = coach.get(&path).query("explain", true).await.expect(200);
        let read = lead.get("audit").query("limit", 500).await.expect(200);
        let mut read: Vec<_> = read["items"].as_array().expect("items").iter().map(|row| (&row["action"], &row["athlete_id"])).collect();
        read.sort_by_key(|row| row.1.to_string());
        let listed = json!("read_weekly_list");
        let mut expected: Vec<_> = joiners.iter().map(|joiner| json!(joiner.id())).collect();
        expected.sort_by_key(Value::to_string);
        // Twice: the list as it is and explained.
        let expected: Vec<_> = expected.iter().flat_map(|id| [id, id]).collect();
        assert_eq!(read, expected.iter().map(|id| (&listed, *id)).collect::<Vec<_>>(), "each who is shown, and nobody else");

        let mut without = told.body.clone();
        for (entry, joiner) in without["entries"].as_array_mut().expect("entries").iter_mut().zip(&joiners) {
            assert_eq!(entry["athlete_id"], joiner.id());
            let explained = entry.as_object_mut().expect("an entry").remove("explained").expect("its arithmetic");
            let weeks = format!("athletes/{}/weeks?from=2026-W45&to=2026-W45&explain=true", joiner.id());
            assert_eq!(explained, coach.get(weeks).await.expect(200)["explained"]);
            assert_eq!(explained["days"][1]["sessions"][0]["reports"][0]["source"], "plimsoll-cli");
            assert_eq!(explained["policies"][0]["policy_version"], 1);
        }
        assert_eq!((&without["entries"], &without["not_listed"]), (&plain["entries"], &json!(1)), "the figures are the same");

        let as_of = told.string("as_of");
        joiners[0].session("2026-11-04T17:30:00+01:00", 60, 5.0).await;
        let then = coach.get(&path).query("explain", true).query("as_of", &as_of).await.expect(200);
        assert_eq!(then.text(), told.text(), "the arithmetic of then stays");
        coach.get(&path).query("explain", "yes").await.expect_problem(400, "bad_query");
    }
}
