//! The clock: who moves it, how far, and what is done on the way.

use crate::*;

#[tokio::test]
async fn a_clock_goes_forward_alone_and_nothing_is_sent() {
    let (server, _files) = service(Database::Sqlite).await;
    let live = server.club("Fjordby Handball").await;
    let sandbox = Sandbox::make(&server, json!({ "seed": 3, "date": "2026-11-25" })).await;
    let admin = sandbox.as_role("club_admin");
    let looks = json!({ "enabled": true, "weekday": "thursday", "time": "18:00" });
    let looks = admin.put(sandbox.path("look-ahead"), looks).if_match("*");
    looks.await.expect(200);
    let hook = json!({ "url": "https://club.example.org/plimsoll" });
    let hook = admin.post(sandbox.path("notice-endpoints"), hook).await;
    hook.expect(201);

    for (given, code) in [
        (
            json!({ "now": "2026-11-25T05:59:59Z" }),
            "clock_out_of_range",
        ),
        (
            json!({ "now": "2027-11-24T06:00:01Z" }),
            "clock_out_of_range",
        ),
        (json!({ "now": "Monday" }), "invalid_instant"),
        (json!({}), "missing_field"),
        (
            json!({ "now": "2026-11-26T00:00:00Z", "by": 1 }),
            "unknown_field",
        ),
    ] {
        let refused = admin.put(sandbox.path("clock"), given).await;
        let refused = refused.expect_problem(422, "invalid");
        assert_eq!(refused["errors"][0]["code"], code, "{}", refused.text());
    }
    let to = json!({ "now": "2026-11-30T08:00:00+01:00" });
    let trial = admin.put(sandbox.path("clock"), to.clone()).dry_run().await;
    let trial = trial.expect(200);
    let stands = sandbox.read("guardian", "clock").await.expect(200);
    assert_eq!(stands["now"], "2026-11-25T06:00:00Z");
    let real = admin
        .put(sandbox.path("clock"), to.clone())
        .await
        .expect(200);
    assert_eq!(real.bytes, trial.bytes);
    assert_eq!(real["furthest"], "2027-11-29T07:00:00Z");

    // The look-ahead of Thursday and the close of Monday, in that order, each at its time.
    let notices = admin.get(sandbox.path("notices")).await.expect(200);
    let mut told: Vec<(String, String)> = notices["items"]
        .as_array()
        .expect("notices")
        .iter()
        .map(|notice| {
            let text = |name: &str| notice[name].as_str().expect("a text").to_owned();
            (text("at"), text("kind"))
        })
        .filter(|(at, kind)| at.as_str() > "2026-11-26" && kind != "challenge")
        .collect();
    told.sort();
    let kinds: Vec<_> = told
        .iter()
        .map(|(at, kind)| (&at[..16], kind.as_str()))
        .collect();
    assert_eq!(
        kinds,
        [
            ("2026-11-26T17:00", "look_ahead"),
            ("2026-11-30T06:00", "week_closed")
        ]
    );
    let mut listed = notices["items"].as_array().expect("notices").iter();
    let notice = listed.find(|notice| notice["kind"] == "week_closed");
    let id = &notice.expect("a close")["notice_id"];
    let id = id.as_str().expect("an id");
    let fared = admin
        .get(sandbox.path(&format!("notices/{id}/deliveries")))
        .await;
    let fared = fared.expect(200);
    assert_eq!(
        (&fared["items"][0]["state"], &fared["items"][0]["attempts"]),
        (&json!("pending"), &json!([]))
    );

    // Who may, and a live club, which has no such clock.
    for role in ["coach", "athletic_trainer", "guardian", "privacy_lead"] {
        let refused = sandbox
            .as_role(role)
            .put(sandbox.path("clock"), to.clone())
            .await;
        refused.expect_problem(403, "role_may_not");
    }
    let none = live.as_role("club_admin");
    none.get("clock").await.expect_problem(404, "not_found");
    let none = none.put("clock", json!({ "now": "never" })).await;
    none.expect_problem(404, "not_found");
    live.as_role("coach")
        .put("clock", to)
        .await
        .expect_problem(403, "role_may_not");
}
