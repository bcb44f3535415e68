//! A write of every kind, with content that is accepted: for trials, and to be spoilt by tests of bad input.

use serde_json::{Value, json};

use crate::club::{Athlete, Club, Squad};
use crate::directory;
use crate::document::Operation;
use crate::identity::Identity;
use crate::opened::Page;
use crate::request::{Client, Request};
use crate::server::Server;

/// An id that nothing has.
pub const FREE_ID: &str = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";

/// Ids of sign-offs, which their makers choose.
const SIGN_OFFS: [&str; 2] = [
    "0199a1b2-7c3d-7e4f-8a5b-510000000001",
    "0199a1b2-7c3d-7e4f-8a5b-510000000002",
];

/// Ids of assignments, which their makers choose: the squad's, and her own, to be taken back.
const ASSIGNMENTS: [&str; 2] = [
    "0199a1b2-7c3d-7e4f-8a5b-520000000001",
    "0199a1b2-7c3d-7e4f-8a5b-520000000002",
];

/// A club in which every kind of record exists. What a write changes or removes is a record of its own.
pub struct Writes {
    club: Club,
    squad: Squad,
    athlete: Athlete,
    /// To be erased.
    leaver: Athlete,
    /// To be changed, and to be removed.
    sessions: [String; 2],
    /// Whose counts are to be taken back.
    counted: String,
    /// To be changed, and to be removed.
    memberships: [String; 2],
    rest_day: String,
    absence: String,
    /// To be read and assigned, and to be removed. About nobody: every coach of the club reaches them.
    programmes: [String; 2],
    test_result: String,
    injury: String,
    pain_report: String,
    /// The trainer's, and one to be removed.
    licences: [String; 2],
    /// To be changed, and to be removed.
    restrictions: [String; 2],
    clearance: String,
    /// To be withdrawn.
    consent: String,
    /// To be taken off the list.
    link_elsewhere: String,
    /// To be lifted.
    hold: String,
    /// To be changed, and to be removed.
    events: [String; 2],
    attendance: String,
    /// To be changed, and to be removed.
    calendars: [String; 2],
    /// To be changed, and to be removed.
    sources: [String; 2],
    /// Of two people whom a roster named.
    second_copy: String,
    /// To be changed, and to be removed.
    users: [String; 2],
    /// To be changed, and to be removed.
    groups: [String; 2],
    revocation: String,
    /// To be changed, and to be removed.
    endpoints: [String; 2],
    /// Of mail, to be approved.
    recipient: String,
    notice: String,
    /// To be changed, and to be removed.
    drafts: [String; 2],
    delivery: String,
    flag: String,
    /// To the list of the closed week, for the endpoint that is to be changed.
    link: String,
    page: Page,
    operator: Client,
}

impl Writes {
    /// Makes the club and its records; week 2026-W45 is closed with one flag.
    pub async fn prepare(server: &Server) -> Self {
        let club = server.club("Havneby Handball").await;
        club.example_policy().await;
        let squad = club.squad("U16").await;
        let athlete = squad.athlete("P-07").await;
        let spiked = squad.athlete("P-12").with("joined_on", "2026-10-12").await;
        let weeks = spiked.weeks("2026-10-12", &[1380.0, 1380.0, 1530.0, 2880.0]);
        club.bulk(weeks).await.expect(200);
        let _former = squad.athlete("P-13").await;
        let leaver = club.athlete("P-14", &[]).await;
        server.close_week("2026-W45");
        let app = club.as_role("integration");
        let two = |list: &Value, at: [usize; 2], field: &str| {
            at.map(|at| list["items"][at][field].as_str().expect("an id").to_owned())
        };
        let flags = app.get("flags").await.expect(200);
        let members = app
            .get(format!("squads/{}/members", squad.id()))
            .await
            .expect(200);
        for id in ["r-1", "r-2", "r-6"] {
            app.post("sessions", report(&athlete, id)).await.expect(201);
        }
        let sessions = app
            .get("sessions")
            .query("athlete", athlete.id())
            .await
            .expect(200);
        let counted = two(&sessions.body, [0, 2], "session_id");
        for id in &counted {
            let path = format!("sessions/{id}/contacts");
            app.put(path, contacts(80)).await.expect(201);
        }
        let absence = app
            .post("absences", absence(&athlete, "2026-09-01"))
            .await
            .expect(201);
        let strength_coach = club.as_role("strength_coach");
        let result = test_result(&athlete, "left");
        let result = strength_coach.post("tests", result).await.expect(201);
        let trainer = club.as_role("athletic_trainer");
        let injury = trainer.post("injuries", injury(&athlete, "2026-02-21"));
        let injury = injury.await.expect(201);
        for code in ["bench_hop", "box_hop"] {
            let made = strength_coach.put(format!("exercises/{code}"), exercise());
            made.await.expect(201);
        }
        for (id, code) in SIGN_OFFS.iter().zip(["squat", "press_up"]) {
            let watched = strength_coach.put(sign_off(&athlete, id), watched(code));
            watched.await.expect(201);
        }
        let programmes =
            ["Summer", "Winter"].map(|name| strength_coach.post("programmes", programme(name)));
        let mut made = Vec::new();
        for programme in programmes {
            made.push(programme.await.expect(201).string("programme_id"));
        }
        let programmes: [String; 2] = made.try_into().expect("two programmes");
        let [of_squad, own] = ASSIGNMENTS.map(|id| assignment(&programmes[0], id));
        let body = json!({ "squad_id": squad.id(), "from": "2026-11-02" });
        strength_coach.put(of_squad, body).await.expect(201);
        let body = assigned(&athlete, "2026-11-02");
        strength_coach.put(own, body).await.expect(201);
        let mut events = Vec::new();
        for external_id in ["e-1", "e-2"] {
            let event = app.post("events", event(&squad, external_id)).await;
            events.push(event.expect(201).string("event_id"));
        }
        let mut calendars = Vec::new();
        for name in ["Sports hall", "School hall"] {
            let made = app.post("calendars", calendar(&squad, name)).await;
            calendars.push(made.expect(201).string("calendar_id"));
        }
        let second_copy = two_alike(&app).await;
        let sources = SOURCES.map(str::to_owned);
        for id in &sources {
            let path = format!("roster/sources/{id}");
            app.put(path, source("register")).await.expect(201);
        }
        let (users, groups) = directory::prepare(&club).await;
        let present = app
            .post("attendance", attendance(&athlete, &events[0]))
            .await
            .expect(201);
        app.post(declared_history(&athlete), usual_week())
            .await
            .expect(201);
        let clinical = Clinical::prepare(&club, &athlete).await;
        let guardian = club.as_guardian_of(&[&athlete]);
        let mut given = consent("pain");
        // From now on: what is said about pain is read by consent alone.
        given.as_object_mut().expect("an object").remove("from");
        let consent = guardian.post(consents(&athlete), given);
        let consent = consent.await.expect(201);
        let hurts = guardian.post("pain-reports", pain_report(&athlete, "knee"));
        let hurts = hurts.await.expect(201);
        let named = guardian.post(sharing_codes(&athlete), organisation("Fjordby Gymnastics"));
        let named = named.await.expect(201);
        let lead = club.as_role("privacy_lead");
        let held = lead.post(holds(&athlete), hold("insurance")).await;
        let held = held.expect(201);
        let revocation = club
            .as_role("club_admin")
            .post("revocations", revocation("coach-3"))
            .await
            .expect(201);
        let admin = club.as_role("club_admin");
        let mut endpoints = Vec::new();
        for name in ["one", "two"] {
            let made = admin.post("notice-endpoints", endpoint(name)).await;
            endpoints.push(made.expect(201).string("endpoint_id"));
        }
        let trial = format!("notice-endpoints/{}/test", endpoints[0]);
        let notice = admin.post(trial, json!({})).await.expect(202);
        let owner = club.client(Identity::role("club_admin").subject("policy-owner"));
        let first = json!({ "channel": "email", "address": "coach@havneby.example" });
        let recipient = owner.post("notice-endpoints", first).await.expect(201);
        let mut drafts = Vec::new();
        for from in ["2026-11-16", "2026-11-23"] {
            let draft = club
                .example_policy()
                .with("effective_from", from)
                .into_body();
            let draft = owner.post("policy/drafts", draft).await.expect(201);
            drafts.push(draft.string("draft_id"));
        }
        let notice = notice.string("notice_id");
        let fared = admin.get(format!("notices/{notice}/deliveries")).await;
        let fared = fared.expect(200);
        // A reader of pages, whom no write changes: a change would end the link.
        let reader = admin.post("notice-endpoints", endpoint("pages")).await;
        let reader = reader.expect(201).string("endpoint_id");
        let link = server.page_link(&club, &reader, &squad, "2026-W45");
        Self {
            page: Page::open(server, &link).await,
            delivery: fared["items"][0]["delivery_id"]
                .as_str()
                .expect("a delivery")
                .to_owned(),
            link,
            recipient: recipient.string("endpoint_id"),
            endpoints: endpoints.try_into().expect("two endpoints"),
            notice,
            drafts: drafts.try_into().expect("two drafts"),
            flag: flags["items"][0]["flag_id"]
                .as_str()
                .expect("a flag")
                .to_owned(),
            memberships: two(&members.body, [0, 2], "membership_id"),
            sessions: two(&sessions.body, [0, 1], "session_id"),
            counted: counted[1].clone(),
            rest_day: athlete.rest("2026-11-01").await.string("rest_day_id"),
            absence: absence.string("absence_id"),
            programmes,
            test_result: result.string("test_result_id"),
            injury: injury.string("injury_id"),
            pain_report: hurts.string("pain_report_id"),
            licences: clinical.licences,
            restrictions: clinical.restrictions,
            clearance: clinical.clearance,
            consent: consent.string("consent_id"),
            hold: held.string("hold_id"),
            link_elsewhere: named["link"]["link_id"].as_str().expect("an id").to_owned(),
            attendance: present.string("attendance_id"),
            events: events.try_into().expect("two events"),
            calendars: calendars.try_into().expect("two calendars"),
            sources,
            second_copy,
            users,
            groups,
            revocation: revocation.string("revocation_id"),
            operator: server.as_role("operator"),
            club,
            squad,
            athlete,
            leaver,
        }
    }

    /// The club.
    pub fn club(&self) -> &Club {
        &self.club
    }

    /// Its squad.
    pub fn squad(&self) -> &Squad {
        &self.squad
    }

    /// The athlete whose records the writes are about.
    pub fn athlete(&self) -> &Athlete {
        &self.athlete
    }

    /// The ids of its records, those aside that are about nobody and that every coach of the club reaches.
    pub fn ids(&self) -> Vec<String> {
        let people = [self.squad.id(), self.athlete.id()].map(str::to_owned);
        let ones = [
            &self.counted,
            &self.rest_day,
            &self.absence,
            &self.test_result,
            &self.injury,
            &self.pain_report,
            &self.clearance,
            &self.consent,
            &self.link_elsewhere,
            &self.hold,
            &self.attendance,
            &self.second_copy,
            &self.flag,
            &self.revocation,
            &self.notice,
            &self.delivery,
        ];
        let pairs = [
            &self.sessions,
            &self.licences,
            &self.restrictions,
            &self.memberships,
            &self.events,
            &self.calendars,
            &self.sources,
            &self.users,
            &self.groups,
            &self.endpoints,
            &self.drafts,
        ];
        let records = pairs.into_iter().flatten().chain(ones);
        let signed_off = SIGN_OFFS.map(str::to_owned);
        let assigned = ASSIGNMENTS.map(str::to_owned);
        let records = records.cloned().chain(signed_off).chain(assigned);
        people.into_iter().chain(records).collect()
    }

    /// A path of the document with the ids of records that are there.
    pub fn path(&self, template: &str) -> String {
        let part = |part: &str| match part {
            "{club_id}" => self.club.id().to_owned(),
            "{squad_id}" => self.squad.id().to_owned(),
            "{athlete_id}" => self.athlete.id().to_owned(),
            "{session_id}" => self.sessions[0].clone(),
            "{membership_id}" => self.memberships[0].clone(),
            "{rest_day_id}" => self.rest_day.clone(),
            "{absence_id}" => self.absence.clone(),
            "{test_result_id}" => self.test_result.clone(),
            "{injury_id}" => self.injury.clone(),
            "{pain_report_id}" => self.pain_report.clone(),
            "{licence_id}" => self.licences[0].clone(),
            "{exercise}" => "bench_hop".to_owned(),
            "{sign_off_id}" => SIGN_OFFS[0].to_owned(),
            "{programme_id}" => self.programmes[0].clone(),
            "{assignment_id}" => ASSIGNMENTS[0].to_owned(),
            "{restriction_id}" => self.restrictions[0].clone(),
            "{clearance_id}" => self.clearance.clone(),
            "{consent_id}" => self.consent.clone(),
            "{link_id}" => self.link_elsewhere.clone(),
            "{hold_id}" => self.hold.clone(),
            "{event_id}" => self.events[0].clone(),
            "{calendar_id}" => self.calendars[0].clone(),
            "{user_id}" => self.athlete.id().to_owned(),
            "{resource_type}" => "User".to_owned(),
            "{schema}" => "urn:ietf:params:scim:schemas:core:2.0:User".to_owned(),
            "{source_id}" => self.sources[0].clone(),
            "{second_copy_id}" => self.second_copy.clone(),
            "{attendance_id}" => self.attendance.clone(),
            "{flag_id}" => self.flag.clone(),
            "{revocation_id}" => self.revocation.clone(),
            "{endpoint_id}" => self.endpoints[0].clone(),
            "{draft_id}" => self.drafts[0].clone(),
            "{notice_id}" => self.notice.clone(),
            "{delivery_id}" => self.delivery.clone(),
            "{week}" => "2026-W45".to_owned(),
            "{link}" => self.link.trim_start_matches("/pages/").to_owned(),
            "{code}" => "not_found".to_owned(),
            _ => part.to_owned(),
        };
        template.split('/').map(part).collect::<Vec<_>>().join("/")
    }

    /// A caller who may read what an operation shows: the roster app, or the first that may and reaches more than her own record.
    pub fn reader(&self, operation: &Operation) -> Client {
        let roles = operation.roles();
        let usual = roles.iter().find(|role| **role == "integration");
        let first = || {
            roles
                .iter()
                .find(|role| !["athlete", "guardian"].contains(role))
        };
        match usual.or_else(first) {
            Some(role) => self.club.as_role(role),
            None => self.club.client(Identity::role("coach")),
        }
    }

    /// A read of an operation that is answered, for a purpose where one has to be said.
    pub fn read(&self, operation: &Operation) -> Request {
        let read = self.reader(operation).get(self.path(&operation.path));
        match operation.takes("purpose") {
            true if operation.path.ends_with("/copy") => read.query("purpose", "leaving"),
            true => read.query("purpose", "screening"),
            false => read,
        }
    }

    /// A call that is accepted and changes nothing: a read, or a write on trial.
    pub fn trial(&self, operation: &Operation) -> Request {
        let call = match operation.method.as_str() {
            "GET" => self.read(operation),
            _ => self.of(operation),
        };
        if operation.takes("dry_run") {
            call.dry_run()
        } else {
            call
        }
    }

    /// The write of an operation.
    ///
    /// # Panics
    /// On an operation that has no example here yet: add one, so that it is tried and spoilt like the others.
    pub fn of(&self, operation: &Operation) -> Request {
        let path = operation
            .path
            .strip_prefix("/v1/clubs")
            .unwrap_or(&operation.path);
        let path = path
            .strip_prefix("/{club_id}")
            .unwrap_or(if path.is_empty() { "/clubs" } else { path });
        let method = operation.method.as_str();
        self.of_people(method, path)
            .or_else(|| self.of_days(method, path))
            .or_else(|| self.of_tests(method, path))
            .or_else(|| self.of_clinicians(method, path))
            .or_else(|| self.of_consents(method, path))
            .or_else(|| self.of_pain(method, path))
            .or_else(|| self.of_exercises(method, path))
            .or_else(|| self.of_programmes(method, path))
            .or_else(|| self.of_retention(method, path))
            .or_else(|| self.of_schedule(method, path))
            .or_else(|| self.of_calendars(method, path))
            .or_else(|| self.of_sources(method, path))
            .or_else(|| self.of_directories(method, path))
            .or_else(|| self.of_plans(method, path))
            .or_else(|| self.of_notices(method, path))
            .or_else(|| self.of_drafts(method, path))
            .or_else(|| self.of_pages(method, path))
            .unwrap_or_else(|| {
                panic!(
                    "{} has no example of a write in tests/src/writes.rs",
                    operation.name()
                )
            })
    }

    fn of_people(&self, method: &str, path: &str) -> Option<Request> {
        let admin = self.club.as_role("club_admin");
        let squad = format!("squads/{}", self.squad.id());
        let athlete = format!("athletes/{}", self.athlete.id());
        let [member, former] = &self.memberships;
        Some(match (method, path) {
            ("POST", "/clubs") => {
                let body = json!({ "name": "Fjordby Handball", "time_zone": "Europe/Copenhagen" });
                self.operator.post("/v1/clubs", body)
            }
            ("PATCH", "") => admin.patch(format!("/v1/clubs/{}", self.club.id()), json!({ "name": "Nyby" })),
            ("PUT", "/policy") => self.club.example_policy().with("effective_from", "2026-11-16").into_request(),
            ("PUT", "/weekly-close") => {
                admin.put("weekly-close", json!({ "weekday": "tuesday", "time": "06:30" }))
            }
            ("PUT", "/look-ahead") => {
                let setting = json!({ "enabled": true, "weekday": "thursday", "time": "18:30" });
                admin.put("look-ahead", setting)
            }
            ("POST", "/policy/rehearsals") => {
                admin.post("policy/rehearsals", json!({ "policy": self.club.example_policy().into_body() }))
            }
            ("POST", "/squads") => admin.post("squads", json!({ "name": "U18", "external_id": "U18" })),
            ("PUT", "/squads/{squad_id}") => admin.put(format!("squads/{FREE_ID}"), json!({ "name": "U14" })),
            ("PATCH", "/squads/{squad_id}") => admin.patch(squad, json!({ "name": "U16 girls" })),
            ("POST", "/squads/{squad_id}/members") => admin.post(
                format!("{squad}/members"),
                json!({ "athlete_id": self.athlete.id(), "role": "guest", "from": "2025-01-01", "to": "2025-02-01" }),
            ),
            ("PATCH", "/squads/{squad_id}/members/{membership_id}") => {
                admin.patch(format!("{squad}/members/{member}"), json!({ "to": "2027-01-01" }))
            }
            ("DELETE", "/squads/{squad_id}/members/{membership_id}") => {
                admin.delete(format!("{squad}/members/{former}"))
            }
            ("POST", "/revocations") => admin.post("revocations", revocation("coach-4")),
            ("DELETE", "/revocations/{revocation_id}") => {
                admin.delete(format!("revocations/{}", self.revocation))
            }
            ("POST", "/athletes") => admin.post("athletes", person("P-20")),
            ("PUT", "/athletes/{athlete_id}") => admin.put(format!("athletes/{FREE_ID}"), person("P-21")),
            ("POST", "/athletes/search") => {
                let coach = self.club.as_role("coach");
                coach.post("athletes/search", json!({ "name": "P-07" }))
            }
            ("POST", "/roster/imports") => admin.post("roster/imports", roster()).query("mode", "delta"),
            ("PATCH", "/athletes/{athlete_id}") => admin.patch(athlete, json!({ "display_name": "Asta" })),
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_directories(&self, method: &str, path: &str) -> Option<Request> {
        let path = path.strip_prefix("/scim/v2/clubs/{club_id}")?;
        let app = self.club.as_role("integration");
        directory::write(&app, &self.club, method, path, (&self.users, &self.groups))
            .map(|request| with_any_version(request, method, path))
    }

    fn of_plans(&self, method: &str, path: &str) -> Option<Request> {
        let coach = self.club.as_role("strength_coach");
        let session = json!({
            "date": "2026-11-17", "setting": "club", "kind": "practice", "minutes": 90, "intended_rpe": 6,
        });
        let plan = json!({ "first_week": "2026-W47", "weeks": 1, "sessions": [session] });
        let body = json!({ "plan": plan, "athlete_id": self.athlete.id() });
        Some(match (method, path) {
            ("POST", "/contact-checks") => {
                let hops = json!({ "exercise": "block_jump", "sets": 3, "reps": 6 });
                coach.post(
                    "contact-checks",
                    json!({ "items": [hops], "athlete_id": self.athlete.id() }),
                )
            }
            ("POST", "/plan-checks") => coach.post("plan-checks", body),
            ("POST", "/change-proposals") => coach.post("change-proposals", body),
            _ => return None,
        })
    }

    fn of_clinicians(&self, method: &str, path: &str) -> Option<Request> {
        let admin = self.club.as_role("club_admin");
        let trainer = self.club.as_role("athletic_trainer");
        let [changed, removed] = &self.restrictions;
        Some(match (method, path) {
            ("POST", "/licences") => admin.post("licences", licence("trainer-3")),
            ("DELETE", "/licences/{licence_id}") => {
                admin.delete(format!("licences/{}", self.licences[1]))
            }
            ("POST", "/restrictions") => {
                trainer.post("restrictions", restriction(&self.athlete, 45))
            }
            ("PUT", "/restrictions/{restriction_id}") => trainer.put(
                format!("restrictions/{FREE_ID}"),
                restriction(&self.athlete, 30),
            ),
            ("PATCH", "/restrictions/{restriction_id}") => trainer.patch(
                format!("restrictions/{changed}"),
                json!({ "review_date": "2026-11-27" }),
            ),
            ("DELETE", "/restrictions/{restriction_id}") => trainer
                .delete(format!("restrictions/{removed}"))
                .body("application/json", r#"{"reason": "another athlete's"}"#),
            ("POST", "/clearance-records") => {
                trainer.post("clearance-records", decision(&self.athlete, "not_yet"))
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_consents(&self, method: &str, path: &str) -> Option<Request> {
        let guardian = self.club.as_guardian_of(&[&self.athlete]);
        let list = consents(&self.athlete);
        Some(match (method, path) {
            ("POST", "/athletes/{athlete_id}/consents") => guardian.post(list, consent("wellness")),
            ("POST", "/athletes/{athlete_id}/consents/{consent_id}/withdrawal") => {
                let path = format!("{list}/{}/withdrawal", self.consent);
                guardian.post(path, json!({ "evidence": "folder 3" }))
            }
            ("POST", "/athletes/{athlete_id}/sharing-codes") => {
                guardian.post(sharing_codes(&self.athlete), organisation("Nyby Athletics"))
            }
            ("DELETE", "/athletes/{athlete_id}/sharing-links/{link_id}") => {
                let path = format!("athletes/{}/sharing-links", self.athlete.id());
                guardian.delete(format!("{path}/{}", self.link_elsewhere))
            }
            ("POST", "/athletes/{athlete_id}/erasure") => {
                let path = format!("athletes/{}/erasure", self.leaver.id());
                let lead = self.club.as_role("privacy_lead");
                lead.post(path, json!({ "reason": "left" }))
            }
            ("PUT", "/consent-settings") => {
                let settings = json!({ "own_age": 16, "needed_for": ["wellness"] });
                let lead = self.club.as_role("privacy_lead");
                lead.put("consent-settings", settings)
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_retention(&self, method: &str, path: &str) -> Option<Request> {
        let lead = self.club.as_role("privacy_lead");
        let list = holds(&self.athlete);
        Some(match (method, path) {
            ("PUT", "/retention") => {
                let term = json!({ "class": "load", "days_after_leaving": 730 });
                let settings = json!({ "record_regime": "club", "terms": [term], "source_note": "club board" });
                lead.put("retention", settings)
            }
            ("POST", "/athletes/{athlete_id}/holds") => lead.post(list, hold("complaint")),
            ("DELETE", "/athletes/{athlete_id}/holds/{hold_id}") => lead
                .delete(format!("{list}/{}", self.hold))
                .body("application/json", r#"{"reason": "settled"}"#),
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_sources(&self, method: &str, path: &str) -> Option<Request> {
        let app = self.club.as_role("integration");
        let [pulled, removed] = &self.sources;
        let pulled = format!("roster/sources/{pulled}");
        Some(match (method, path) {
            ("PUT", "/roster/sources/{source_id}") => {
                app.put(format!("roster/sources/{FREE_ID}"), source("office"))
            }
            ("DELETE", "/roster/sources/{source_id}") => {
                app.delete(format!("roster/sources/{removed}"))
            }
            ("POST", "/roster/sources/{source_id}/test") => {
                app.post(format!("{pulled}/test"), json!({}))
            }
            ("POST", "/roster/sources/{source_id}/pull") => {
                app.post(format!("{pulled}/pull"), json!({}))
            }
            ("PATCH", "/roster/second-copies/{second_copy_id}") => {
                let admin = self.club.as_role("club_admin");
                let decided = json!({ "decision": "two_people" });
                let path = format!("roster/second-copies/{}", self.second_copy);
                admin.patch(path, decided)
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_calendars(&self, method: &str, path: &str) -> Option<Request> {
        let app = self.club.as_role("integration");
        let [changed, removed] = &self.calendars;
        Some(match (method, path) {
            ("POST", "/calendars") => app.post("calendars", calendar(&self.squad, "Beach courts")),
            ("PUT", "/calendars/{calendar_id}") => app
                .put(format!("calendars/{FREE_ID}"), Value::Null)
                .body("text/calendar", CALENDAR),
            ("PATCH", "/calendars/{calendar_id}") => {
                app.patch(format!("calendars/{changed}"), json!({ "name": "Court 2" }))
            }
            ("DELETE", "/calendars/{calendar_id}") => app.delete(format!("calendars/{removed}")),
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_schedule(&self, method: &str, path: &str) -> Option<Request> {
        let app = self.club.as_role("integration");
        let [changed, removed] = &self.events;
        Some(match (method, path) {
            ("POST", "/events") => app.post("events", event(&self.squad, "e-3")),
            ("PUT", "/events/{event_id}") => {
                app.put(format!("events/{FREE_ID}"), event(&self.squad, "e-4"))
            }
            ("PATCH", "/events/{event_id}") => app.patch(
                format!("events/{changed}"),
                json!({ "status": "cancelled" }),
            ),
            ("DELETE", "/events/{event_id}") => app.delete(format!("events/{removed}")),
            ("POST", "/attendance") => app.post("attendance", attendance(&self.athlete, removed)),
            ("DELETE", "/attendance/{attendance_id}") => {
                app.delete(format!("attendance/{}", self.attendance))
            }
            ("POST", "/athletes/{athlete_id}/declared-history") => {
                let week = json!({ "weekly_minutes": { "low": 200, "high": 300 }, "rpe": { "low": 4, "high": 6 } });
                app.post(declared_history(&self.athlete), week)
            }
            ("DELETE", "/athletes/{athlete_id}/declared-history") => {
                app.delete(declared_history(&self.athlete))
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_notices(&self, method: &str, path: &str) -> Option<Request> {
        let admin = self.club.as_role("club_admin");
        let [changed, removed] = &self.endpoints;
        let changed = format!("notice-endpoints/{changed}");
        Some(match (method, path) {
            ("PUT", "/mail-settings") => {
                admin.put("mail-settings", json!({ "sender_name": "Havneby" }))
            }
            ("PUT", "/mail-names") => self
                .club
                .as_role("privacy_lead")
                .put("mail-names", json!({ "names": true })),
            ("POST", "/notice-endpoints") => admin.post("notice-endpoints", endpoint("three")),
            ("PUT", "/notice-endpoints/{endpoint_id}") => {
                admin.put(format!("notice-endpoints/{FREE_ID}"), endpoint("four"))
            }
            ("POST", "/notice-endpoints/{endpoint_id}/confirmation") => {
                admin.post(format!("{changed}/confirmation"), json!({}))
            }
            ("POST", "/notice-endpoints/{endpoint_id}/approval") => {
                let path = format!("notice-endpoints/{}/approval", self.recipient);
                self.club.as_role("privacy_lead").post(path, json!({}))
            }
            ("PATCH", "/notice-endpoints/{endpoint_id}") => {
                admin.patch(changed, json!({ "squads": [self.squad.id()] }))
            }
            ("DELETE", "/notice-endpoints/{endpoint_id}") => {
                admin.delete(format!("notice-endpoints/{removed}"))
            }
            ("POST", "/notice-endpoints/{endpoint_id}/secret-rotation") => {
                admin.post(format!("{changed}/secret-rotation"), json!({}))
            }
            ("POST", "/notice-endpoints/{endpoint_id}/test") => {
                admin.post(format!("{changed}/test"), json!({}))
            }
            ("POST", "/notice-endpoints/{endpoint_id}/redeliveries") => admin.post(
                format!("{changed}/redeliveries"),
                json!({ "from": "2026-11-09T00:00:00Z", "to": "2026-11-16T00:00:00Z" }),
            ),
            ("POST", "/deliveries/{delivery_id}/redelivery") => admin.post(
                format!("deliveries/{}/redelivery", self.delivery),
                json!({}),
            ),
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_drafts(&self, method: &str, path: &str) -> Option<Request> {
        let admin = self.club.as_role("club_admin");
        let draft = self.club.example_policy();
        let draft = draft.with("effective_from", "2026-11-30").into_body();
        let [changed, removed] = &self.drafts;
        Some(match (method, path) {
            ("POST", "/policy/drafts") => admin.post("policy/drafts", draft),
            ("PUT", "/policy/drafts/{draft_id}") => {
                admin.put(format!("policy/drafts/{FREE_ID}"), draft)
            }
            ("DELETE", "/policy/drafts/{draft_id}") => {
                admin.delete(format!("policy/drafts/{removed}"))
            }
            ("POST", "/policy/drafts/{draft_id}/approval") => {
                let approval = format!("policy/drafts/{changed}/approval");
                admin.post(approval, json!({}))
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_pain(&self, method: &str, path: &str) -> Option<Request> {
        let guardian = self.club.as_guardian_of(&[&self.athlete]);
        Some(match (method, path) {
            ("POST", "/pain-reports") => {
                guardian.post("pain-reports", pain_report(&self.athlete, "shoulder"))
            }
            ("DELETE", "/pain-reports/{pain_report_id}") => {
                guardian.delete(format!("pain-reports/{}", self.pain_report))
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_exercises(&self, method: &str, path: &str) -> Option<Request> {
        let strength_coach = self.club.as_role("strength_coach");
        Some(match (method, path) {
            ("PUT", "/exercises/{exercise}") => {
                strength_coach.put("exercises/wall_hop", exercise())
            }
            ("DELETE", "/exercises/{exercise}") => strength_coach.delete("exercises/box_hop"),
            ("PUT", "/athletes/{athlete_id}/sign-offs/{sign_off_id}") => {
                strength_coach.put(sign_off(&self.athlete, FREE_ID), watched("hip_hinge"))
            }
            ("DELETE", "/athletes/{athlete_id}/sign-offs/{sign_off_id}") => strength_coach
                .delete(sign_off(&self.athlete, SIGN_OFFS[1]))
                .body("application/json", r#"{"reason": "another athlete's"}"#),
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_programmes(&self, method: &str, path: &str) -> Option<Request> {
        let strength_coach = self.club.as_role("strength_coach");
        let [one, other] = &self.programmes;
        Some(match (method, path) {
            ("POST", "/programmes") => strength_coach.post("programmes", programme("Spring")),
            ("PUT", "/programmes/{programme_id}") => {
                strength_coach.put(format!("programmes/{FREE_ID}"), programme("Autumn"))
            }
            ("DELETE", "/programmes/{programme_id}") => {
                strength_coach.delete(format!("programmes/{other}"))
            }
            ("PUT", "/programmes/{programme_id}/assignments/{assignment_id}") => {
                let body = assigned(&self.athlete, "2026-12-07");
                strength_coach.put(assignment(one, FREE_ID), body)
            }
            ("DELETE", "/programmes/{programme_id}/assignments/{assignment_id}") => {
                strength_coach.delete(assignment(one, ASSIGNMENTS[1]))
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_tests(&self, method: &str, path: &str) -> Option<Request> {
        let trainer = self.club.as_role("athletic_trainer");
        let right = test_result(&self.athlete, "right");
        Some(match (method, path) {
            ("POST", "/tests") => trainer.post("tests", right),
            ("PUT", "/tests/{test_result_id}") => trainer.put(format!("tests/{FREE_ID}"), right),
            ("DELETE", "/tests/{test_result_id}") => {
                trainer.delete(format!("tests/{}", self.test_result))
            }
            ("POST", "/injuries") => trainer.post("injuries", injury(&self.athlete, "2026-10-21")),
            ("DELETE", "/injuries/{injury_id}") => {
                trainer.delete(format!("injuries/{}", self.injury))
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }

    fn of_pages(&self, method: &str, path: &str) -> Option<Request> {
        let form = "/squads/{squad_id}/weeks/{week}/acknowledgements";
        (method == "POST" && path == form).then(|| {
            let fields = [("flag_id", self.flag.as_str()), ("action", "moved")];
            self.page.form(&fields)
        })
    }

    fn of_days(&self, method: &str, path: &str) -> Option<Request> {
        let app = self.club.as_role("integration");
        let [changed, removed] = &self.sessions;
        let report = |id: &str| report(&self.athlete, id);
        Some(match (method, path) {
            ("POST", "/sessions") => app.post("sessions", report("r-3")),
            ("POST", "/sessions/bulk") => self.club.bulk(vec![report("r-4"), json!({ "rpe": 11 })]),
            ("PUT", "/sessions/{session_id}") => {
                app.put(format!("sessions/{FREE_ID}"), report("r-5"))
            }
            ("PATCH", "/sessions/{session_id}") => {
                app.patch(format!("sessions/{changed}"), json!({ "rpe": 5 }))
            }
            ("DELETE", "/sessions/{session_id}") => app
                .delete(format!("sessions/{removed}"))
                .body("application/json", r#"{"reason": "entered twice"}"#),
            ("PUT", "/sessions/{session_id}/contacts") => app
                .put(format!("sessions/{changed}/contacts"), contacts(90))
                .if_match("*"),
            ("DELETE", "/sessions/{session_id}/contacts") => {
                app.delete(format!("sessions/{}/contacts", self.counted))
            }
            ("POST", "/rest-days") => {
                let day = json!({ "athlete_id": self.athlete.id(), "date": "2026-11-02" });
                app.post("rest-days", day)
            }
            ("DELETE", "/rest-days/{rest_day_id}") => {
                app.delete(format!("rest-days/{}", self.rest_day))
            }
            ("POST", "/absences") => app.post("absences", absence(&self.athlete, "2026-08-01")),
            ("DELETE", "/absences/{absence_id}") => {
                app.delete(format!("absences/{}", self.absence))
            }
            ("POST", "/flags/{flag_id}/acknowledgement") => {
                let path = format!("flags/{}/acknowledgement", self.flag);
                self.club
                    .as_role("coach")
                    .post(path, json!({ "action": "talked" }))
            }
            _ => return None,
        })
        .map(|request| with_any_version(request, method, path))
    }
}

/// What clinicians have on record.
struct Clinical {
    licences: [String; 2],
    restrictions: [String; 2],
    clearance: String,
}

impl Clinical {
    /// A licence of the usual athletic trainer and of another, two restrictions and a decision.
    async fn prepare(club: &Club, athlete: &Athlete) -> Self {
        let (admin, trainer) = (club.as_role("club_admin"), club.as_role("athletic_trainer"));
        let file = async |subject| {
            let filed = admin.post("licences", licence(subject)).await.expect(201);
            filed.string("licence_id")
        };
        let set = async |minutes| {
            let set = trainer.post("restrictions", restriction(athlete, minutes));
            set.await.expect(201).string("restriction_id")
        };
        Self {
            licences: [file("local").await, file("trainer-2").await],
            restrictions: [set(60).await, set(75).await],
            clearance: trainer
                .post("clearance-records", decision(athlete, "return_to_sport"))
                .await
                .expect(201)
                .string("clearance_id"),
        }
    }
}

/// Changing, approving and removing need `If-Match`; the policy too, since there is one.
fn with_any_version(request: Request, method: &str, path: &str) -> Request {
    let changing = [
        "/policy",
        "/weekly-close",
        "/look-ahead",
        "/mail-settings",
        "/mail-names",
        "/consent-settings",
        "/retention",
        "/policy/drafts/{draft_id}/approval",
        "/notice-endpoints/{endpoint_id}/approval",
    ];
    if ["PATCH", "DELETE"].contains(&method) || changing.contains(&path) {
        request.if_match("*")
    } else {
        request
    }
}

fn report(athlete: &Athlete, external_id: &str) -> Value {
    let report = athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0);
    report.with("external_id", external_id).into_body()
}

/// One practice a week.
const CALENDAR: &str = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Havneby//EN\r\nBEGIN:VEVENT\r\n\
    UID:practice@havneby.example\r\nDTSTAMP:20260901T080000Z\r\nDTSTART;TZID=Europe/Copenhagen:20261110T173000\r\n\
    DURATION:PT90M\r\nRRULE:FREQ=WEEKLY;COUNT=4\r\nSUMMARY:U16 practice\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";

fn calendar(squad: &Squad, name: &str) -> Value {
    let rule = json!({ "text_contains": "practice", "setting": "club", "kind": "practice", "squads": [squad.id()] });
    json!({ "name": name, "rules": [rule] })
}

/// Ids of sources, which whoever sets them up chooses.
const SOURCES: [&str; 2] = [
    "0199a1b2-bbbb-7e4f-8a5b-6c7d8e9f0a1b",
    "0199a1b2-bbbb-7e4f-8a5b-6c7d8e9f0a1c",
];

/// A roster app on a host that is never found (RFC 2606), pulled by hand.
fn source(host: &str) -> Value {
    json!({
        "name": "Members' register", "url": format!("https://{host}.example.invalid/people"), "mode": "full",
        "credentials": { "kind": "header", "name": "X-Api-Key", "value": "4f1c" }, "paging": { "kind": "link_header" },
        "people": { "list": "/people", "external_id": "/id", "display_name": "/name" },
    })
}

fn event(squad: &Squad, external_id: &str) -> Value {
    json!({
        "external_id": external_id, "setting": "club", "kind": "practice", "minutes": 90,
        "starts_at": "2026-11-03T17:30:00+01:00", "squads": [squad.id()],
    })
}

fn attendance(athlete: &Athlete, event: &str) -> Value {
    json!({ "event_id": event, "athlete_id": athlete.id(), "status": "present" })
}

fn declared_history(athlete: &Athlete) -> String {
    format!("athletes/{}/declared-history", athlete.id())
}

fn usual_week() -> Value {
    json!({ "weekly_minutes": { "low": 240, "high": 360 }, "rpe": { "low": 4, "high": 6 } })
}

fn absence(athlete: &Athlete, from: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "from": from, "to": format!("{}7", &from[..9]), "category": "holiday" })
}

fn contacts(throws: u32) -> Value {
    let landings =
        json!({ "both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24 });
    json!({ "landings": landings, "throws": throws, "basis": "counted" })
}

fn test_result(athlete: &Athlete, side: &str) -> Value {
    json!({
        "athlete_id": athlete.id(), "test": "single_hop_distance", "side": side,
        "trials": [126, 128.5], "tested_on": "2026-11-02", "tester": "Runa F.",
    })
}

fn pain_report(athlete: &Athlete, area: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "date": "2026-11-02", "hurts": true, "area": area, "side": "left" })
}

fn exercise() -> Value {
    json!({ "name": "Hop", "description": "Each landing quiet.", "category": "landing", "sides": "both", "landing": "both_feet",
        "prerequisites": ["step_off_landing_both_feet"] })
}

fn sign_off(athlete: &Athlete, id: &str) -> String {
    format!("athletes/{}/sign-offs/{id}", athlete.id())
}

fn watched(exercise: &str) -> Value {
    json!({ "exercise": exercise, "signed_on": "2026-11-02", "seen_in_person": true })
}

fn programme(name: &str) -> Value {
    json!({ "name": name, "blocks": [{ "name": "Learning", "weeks": [{ "days": [{ "day": "tuesday", "sessions": [
        { "setting": "prescribed_home", "kind": "strength", "minutes": 45, "intended_rpe": 5,
          "items": [{ "exercise": "squat", "sets": 3, "reps": 10 }, { "exercise": "side_plank", "sets": 2, "seconds": 20 }] }] }] },
        { "days": [] }] }] })
}

fn assignment(programme: &str, id: &str) -> String {
    format!("programmes/{programme}/assignments/{id}")
}

fn assigned(athlete: &Athlete, from: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "from": from,
        "changes": [{ "week": 1, "day": "tuesday", "item": 2, "change": "omit" }] })
}

fn injury(athlete: &Athlete, injured_on: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "side": "left", "injured_on": injured_on })
}

fn licence(subject: &str) -> Value {
    json!({ "subject": subject, "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2027-06-30" })
}

fn restriction(athlete: &Athlete, minutes: u32) -> Value {
    json!({ "athlete_id": athlete.id(), "from": "2026-11-02", "review_date": "2026-11-20", "availability": "limited",
        "max_minutes": minutes })
}

fn decision(athlete: &Athlete, decision: &str) -> Value {
    json!({ "athlete_id": athlete.id(), "decision": decision, "scope": "practice", "decided_on": "2026-11-02",
        "document_reference": "folder 12" })
}

fn sharing_codes(athlete: &Athlete) -> String {
    format!("athletes/{}/sharing-codes", athlete.id())
}

fn organisation(name: &str) -> Value {
    json!({ "organisation": name })
}

fn consents(athlete: &Athlete) -> String {
    format!("athletes/{}/consents", athlete.id())
}

fn holds(athlete: &Athlete) -> String {
    format!("athletes/{}/holds", athlete.id())
}

fn hold(reason: &str) -> Value {
    json!({ "reason": reason, "until": "2027-12-31" })
}

/// To a class of data for athletic trainers, from a day to come on, as anybody who decides may give it and file it.
fn consent(data_class: &str) -> Value {
    json!({ "purpose": "look after her", "data_classes": [data_class], "recipient_role": "athletic_trainer",
        "from": "2026-12-01T00:00:00+01:00", "text_version": "2026-1", "evidence": "folder 3" })
}

fn revocation(subject: &str) -> Value {
    json!({ "subject": subject, "reason": "telephone lost" })
}

fn roster() -> Value {
    json!({
        "squads": [{ "external_id": "U14", "name": "U14 girls" }],
        "athletes": [{
            "external_id": "P-22", "display_name": "Ida Lund", "birth_date": "2012-05-06",
            "memberships": [{ "squad_external_id": "U14", "from": "2026-11-09" }], "guardians": [{ "external_id": "G-11" }],
        }],
    })
}

fn person(code: &str) -> Value {
    json!({ "external_id": code, "display_name": code, "birth_date": "2011-03-14", "joined_on": "2026-01-01" })
}

/// A host that is never found (RFC 2606), so that nothing is sent anywhere.
fn endpoint(name: &str) -> Value {
    json!({ "url": format!("https://{name}.example.invalid/notices") })
}

/// Two people of a roster who are perhaps one: the proposal's id.
async fn two_alike(app: &Client) -> String {
    let person = |id: &str, name: &str| json!({ "external_id": id, "display_name": name, "birth_date": "2011-05-02" });
    let people = json!({ "athletes": [person("S-30", "Runa Falk"), person("S-31", "Runa Holm")] });
    let import = app.post("roster/imports", people).query("mode", "delta");
    let answer = import.await.expect(200);
    let found = answer["second_copies"][0]["second_copy_id"].as_str();
    found.expect("a proposal").to_owned()
}
