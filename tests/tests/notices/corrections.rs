//! What is told of a week: that it was closed, once, and that it was corrected after.

use crate::*;

/// The type and data of each message, in the order of arrival.
fn told(receiver: &Receiver) -> Vec<(String, Value)> {
    let body = |message: e2e::Message| serde_json::from_str::<Value>(&message.body).expect("JSON");
    let bodies = receiver.messages().into_iter().map(body);
    bodies
        .map(|body| {
            (
                body["type"].as_str().expect("a type").to_owned(),
                body["data"].clone(),
            )
        })
        .collect()
}

on_both_databases! {
    async fn a_close_and_a_correction_are_told_of_once_each(database: Database) {
        let mut server = setup(database).start().await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let receiver = Receiver::taking().await;
        endpoint(&club.as_role("club_admin"), &receiver).await;
        let athlete = club.squad("U16").await.athlete("P-12").with("joined_on", "2026-10-19").await;
        club.bulk(athlete.weeks("2026-10-19", &[1380.0, 1380.0, 1530.0])).await.expect(200);
        server.restart_at("2026-11-15T20:00:00+01:00").await;
        let spike = athlete.session("2026-11-09T17:30:00+01:00", 288, 10.0).await;
        server.restart_at("2026-11-16T07:00:00+01:00").await;
        receiver.wait_for(1).await;
        let closed = told(&receiver).remove(0);
        assert_eq!((closed.0.as_str(), &closed.1["week"], &closed.1["late"]), ("plimsoll.week_closed", &json!("2026-W46"), &json!(false)));

        // She had typed 10 for 6: the flag falls, and that is told with the flag's id, not with a figure.
        let staff = club.as_role("integration");
        let path = format!("sessions/{}", spike.string("session_id"));
        staff.patch(&path, json!({ "rpe": 6 })).if_match(spike.etag()).await.expect(200);
        receiver.wait_for(2).await;
        let corrected = told(&receiver).remove(1);
        let flags = club.as_role("coach").get("flags").query("week", "2026-W46").await.expect(200);
        let flag = &flags["items"][0];
        assert_eq!((corrected.0.as_str(), &flag["state"]), ("plimsoll.week_corrected", &json!("withdrawn")));
        assert_eq!(corrected.1["flags"][0]["flag_id"], flag["flag_id"]);
        // Nothing more comes of looking again, nor of a change that moves no flag.
        staff.patch(&path, json!({ "note": "as she said" })).if_match("*").await.expect(200);
        server.restart_at("2026-11-16T07:30:00+01:00").await;
        athlete.session("2026-11-16T06:00:00+01:00", 30, 3.0).await;
        tokio::time::sleep(Duration::from_secs(2)).await;
        assert_eq!(told(&receiver).len(), 2);
    }
}
