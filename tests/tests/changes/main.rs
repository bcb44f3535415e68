//! A program that follows a club by what the list of changes tells it, and by nothing else, knows what the club holds.

use std::collections::{BTreeMap, BTreeSet};

use e2e::{Client, Club, Server, Squad, many, on_both_databases};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use serde_json::{Value, json};

mod histories;
mod pages;

/// The roster app's copy of a club: what stands at each link.
#[derive(Default)]
pub(crate) struct Copy {
    after: Option<String>,
    records: BTreeMap<String, Value>,
    /// The kinds of changes that it was told of.
    kinds: BTreeSet<String>,
}

impl Copy {
    /// Asks for what has changed since it last asked, pages of this size, and reads each record again.
    pub(crate) async fn follow(&mut self, app: &Client, limit: usize) {
        loop {
            let mut asked = app.get("changes").query("limit", limit);
            if let Some(after) = &self.after {
                asked = asked.query("after", after);
            }
            let page = asked.await.expect(200);
            for change in page["items"].as_array().expect("items") {
                self.learn(app, change).await;
            }
            self.after = page["next"].as_str().map(str::to_owned);
            if page["more"] == false {
                return;
            }
        }
    }

    async fn learn(&mut self, app: &Client, change: &Value) {
        let href = change["href"].as_str().expect("a link");
        self.kinds
            .insert(change["kind"].as_str().expect("a kind").to_owned());
        if change["kind"] == "question" {
            // All that a program knows of one.
            app.get(href).await.expect_problem(403, "role_may_not");
            self.records
                .insert(href.to_owned(), change["question"].clone());
            return;
        }
        assert_eq!(change["question"], Value::Null, "{change}");
        let found = app.get(href).await;
        if found.status == 404 {
            self.records.remove(href);
        } else {
            assert_eq!(found.status, 200, "{href}: {}", found.text());
            self.records.insert(href.to_owned(), own(found.body));
        }
        if change["kind"] == "erasure" {
            let id = change["id"].as_str().expect("an id");
            self.records.retain(|_, record| record["athlete_id"] != id);
        }
    }
}

/// A record without what other records make of it: what a session counts as beside others, which squads an athlete is in, and how
/// a member is called.
fn own(mut record: Value) -> Value {
    if let Value::Object(members) = &mut record {
        for derived in [
            "counted",
            "warnings",
            "event_id",
            "can_change_until",
            "squads",
        ] {
            members.remove(derived);
        }
        if members.contains_key("membership_id") {
            members.remove("display_name");
            members.remove("external_id");
        }
    }
    record
}

/// What a club holds, by link, as its lists tell it; of these programmes, which may have been removed, who does them.
pub(crate) async fn held(
    app: &Client,
    club: &Club,
    squads: &[Squad],
    programmes: &[String],
) -> BTreeMap<String, Value> {
    let base = format!("/v1/clubs/{}", club.id());
    let mut held = BTreeMap::new();
    let mut lists = vec![
        ("athletes".to_owned(), "athlete_id"),
        ("squads".to_owned(), "squad_id"),
        ("events".to_owned(), "event_id"),
        ("attendance".to_owned(), "attendance_id"),
        ("sessions".to_owned(), "session_id"),
        ("rest-days".to_owned(), "rest_day_id"),
        ("absences".to_owned(), "absence_id"),
        ("flags".to_owned(), "flag_id"),
        ("programmes".to_owned(), "programme_id"),
    ];
    lists.extend(
        programmes
            .iter()
            .map(|programme| (format!("{programme}/assignments"), "assignment_id")),
    );
    lists.extend(
        squads
            .iter()
            .map(|squad| (format!("squads/{}/members", squad.id()), "membership_id")),
    );
    for (list, id) in lists {
        let mut asked = app.get(&list).query("limit", 500);
        if ["events", "sessions", "rest-days", "absences"].contains(&list.as_str()) {
            asked = asked.query("from", "2026-01-01").query("to", "2026-12-31");
        }
        let page = asked.await.expect(200);
        assert!(page["next"].is_null(), "{list} has a second page");
        for item in page["items"].as_array().expect("items") {
            let href = format!("{base}/{list}/{}", item[id].as_str().expect("an id"));
            let found = app.get(&href).await.expect(200);
            let beside = match list.as_str() {
                "sessions" => Some(format!("{href}/contacts")),
                "events" => Some(format!("{href}/warm-up")),
                _ => None,
            };
            if let Some(beside) = beside {
                let said = app.get(&beside).await;
                if said.status == 200 {
                    held.insert(beside, own(said.body));
                }
            }
            held.insert(href, own(found.body));
        }
    }
    let asked = club
        .as_role("strength_coach")
        .get("questions")
        .query("limit", 500);
    for question in asked.await.expect(200)["items"].as_array().expect("items") {
        let href = format!(
            "{base}/questions/{}",
            question["question_id"].as_str().expect("an id")
        );
        let state = match (&question["is_open"], &question["reply"]) {
            (Value::Bool(true), _) => "open",
            (_, Value::Null) => "closed",
            _ => "answered",
        };
        held.insert(
            href,
            json!({ "athlete_id": question["athlete_id"], "state": state }),
        );
    }
    let policy = app.get("policy").await;
    if policy.status == 200 {
        held.insert(format!("{base}/policy"), own(policy.body));
    }
    held
}
