//! How long a club keeps what of athletes who have left: terms, holds, and nights on which what is due is erased and nothing else.

use e2e::{Athlete, Client, Club, Database, Server, Squad, on_both_databases};
use serde_json::{Value, json};

mod job;
mod runs;
mod settings;
mod tables;

/// What a club of these tests is made with.
struct World {
    server: Server,
    club: Club,
    squad: Squad,
    lead: Client,
}

/// The last day of those who leave; a term of ten days is over on 11 November.
const LEFT: &str = "2026-10-31";

impl World {
    async fn new(server: Server) -> Self {
        let club = server.club("HK Nordvang").await;
        Self {
            squad: club.squad("U18").await,
            lead: club.as_role("privacy_lead"),
            club,
            server,
        }
    }

    async fn start(database: Database) -> Self {
        Self::new(Server::start(database).await).await
    }

    /// An athlete with a report, a day of rest and an absence in October.
    async fn athlete(&self, code: &str) -> Athlete {
        let athlete = self.squad.athlete(code).await;
        for day in ["2026-10-05", "2026-10-06"] {
            let start = format!("{day}T17:30:00+02:00");
            athlete.session(&start, 90, 6.0).await;
        }
        athlete.rest("2026-10-07").await;
        let away = json!({ "athlete_id": athlete.id(), "from": "2026-10-12", "to": "2026-10-14", "category": "holiday" });
        let app = self.club.as_role("integration");
        app.post("absences", away).await.expect(201);
        athlete
    }

    /// An athlete as above whose membership ended.
    async fn leaver(&self, code: &str) -> Athlete {
        let athlete = self.athlete(code).await;
        self.ends(&athlete, Some(LEFT)).await;
        athlete
    }

    /// Says when her membership ends.
    async fn ends(&self, athlete: &Athlete, on: Option<&str>) {
        let members = format!("squads/{}/members", self.squad.id());
        let admin = self.club.as_role("club_admin");
        let list = admin
            .get(&members)
            .query("on", "2026-10-05")
            .await
            .expect(200);
        let items = list["items"].as_array().expect("items").iter();
        let mut hers = items.filter(|one| one["athlete_id"] == athlete.id());
        let id = hers.next().expect("a membership")["membership_id"].clone();
        let path = format!("{members}/{}", id.as_str().expect("an id"));
        let patch = admin.patch(path, json!({ "to": on })).if_match("*");
        patch.await.expect(200);
    }

    async fn terms(&self, terms: &[(&str, u32)]) {
        let terms = terms.iter();
        let terms =
            terms.map(|(class, days)| json!({ "class": class, "days_after_leaving": days }));
        let settings = json!({ "record_regime": "club", "terms": terms.collect::<Vec<_>>(), "source_note": "club board" });
        let put = self.lead.put("retention", settings).if_match("*");
        put.await.expect(200);
    }

    async fn hold(&self, athlete: &Athlete, body: Value) -> String {
        let list = format!("athletes/{}/holds", athlete.id());
        let held = self.lead.post(list, body).await.expect(201);
        held.string("hold_id")
    }

    async fn due(&self) -> Value {
        self.lead.get("retention/due").await.expect(200).body
    }

    /// Runs the command on a morning, and what it said of the club.
    fn run(&self, day: &str, more: &[&str]) -> String {
        let clock = format!("{day}T08:00:00+01:00");
        let arguments = [&["retention", "run", "--club", self.club.id()], more].concat();
        let output = self
            .server
            .run_with(&[("PLIMSOLL_CLOCK", &clock)], &arguments);
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
        let said = String::from_utf8(output.stdout).expect("UTF-8");
        let said = said.trim().strip_prefix(self.club.id());
        said.expect("a line about the club").trim().to_owned()
    }

    /// How many reports of an athlete the trainer reads.
    async fn reports(&self, athlete: &Athlete) -> usize {
        let trainer = self.club.as_role("athletic_trainer");
        let list = trainer.get("sessions").query("athlete", athlete.id());
        let list = list.await.expect(200);
        list["items"].as_array().expect("items").len()
    }
}

/// Whose records are due, with what goes with the next run.
fn going(due: &Value) -> Vec<(String, Vec<String>)> {
    let text = |value: &Value| value.as_str().expect("a text").to_owned();
    let items = due["items"].as_array().expect("items").iter();
    let of_one = |item: &Value| {
        let goes = item["goes_next"].as_array().expect("a list").iter();
        (text(&item["athlete_id"]), goes.map(text).collect())
    };
    items.map(of_one).collect()
}
