//! The example of each write, by what it is about.

use serde_json::json;

use super::bodies::*;
use super::*;

impl Writes {
    pub(super) fn of_people(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_directories(&self, method: &str, path: &str) -> Option<Request> {
        let path = path.strip_prefix("/scim/v2/clubs/{club_id}")?;
        let app = self.club.as_role("integration");
        directory::write(&app, &self.club, method, path, (&self.users, &self.groups))
            .map(|request| with_any_version(request, method, path))
    }

    pub(super) fn of_plans(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_clinicians(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_consents(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_retention(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_sources(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_calendars(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_schedule(&self, method: &str, path: &str) -> Option<Request> {
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
            ("PUT", "/events/{event_id}/warm-up") => app
                .put(format!("events/{changed}/warm-up"), warm_up(20))
                .if_match("*"),
            ("DELETE", "/events/{event_id}/warm-up") => {
                app.delete(format!("events/{}/warm-up", self.warmed_up))
            }
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

    pub(super) fn of_notices(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_drafts(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_pain(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_exercises(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_programmes(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_tests(&self, method: &str, path: &str) -> Option<Request> {
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

    pub(super) fn of_pages(&self, method: &str, path: &str) -> Option<Request> {
        let form = "/squads/{squad_id}/weeks/{week}/acknowledgements";
        (method == "POST" && path == form).then(|| {
            let fields = [("flag_id", self.flag.as_str()), ("action", "moved")];
            self.page.form(&fields)
        })
    }

    pub(super) fn of_days(&self, method: &str, path: &str) -> Option<Request> {
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
