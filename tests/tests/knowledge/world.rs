//! A club with a season behind it, everything that can be read of its figures, and random writes.

use jiff::ToSpan;

use crate::*;

const PROGRAMME: &str = "programmes/0199a1b2-7c3d-7e4f-8a5b-520000000009";
const ASSIGNMENT: &str = "0199a1b2-7c3d-7e4f-8a5b-52000000000a";

pub(crate) struct World {
    _server: Server,
    club: Club,
    squads: [Squad; 2],
    athletes: [Athlete; 3],
}

impl World {
    /// Ten weeks of practices and reports; the weeks are closed up to the last but one.
    pub(crate) async fn prepare(database: Database) -> Self {
        let server = Server::start(database).await;
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let squads = [club.squad("U16").await, club.squad("U18").await];
        let athletes = [
            squads[0]
                .athlete("P-01")
                .with("joined_on", "2026-08-31")
                .await,
            squads[0]
                .athlete("P-02")
                .with("joined_on", "2026-08-31")
                .await,
            squads[1]
                .athlete("P-03")
                .with("joined_on", "2026-10-05")
                .await,
        ];
        let world = Self {
            _server: server,
            club,
            squads,
            athletes,
        };
        world.fill().await;
        for week in ["2026-W43", "2026-W44"] {
            world._server.close_week(week);
        }
        world
    }

    async fn fill(&self) {
        let mut chance = Chance::new(77);
        let mut reports = Vec::new();
        for week in 0..10 {
            for (squad, weekday) in [(0, 1), (0, 3), (1, 2)] {
                let day = jiff::civil::date(2026, 8, 31) + (7 * week + weekday).days();
                let start = format!("{day}T17:30:00+01:00");
                let event = self.squads[squad]
                    .event(&start, 90)
                    .with("external_id", format!("hall-{squad}-{day}"));
                event.await;
                for athlete in &self.athletes {
                    if chance.below(10) < 7 {
                        let (minutes, half) = (60 + chance.below(40), 6 + chance.below(10));
                        let minutes = u32::try_from(minutes).expect("few minutes");
                        reports.push(
                            athlete
                                .session(&start, minutes, half as f64 / 2.0)
                                .into_body(),
                        );
                    }
                }
            }
        }
        self.club.bulk(reports).await.expect(200);
        self.programme(45).await.expect(201);
        let squad = json!({ "squad_id": self.squads[0].id(), "from": "2026-10-05" });
        let path = format!("{PROGRAMME}/assignments/{ASSIGNMENT}");
        let coach = self.club.as_role("strength_coach");
        coach.put(path, squad).await.expect(201);
    }

    /// Enters a programme of a session a week, or another version of it.
    async fn programme(&self, minutes: u64) -> Answer {
        let session = json!({ "setting": "prescribed_home", "kind": "strength", "minutes": minutes, "intended_rpe": 5 });
        let week = json!({ "days": [{ "day": "tuesday", "sessions": [session] }] });
        let body =
            json!({ "name": "At home", "blocks": [{ "name": "One", "weeks": vec![week; 8] }] });
        self.put(PROGRAMME, body).await
    }

    /// Gives a squad or an athlete the programme, as it is by then, or takes that back.
    async fn assign(&self, chance: &mut Chance) -> Answer {
        let path = format!("{PROGRAMME}/assignments/{ASSIGNMENT}");
        match chance.below(3) {
            0 => {
                let coach = self.club.as_role("strength_coach");
                coach.delete(path).if_match("*").await
            }
            1 => self.programme(30 + chance.below(60)).await,
            _ => {
                let from = *chance.of(&["2026-10-05", "2026-10-12", "2026-10-19"]);
                let athlete = json!({ "athlete_id": chance.of(&self.athletes).id(), "from": from });
                let squad = json!({ "squad_id": chance.of(&self.squads).id(), "from": from });
                let whom = chance.of(&[athlete, squad]).clone();
                self.put(&path, whom).await
            }
        }
    }

    /// Puts what may be there or not.
    async fn put(&self, path: &str, body: Value) -> Answer {
        let coach = self.club.as_role("strength_coach");
        let put = coach.put(path, body.clone()).await;
        match put.status {
            428 => coach.put(path, body).if_match("*").await,
            _ => put,
        }
    }

    /// Who may read a path: a history takes a clinician.
    pub(crate) fn reader(&self, path: &str) -> Client {
        let role = if path.contains("/history") {
            "athletic_trainer"
        } else {
            "coach"
        };
        self.club.as_role(role)
    }

    /// Every read of figures.
    pub(crate) fn reads(&self) -> Vec<String> {
        let of_athlete = |athlete: &Athlete| {
            let id = athlete.id();
            [
                format!("athletes/{id}/load?from=2026-08-25&to=2026-11-09"),
                format!("athletes/{id}/load?from=2026-10-20&to=2026-11-08&setting=club"),
                format!("athletes/{id}/weeks?from=2026-W36&to=2026-W45&explain=true"),
                format!("athletes/{id}/history?purpose=screening"),
                format!("athletes/{id}/ratings?from=2026-08-31&to=2026-11-08"),
                format!("athletes/{id}/availability?date=2026-11-04"),
                format!("athletes/{id}/margin?rpe=5"),
                format!("athletes/{id}/hours"),
                format!("athletes/{id}/contacts?from=2026-09-07&to=2026-11-08"),
                format!("athletes/{id}/neuromuscular-dose?from=2026-W36&to=2026-W45"),
                format!("athletes/{id}/programme/adherence?from=2026-10-05&to=2026-11-08"),
            ]
        };
        let lists = self.squads.iter().flat_map(|squad| {
            [
                "weeks/2026-W44",
                "weeks/2026-W45",
                "weeks/2026-W45/look-ahead?explain=true",
                "weeks/2026-W44/summary",
                "today?explain=true",
                "neuromuscular-dose?from=2026-W36&to=2026-W45",
                "ratings?from=2026-10-01&to=2026-11-08",
            ]
            .map(|read| format!("squads/{}/{read}", squad.id()))
        });
        self.athletes
            .iter()
            .flat_map(of_athlete)
            .chain(lists)
            .collect()
    }

    /// A random write, and what it was.
    pub(crate) async fn write(&self, chance: &mut Chance) -> (String, Answer) {
        let (name, answer) = match chance.below(25) {
            0..=2 => ("report", self.report(chance).await),
            3 | 4 => ("amend", self.amend(chance).await),
            5 => (
                "delete a report",
                self.remove("sessions", "session_id", chance).await,
            ),
            6 | 7 => ("event", self.plan(chance).await),
            8 => ("change an event", self.change_event(chance).await),
            9 => (
                "delete an event",
                self.remove("events", "event_id", chance).await,
            ),
            10 | 11 => ("attendance", self.attend(chance).await),
            12 => ("rest or absence", self.stay_away(chance).await),
            13 => ("membership", self.join(chance).await),
            14 => ("policy", self.adopt(chance).await),
            16 => ("test", self.test(chance).await),
            17 => (
                "take a test back",
                self.take_back("tests", "test_result_id", chance).await,
            ),
            18 => ("injury", self.hurt(chance).await),
            19 | 20 => ("counts", self.count(chance).await),
            21 => ("sign-off", self.sign_off(chance).await),
            15 => ("first membership date", self.rejoin(chance).await),
            22 | 23 => ("assignment", self.assign(chance).await),
            _ => ("declared history", self.declare(chance).await),
        };
        (name.to_owned(), answer)
    }

    fn app(&self) -> Client {
        self.club.as_role("integration")
    }

    async fn report(&self, chance: &mut Chance) -> Answer {
        let athlete = chance.of(&self.athletes);
        let minutes = *chance.of(&[45, 60, 75, 90, 120]);
        let rpe = chance.below(21) as f64 / 2.0;
        let report = athlete.session(&chance.start(), minutes, rpe);
        let setting = *chance.of(&["club", "club", "school_team", "private"]);
        let client = *chance.of(&["plimsoll-cli", "watch-app"]);
        let sender = self
            .club
            .client(e2e::Identity::role("integration").client(client));
        sender
            .post("sessions", report.with("setting", setting).into_body())
            .await
    }

    async fn amend(&self, chance: &mut Chance) -> Answer {
        let patch = match chance.below(3) {
            0 => json!({ "rpe": chance.below(11), "reason": "typed wrongly" }),
            1 => {
                json!({ "minutes": 30 + chance.below(60), "reason": "left early", "basis": "took_part" })
            }
            _ => {
                json!({ "started_at": chance.start(), "reason": "another day", "given_at": "2026-11-08T22:00:00Z" })
            }
        };
        let id = self.any("sessions", "session_id", chance).await;
        self.app()
            .patch(format!("sessions/{id}"), patch)
            .if_match("*")
            .await
    }

    /// Counts what was in a session, or takes that back.
    async fn count(&self, chance: &mut Chance) -> Answer {
        let id = self.any("sessions", "session_id", chance).await;
        let path = format!("sessions/{id}/contacts");
        if chance.below(4) == 0 {
            return self.app().delete(path).if_match("*").await;
        }
        let landings = json!({ "both_feet": chance.below(90), "left_foot": chance.below(60), "right_foot": 40 });
        let landings = *chance.of(&[&landings, &Value::Null]);
        let counts =
            json!({ "landings": landings, "throws": chance.below(90), "basis": "counted" });
        let counted = self.app().put(&path, counts.clone()).await;
        match counted.status {
            428 => self.app().put(&path, counts).if_match("*").await,
            _ => counted,
        }
    }

    async fn plan(&self, chance: &mut Chance) -> Answer {
        let minutes = *chance.of(&[60, 75, 90]);
        let event = chance.of(&self.squads).event(&chance.start(), minutes);
        let named = chance.of(&self.athletes);
        let named = if chance.below(3) == 0 {
            json!([named.id()])
        } else {
            json!([])
        };
        event.with("athletes", named).into_request().await
    }

    async fn change_event(&self, chance: &mut Chance) -> Answer {
        let patch = match chance.below(4) {
            0 => json!({ "status": "cancelled" }),
            1 => json!({ "status": "moved", "starts_at": chance.start() }),
            2 => json!({ "minutes": 30 + chance.below(90) }),
            _ => json!({ "squads": [chance.of(&self.squads).id()] }),
        };
        let id = self.any("events", "event_id", chance).await;
        self.app()
            .patch(format!("events/{id}"), patch)
            .if_match("*")
            .await
    }

    async fn attend(&self, chance: &mut Chance) -> Answer {
        let entry = json!({
            "event_id": self.any("events", "event_id", chance).await,
            "athlete_id": chance.of(&self.athletes).id(),
            "status": chance.of(&["present", "partial", "absent", "unknown"]),
            "confirmed": false,
        });
        self.app().post("attendance", entry).await
    }

    async fn stay_away(&self, chance: &mut Chance) -> Answer {
        let athlete = chance.of(&self.athletes);
        let day = chance.day();
        if chance.below(2) == 0 {
            return athlete.rest(&day.to_string()).into_request().await;
        }
        let to = day + i64::try_from(chance.below(20)).expect("few days").days();
        let absence = json!({ "athlete_id": athlete.id(), "from": day.to_string(), "to": to.to_string(), "category": "holiday" });
        self.app().post("absences", absence).await
    }

    async fn test(&self, chance: &mut Chance) -> Answer {
        let test = *chance.of(&["single_hop_distance", "timed_6m_hop"]);
        let least = if test == "timed_6m_hop" { 1.5 } else { 110.0 };
        let trial = |chance: &mut Chance| least * (1.0 + chance.below(20) as f64 / 100.0);
        let trials = [trial(chance), trial(chance)].map(|trial| (trial * 100.0).round() / 100.0);
        let result = json!({
            "athlete_id": chance.of(&self.athletes).id(), "test": test, "trials": trials,
            "side": chance.of(&["left", "right"]), "phase": chance.of(&["pre", "post", "post"]),
            "tested_on": chance.day().to_string(), "tester": "Runa F.",
        });
        self.trainer().post("tests", result).await
    }

    async fn hurt(&self, chance: &mut Chance) -> Answer {
        if chance.below(3) == 0 {
            return self.take_back("injuries", "injury_id", chance).await;
        }
        let injury = json!({
            "athlete_id": chance.of(&self.athletes).id(), "side": chance.of(&["left", "right", "both"]),
            "injured_on": chance.day().to_string(),
        });
        self.trainer().post("injuries", injury).await
    }

    /// Signs a technique off, or withdraws that.
    async fn sign_off(&self, chance: &mut Chance) -> Answer {
        let list = format!("athletes/{}/sign-offs", chance.of(&self.athletes).id());
        let coach = self.club.as_role("coach");
        // Few ids, so that one is met again.
        let path = format!(
            "{list}/0199a1b2-7c3d-7e4f-8a5b-51000000000{}",
            chance.below(9)
        );
        if chance.below(3) == 0 {
            let withdrawal = coach.delete(path).if_match("*");
            return withdrawal
                .body("application/json", r#"{"reason": "another athlete's"}"#)
                .await;
        }
        let watched = json!({
            "exercise": chance.of(&["squat", "squat", "split_squat", "hip_hinge"]), "signed_on": chance.day().to_string(),
            "seen_in_person": true,
        });
        coach.put(path, watched).await
    }

    fn trainer(&self) -> Client {
        self.club.as_role("athletic_trainer")
    }

    async fn take_back(&self, list: &str, id: &str, chance: &mut Chance) -> Answer {
        let listed = self
            .trainer()
            .get(list)
            .query("limit", 500)
            .await
            .expect(200);
        let items = listed["items"].as_array().expect("items");
        let id = match items.is_empty() {
            true => e2e::FREE_ID,
            false => chance.of(items)[id].as_str().expect("an id"),
        };
        let path = format!("{list}/{id}");
        self.trainer().delete(path).if_match("*").await
    }

    async fn join(&self, chance: &mut Chance) -> Answer {
        let members = format!("squads/{}/members", chance.of(&self.squads).id());
        if chance.below(3) == 0 {
            return self.remove(&members, "membership_id", chance).await;
        }
        let from = chance.day();
        let to = from + i64::try_from(chance.below(30)).expect("few days").days();
        let guest = json!({
            "athlete_id": chance.of(&self.athletes).id(), "role": "guest",
            "from": from.to_string(), "to": to.to_string(),
        });
        self.app().post(&members, guest).await
    }

    async fn adopt(&self, chance: &mut Chance) -> Answer {
        let mut rules = example_rules();
        rules[0]["limit"] = json!(1.3 + chance.below(9) as f64 / 10.0);
        let midnight = *chance.of(&["start_date", "split"]);
        let policy = self
            .club
            .example_policy()
            .with("rules", rules)
            .with("midnight", midnight);
        policy
            .with("effective_from", "2026-11-09")
            .into_request()
            .if_match("*")
            .await
    }

    async fn rejoin(&self, chance: &mut Chance) -> Answer {
        let path = format!("athletes/{}", chance.of(&self.athletes).id());
        let patch = json!({ "joined_on": chance.day().to_string() });
        self.app().patch(path, patch).if_match("*").await
    }

    async fn declare(&self, chance: &mut Chance) -> Answer {
        let path = format!(
            "athletes/{}/declared-history",
            chance.of(&self.athletes).id()
        );
        let minutes = 100 + chance.below(200);
        let week = json!({ "weekly_minutes": { "low": minutes, "high": 400 }, "rpe": { "low": 4, "high": 6 } });
        self.app().post(path, week).await
    }

    async fn remove(&self, list: &str, id: &str, chance: &mut Chance) -> Answer {
        let path = format!("{list}/{}", self.any(list, id, chance).await);
        let removal = self.app().delete(path).if_match("*");
        if list == "sessions" {
            return removal
                .body("application/json", r#"{"reason": "entered twice"}"#)
                .await;
        }
        removal.await
    }

    /// The id of one of the records of a list.
    async fn any(&self, list: &str, id: &str, chance: &mut Chance) -> String {
        let listed = loop {
            let listed = self.app().get(list).query("limit", 500).await;
            if listed.status != 503 {
                break listed.expect(200);
            }
        };
        let items = listed["items"].as_array().expect("items");
        match items.is_empty() {
            true => e2e::FREE_ID.to_owned(),
            false => chance.of(items)[id].as_str().expect("an id").to_owned(),
        }
    }
}
