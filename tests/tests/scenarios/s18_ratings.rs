//! S18: how an athlete rates, how far that lies from what was intended, and what is said beside her figures.

use e2e::Answer;

use crate::*;

const NOW: &str = "2026-11-09T07:00:00+01:00";
const VARIED: [f64; 12] = [4.0, 5.0, 6.0, 7.0, 5.0, 8.0, 6.0, 3.0, 7.0, 5.0, 6.0, 9.0];
const INTENDED: [f64; 6] = [6.0, 6.0, 7.0, 5.0, 8.0, 6.0];
const REPORTED: [f64; 6] = [5.0, 7.0, 7.0, 4.0, 6.0, 5.0];

async fn u16(database: Database) -> (Server, Club, Squad) {
    let (server, club, squad) = club_with_squad(database, NOW, "U16").await;
    club.example_policy().await;
    (server, club, squad)
}

fn ratings(athlete: &Athlete) -> String {
    format!("athletes/{}/ratings", athlete.id())
}

/// Reports of twelve days from 10 October on, practice and strength by turns.
fn twelve(athlete: &Athlete, ratings: [f64; 12]) -> Vec<Value> {
    let days = (10..).zip(ratings);
    days.map(|(day, rpe)| {
        let kind = if day % 2 == 0 { "practice" } else { "strength" };
        let start = format!("2026-10-{day}T17:30:00+02:00");
        athlete
            .session(&start, 60, rpe)
            .with("kind", kind)
            .into_body()
    })
    .collect()
}

/// Practices of the squad from 2 November on, meant to be this hard.
async fn practices(squad: &Squad, intended: &[f64]) -> Vec<(String, Answer)> {
    let mut events = Vec::new();
    for (day, intended) in (2..).zip(intended) {
        let start = format!("2026-11-{day:02}T17:30:00+01:00");
        let event = squad
            .event(&start, 90)
            .with("intended_rpe", *intended)
            .await;
        events.push((start, event));
    }
    events
}

/// Her habits of rating as a coach reads them, and what is said of them.
async fn note_of(athlete: &Athlete) -> (Vec<String>, Value) {
    let coach = athlete.club().as_role("coach");
    let read = coach.get(ratings(athlete)).await.expect(200);
    let habits = read["habits"].as_array().expect("habits").iter();
    let habits = habits.filter_map(|habit| habit.as_str().map(str::to_owned));
    (habits.collect(), read["rating_note"].clone())
}

on_both_databases! {
    async fn s18_ratings_with_little_information(database: Database) {
        let (_server, club, squad) = u16(database).await;
        let (alike, varied) = (squad.athlete("R1").await, squad.athlete("R2").await);
        store(&club, [twelve(&alike, [5.0; 12]), twelve(&varied, VARIED)].concat()).await;
        let note = async |athlete: &Athlete, caller: &Client| {
            let weeks = caller.get(format!("athletes/{}/weeks", athlete.id()));
            weeks.query("to", "2026-W45").await.expect(200)["rating_note"].clone()
        };
        let coach = club.as_role("coach");
        let said = note(&alike, &coach).await;
        assert!(said.as_str().is_some_and(|said| said.contains("little information")), "{said}");
        assert_eq!(note(&varied, &coach).await, Value::Null);
        assert_eq!(note(&alike, &alike.as_caller()).await, Value::Null, "to staff, not to the athlete");

        let read = coach.get(ratings(&varied)).await.expect(200);
        assert_eq!((&read["from"], &read["to"]), (&json!("2026-09-15"), &json!("2026-11-09")), "eight weeks");
        assert_eq!((&read["ratings"], &read["distinct_ratings"]), (&json!(12), &json!(7)));
        assert_printed(&read["mean_rpe"], "5.9167");
        assert_printed(&read["standard_deviation_rpe"], "1.6765");
        assert_eq!((&read["habits"], &read["rating_note"], &read["given_early"]), (&json!([]), &Value::Null, &json!(0)));
        let told: Vec<_> = read["sessions"].as_array().expect("sessions").iter().map(|one| one["rpe"].as_f64().expect("a rating")).collect();
        assert_eq!(told, VARIED);

        let read = coach.get(ratings(&alike)).await.expect(200);
        assert_eq!((&read["distinct_ratings"], &read["standard_deviation_rpe"]), (&json!(1), &json!(0.0)));
        assert_eq!(read["habits"], json!(["same_rating"]));
        let hers = alike.as_caller().get(ratings(&alike)).await.expect(200);
        assert_eq!((&hers["habits"], &hers["rating_note"]), (&json!([]), &Value::Null));
        assert_eq!(hers["sessions"], read["sessions"], "her own record");
    }

    async fn s18_reported_against_intended(database: Database) {
        let (_server, club, squad) = u16(database).await;
        let athlete = squad.athlete("R3").await;
        let coach = club.as_role("coach");
        let events = practices(&squad, &INTENDED).await;
        for ((start, _), rpe) in events.iter().zip(REPORTED).take(4) {
            athlete.session(start, 90, rpe).await;
        }
        // Nobody said how hard this one was to be, and this rating is a guardian's.
        athlete.session("2026-11-01T10:00:00+01:00", 60, 3.0).await;
        let family = club.client(Identity::role("guardian").athlete(athlete.id()).client("family-app"));
        let theirs = athlete.session(&events[4].0, 90, 1.0).with("given_by", "guardian").into_body();
        family.post("sessions", theirs).await.expect(201);
        let few = coach.get(ratings(&athlete)).await.expect(200);
        assert_eq!(few["gap"], json!({ "sessions": 4, "mean_rpe": null, "standard_deviation_rpe": null, "reason": "fewer_than_5_ratings" }));
        assert_eq!(few["ratings"], 5);

        for ((start, _), rpe) in events.iter().zip(REPORTED).skip(4) {
            athlete.session(start, 90, rpe).await;
        }
        let read = coach.get(ratings(&athlete)).await.expect(200);
        assert_eq!((&read["gap"]["sessions"], &read["gap"]["reason"]), (&json!(6), &Value::Null));
        assert_printed(&read["gap"]["mean_rpe"], "-0.6667");
        assert_printed(&read["gap"]["standard_deviation_rpe"], "1.0328");
        let of_session = |field: &str| {
            let sessions = read["sessions"].as_array().expect("sessions").iter();
            sessions.map(|one| one[field].clone()).collect::<Vec<_>>()
        };
        assert_eq!(json!(of_session("gap_rpe")), json!([null, -1.0, 1.0, 0.0, -1.0, -2.0, -1.0]));
        assert_eq!(json!(of_session("intended_rpe")), json!([null, 6.0, 6.0, 7.0, 5.0, 8.0, 6.0]));
        assert_eq!(of_session("event_id")[1], events[0].1["event_id"]);

        let then = coach.get(ratings(&athlete)).query("as_of", few.string("as_of")).await.expect(200);
        assert_eq!(then.text(), few.text(), "what was known then");
        let audit = club.as_role("privacy_lead").get("audit").query("limit", 500).await.expect(200);
        let last = audit["items"].as_array().and_then(|rows| rows.last()).expect("a row");
        assert_eq!((&last["action"], &last["athlete_id"]), (&json!("read_ratings"), &json!(athlete.id())));
        coach.get(ratings(&athlete)).query("to", "2026-11-10").await.expect_problem(422, "invalid");
        // Called off, it was meant to be nothing.
        let event = format!("events/{}", events[5].1.string("event_id"));
        club.as_role("integration").patch(event, json!({ "status": "cancelled" })).if_match("*").await.expect(200);
        let read = coach.get(ratings(&athlete)).await.expect(200);
        assert_eq!(read["gap"]["sessions"], 5);
        assert_printed(&read["gap"]["mean_rpe"], "-0.6");
    }

    async fn s18_a_session_is_told_of_five_ratings(database: Database) {
        let (_server, club, squad) = u16(database).await;
        let events = practices(&squad, &[6.0, 6.0]).await;
        let silent = squad.event("2026-11-05T17:30:00+01:00", 60).await;
        let mut athletes = Vec::new();
        for (code, rpe) in ["A1", "A2", "A3", "A4", "A5"].into_iter().zip([7.0, 8.0, 7.5, 6.5, 8.5]) {
            let athlete = squad.athlete(code).await;
            athlete.session(&events[0].0, 90, rpe).await;
            athlete.session("2026-11-05T17:30:00+01:00", 60, rpe).await;
            athletes.push(athlete);
        }
        athletes[0].session(&events[1].0, 90, 4.0).await;
        let guest = club.squad("U18").await.athlete("B1").await;
        guest.session(&events[0].0, 90, 1.0).await;

        let coach = club.as_coach_of(&[&squad]);
        let path = format!("squads/{}/ratings", squad.id());
        let read = coach.get(&path).await.expect(200);
        let sessions = read["sessions"].as_array().expect("sessions");
        assert_eq!(sessions.len(), 3, "{}", read.text());
        let [first, second, third] = [0, 1, 2].map(|at| &sessions[at]);
        assert_eq!((&first["event_id"], &first["ratings"]), (&events[0].1["event_id"], &json!(5)), "not the other squad's");
        assert_printed(&first["mean_rpe"], "7.5");
        assert_printed(&first["gap_rpe"], "1.5");
        assert_printed(&first["standard_deviation_rpe"], "0.7906");
        assert_eq!((&second["ratings"], &second["mean_rpe"], &second["gap_rpe"]), (&json!(1), &Value::Null, &Value::Null));
        assert_eq!((&second["reason"], &second["intended_rpe"]), (&json!("fewer_than_5_ratings"), &json!(6.0)));
        assert_eq!((&third["event_id"], &third["reason"], &third["gap_rpe"]), (&silent["event_id"], &json!("nothing_intended"), &Value::Null));
        assert_printed(&third["mean_rpe"], "7.5");
        athletes[0].as_caller().get(&path).await.expect_problem(403, "role_may_not");
    }

    async fn s18_ratings_given_early_or_in_one_sitting(database: Database) {
        let (_server, club, squad) = u16(database).await;
        let (early, late, prompt) = (squad.athlete("E1").await, squad.athlete("E2").await, squad.athlete("E3").await);
        let mut rows = [twelve(&early, VARIED), twelve(&late, VARIED), twelve(&prompt, VARIED)].concat();
        for (place, row) in rows.iter_mut().enumerate() {
            let day = 10 + place % 12;
            match place / 12 {
                // Five minutes before the end: within what a sender's clock may be wrong by, so not refused.
                0 if place % 12 >= 6 => row["given_at"] = json!(format!("2026-10-{day}T18:25:00+02:00")),
                1 if place % 12 >= 7 => row["given_at"] = json!("2026-10-22T20:00:00+02:00"),
                _ => {}
            }
        }
        store(&club, rows).await;
        let (habits, note) = note_of(&early).await;
        assert_eq!(habits, ["before_end"]);
        assert!(note.as_str().is_some_and(|note| note.contains("before the session was over")), "{note}");
        let (habits, note) = note_of(&late).await;
        assert_eq!(habits, ["one_sitting"]);
        assert!(note.as_str().is_some_and(|note| note.contains("in one sitting")), "{note}");
        assert_eq!(note_of(&prompt).await, (Vec::new(), Value::Null));
        let read = club.as_role("coach").get(ratings(&early)).await.expect(200);
        assert_eq!(read["given_early"], 6);
    }

    async fn s18_below_twelve_it_is_said_beside_every_figure(database: Database) {
        let (_server, club, squad) = u16(database).await;
        // Twelve on the day after the list's Sunday.
        let child = squad.athlete("C1").with("birth_date", "2014-11-09").with("joined_on", "2026-10-12").await;
        let older = squad.athlete("C2").with("birth_date", "2014-11-08").with("joined_on", "2026-10-12").await;
        for athlete in [&child, &older] {
            store(&club, athlete.weeks("2026-10-12", &[3000.0, 0.0, 0.0, 3300.0])).await;
        }
        let coach = club.as_role("coach");
        let told = |answer: &Value| answer["age_note"].as_str().is_some_and(|note| note.contains("12 years"));
        let list = squad.weekly_list("2026-W45").await;
        let entries = list["entries"].as_array().expect("entries");
        assert_eq!(each(&list["entries"], "display_name"), ["C1", "C2"]);
        assert_eq!(entries.iter().map(told).collect::<Vec<_>>(), [true, false]);
        let weekly = format!("squads/{}/weeks/2026-W45", squad.id());
        let read = async |media_type: &str| {
            let sent = coach.get(&weekly).query("as_of", list.string("as_of")).header("Accept", media_type).await;
            sent.expect(200).text()
        };
        assert_same_list(&list.body, &read("text/html").await, &read("text/csv").await);

        for (path, of_child) in [("load?to=2026-11-08", true), ("load", false), ("weeks?to=2026-W45", true), ("ratings?to=2026-11-08", true)] {
            for (athlete, expected) in [(&child, of_child), (&older, false)] {
                let read = coach.get(format!("athletes/{}/{path}", athlete.id())).await.expect(200);
                assert_eq!(told(&read.body), expected, "{path}: {}", read.text());
            }
        }
        let history = |athlete: &Athlete| {
            let trainer = club.as_role("athletic_trainer");
            trainer.get(format!("athletes/{}/history?purpose=screening", athlete.id()))
        };
        assert!(told(&history(&child).await.expect(200).body), "its last day is the Sunday");
        assert!(!told(&history(&older).await.expect(200).body));
        let page = history(&child).header("Accept", "text/html").await.expect(200).text();
        assert!(page.contains("12 years"));
        let of_squad = coach.get(format!("squads/{}/ratings", squad.id())).await.expect(200);
        assert_eq!(of_squad["age_note"], Value::Null, "nothing was planned");
    }
}
