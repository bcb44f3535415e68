//! A write of every kind, with content that is accepted: for trials, and to be spoilt by tests of bad input.

mod bodies;
mod kinds;

use serde_json::{Value, json};

use crate::club::{Athlete, Club, Squad};
use crate::directory;
use crate::document::Operation;
use crate::identity::Identity;
use crate::opened::Page;
use crate::request::{Client, Request};
use crate::server::Server;
use bodies::*;

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
    /// Whose warm-up is to be taken back.
    warmed_up: String,
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
        for external_id in ["e-1", "e-2", "e-5"] {
            let event = app.post("events", event(&squad, external_id)).await;
            let event = event.expect(201).string("event_id");
            let path = format!("events/{event}/warm-up");
            app.put(path, warm_up(15)).await.expect(201);
            events.push(event);
        }
        let warmed_up = events.pop().expect("three events");
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
            warmed_up,
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
            &self.warmed_up,
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
}
