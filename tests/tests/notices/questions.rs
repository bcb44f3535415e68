//! A question to the strength coaches is told to who wants to hear of it, and nothing of what it says.

use e2e::{Athlete, Club};

use crate::*;

/// Asks as an athlete about a session of hers, where something hurts or not.
async fn ask(athlete: &Athlete, session: &Answer, text: &str, hurts: bool) -> Answer {
    let about = json!({ "session_id": session.string("session_id") });
    let body = json!({ "text": text, "hurts": hurts, "about": about });
    let path = format!("athletes/{}/questions", athlete.id());
    athlete.as_caller().post(path, body).await.expect(201)
}

/// Names an endpoint that hears of questions, of some squads alone where some are named, and waits until it is confirmed.
async fn hearing(club: &Club, receiver: &Receiver, squads: &[&str]) {
    let admin = club.as_role("club_admin");
    let body = json!({ "url": receiver.url(), "questions": true, "squads": squads });
    let made = admin.post("notice-endpoints", body).await.expect(201);
    once(&admin, &made, |endpoint| {
        endpoint["confirmed_at"].is_string()
    })
    .await;
}

on_both_databases! {
    async fn a_question_is_told_to_who_wants_to_hear_of_its_squad(database: Database) {
        let server = setup(database).start().await;
        let club = server.club("Havneby Handball").await;
        let (squad, elsewhere) = (club.squad("U16").await, club.squad("U18").await);
        let athlete = squad.athlete("Ingrid Solheim").await;
        let (hears, other, deaf) = (Receiver::taking().await, Receiver::taking().await, Receiver::taking().await);
        hearing(&club, &hears, &[squad.id()]).await;
        hearing(&club, &other, &[elsewhere.id()]).await;
        let admin = club.as_role("club_admin");
        let quiet = endpoint(&admin, &deaf).await;

        let session = athlete.session("2026-11-05T17:30:00+01:00", 60, 6.0).await;
        let plain = ask(&athlete, &session, "Both legs before I rest?", false).await;
        let path = format!("athletes/{}/questions", athlete.id());
        athlete.as_caller().post(&path, json!({})).await.expect_problem(422, "invalid");
        let hurting = ask(&athlete, &session, "My knee hurts, do I carry on?", true).await;
        let messages = hears.wait_for(2).await;
        let mut told: Vec<Value> = messages.iter().map(|one| serde_json::from_str(&one.body).expect("JSON")).collect();
        for (message, event) in messages.iter().zip(&told) {
            assert_eq!(event["type"], "plimsoll.question_asked");
            let data = &event["data"];
            let href = format!("/v1/clubs/{}/questions?open=true", club.id());
            assert_eq!((&data["href"], &data["squads"]), (&json!(href), &json!([])));
            for said in ["legs", "knee", "hurt", "Ingrid", athlete.id(), &plain.string("question_id"), &hurting.string("question_id")] {
                assert!(!message.body.contains(said), "{said}: {}", message.body);
            }
        }
        // Nothing tells the one where something hurts from the other.
        for event in &mut told {
            let event = event.as_object_mut().expect("an object");
            event.retain(|field, _| field != "id" && field != "time");
        }
        assert_eq!(told[0], told[1]);
        let coach = club.as_role("strength_coach");
        assert_eq!(coach.get(told[0]["data"]["href"].as_str().expect("a link")).await.expect(200)["items"].as_array().map(Vec::len), Some(2));
        let listed = admin.get("notices").await.expect(200);
        let asked = listed["items"].as_array().expect("items").iter().filter(|one| one["kind"] == "question_asked");
        assert_eq!(asked.count(), 2, "{}", listed.text());
        try_out(&admin, &quiet).await;
        deaf.wait_for(1).await;
        let heard = |receiver: &Receiver| receiver.messages().iter().filter(|one| one.body.contains("question")).count();
        assert_eq!((heard(&other), heard(&deaf)), (0, 0));
    }

    async fn it_can_be_asked_for_and_given_up(database: Database) {
        let server = setup(database).start().await;
        let club = server.club("Havneby Handball").await;
        let receiver = Receiver::taking().await;
        let admin = club.as_role("club_admin");
        let made = endpoint(&admin, &receiver).await;
        let path = format!("notice-endpoints/{}", made.string("endpoint_id"));
        for (wanted, said) in [(json!(true), true), (json!(null), false)] {
            let patched = admin.patch(&path, json!({ "questions": wanted })).if_match("*").await.expect(200);
            assert_eq!((&patched["questions"], &patched["confirmed_at"].is_string()), (&json!(said), &true));
        }
    }
}
