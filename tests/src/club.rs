//! An invented club, its squads and athletes, each made in one line.

use jiff::{Timestamp, ToSpan};
use reqwest::Method;
use serde_json::{Value, json};

use crate::answer::Answer;
use crate::draft::Draft;
use crate::identity::Identity;
use crate::request::{Client, Request};
use crate::server::Server;

impl Server {
    /// Makes a club in Europe/Copenhagen, as the operator.
    pub fn club(&self, name: &str) -> Draft<Club> {
        let body = json!({ "name": name, "time_zone": "Europe/Copenhagen" });
        let nobody = self.anonymous();
        Draft::new(
            self.as_role("operator").request(Method::POST, "/v1/clubs"),
            body,
            move |answer| Club {
                id: answer.expect(201).string("club_id"),
                nobody,
            },
        )
    }
}

/// A club that was made.
#[derive(Clone)]
pub struct Club {
    id: String,
    nobody: Client,
}

impl Club {
    /// The club's id.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// A caller in one role of this club.
    pub fn as_role(&self, role: &str) -> Client {
        self.client(Identity::role(role))
    }

    /// A coach who sees these squads and no others.
    pub fn as_coach_of(&self, squads: &[&Squad]) -> Client {
        self.client(squads.iter().fold(Identity::role("coach"), |coach, squad| {
            coach.squad(squad.id())
        }))
    }

    /// A guardian of these athletes.
    pub fn as_guardian_of(&self, children: &[&Athlete]) -> Client {
        let guardian = Identity::role("guardian");
        self.client(
            children
                .iter()
                .fold(guardian, |guardian, child| guardian.athlete(child.id())),
        )
    }

    /// A caller of this club with these claims.
    pub fn client(&self, identity: Identity) -> Client {
        self.nobody.signed(identity.club(&self.id), &self.id)
    }

    /// Puts the example policy in force from 2026: week-end coupled ratio above 1.50, week above 110 % of the own highest of eight,
    /// monotony above 2.0. Example limits, none of them medical.
    pub fn example_policy(&self) -> Draft<Answer> {
        let body = json!({
            "effective_from": "2026-01-01",
            "approved_by": "Head of training",
            "source_note": "Example policy for tests",
            "organised_settings": ["club", "school_team", "pe", "second_club", "prescribed_home", "private"],
            "nothing_said": "assumed_rest",
            "midnight": "start_date",
            "chronic_floor_au": 250,
            "rules": example_rules(),
        });
        let request = self.as_role("club_admin").request(Method::PUT, "policy");
        Draft::new(request, body, |answer| answer.expect(201))
    }

    /// Makes a squad.
    pub fn squad(&self, name: &str) -> Draft<Squad> {
        let body = json!({ "name": name, "external_id": name });
        let club = self.clone();
        Draft::new(
            self.as_role("club_admin").request(Method::POST, "squads"),
            body,
            move |answer| Squad {
                id: answer.expect(201).string("squad_id"),
                club,
            },
        )
    }

    /// Makes an athlete in these squads. `code` is the external id and, being invented, the name too.
    pub fn athlete(&self, code: &str, squads: &[&Squad]) -> Draft<Athlete> {
        let body = json!({
            "external_id": code,
            "display_name": code,
            "birth_date": "2011-03-14",
            "joined_on": "2026-01-01",
            "squads": squads.iter().map(|squad| squad.id()).collect::<Vec<_>>(),
        });
        let club = self.clone();
        Draft::new(
            self.as_role("club_admin").request(Method::POST, "athletes"),
            body,
            move |answer| Athlete {
                id: answer.expect(201).string("athlete_id"),
                club,
            },
        )
    }

    /// Sends many reports in one bulk call, as the roster app. `rows` are bodies of `Athlete::session`.
    pub fn bulk(&self, rows: Vec<Value>) -> Request {
        self.as_role("integration")
            .post("sessions/bulk", json!({ "sessions": rows }))
    }
}

/// The rules of the example policy, to be changed: `rules[0]` is the ratio at the end of the week.
pub fn example_rules() -> Value {
    json!([
        rule(
            "week_end_ratio",
            json!({ "ratio_kind": "coupled", "limit": 1.5 })
        ),
        rule("own_highest_week", json!({ "limit": 1.1, "window": 8 })),
        rule("week_monotony", json!({ "limit": 2.0 })),
    ])
}

fn rule(code: &str, parts: Value) -> Value {
    let mut rule =
        json!({ "code": code, "enabled": true, "source_note": "Example limit for tests" });
    for (field, value) in parts.as_object().into_iter().flatten() {
        rule[field] = value.clone();
    }
    rule
}

/// A squad that was made.
#[derive(Clone)]
pub struct Squad {
    id: String,
    club: Club,
}

impl Squad {
    /// The squad's id.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The club it belongs to.
    pub fn club(&self) -> &Club {
        &self.club
    }

    /// Makes an athlete in this squad.
    pub fn athlete(&self, code: &str) -> Draft<Athlete> {
        self.club.athlete(code, &[self])
    }
}

/// An athlete who was made.
#[derive(Clone)]
pub struct Athlete {
    id: String,
    club: Club,
}

impl Athlete {
    /// The athlete's id.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The club of this record.
    pub fn club(&self) -> &Club {
        &self.club
    }

    /// The athlete as a caller.
    pub fn as_caller(&self) -> Client {
        self.club.client(
            Identity::role("athlete")
                .subject(&self.id)
                .athlete(&self.id),
        )
    }

    /// Reports a club practice through the roster app, said by the athlete ten minutes after its end.
    /// `started_at` is RFC 3339 with the offset of the place.
    pub fn session(&self, started_at: &str, minutes: u32, rpe: f64) -> Draft<Answer> {
        let start: Timestamp = started_at
            .parse()
            .unwrap_or_else(|error| panic!("{started_at}: {error}"));
        let body = json!({
            "athlete_id": self.id,
            "started_at": started_at,
            "minutes": minutes,
            "rpe": rpe,
            "setting": "club",
            "kind": "practice",
            "basis": "whole_session",
            "given_at": (start + (i64::from(minutes) + 10).minutes()).to_string(),
            "given_by": "athlete",
        });
        let request = self
            .club
            .as_role("integration")
            .request(Method::POST, "sessions");
        Draft::new(request, body, |answer| answer.expect(201))
    }

    /// Declares a day of rest.
    pub fn rest(&self, date: &str) -> Draft<Answer> {
        let body = json!({ "athlete_id": self.id, "date": date, "given_by": "athlete" });
        let request = self
            .club
            .as_role("integration")
            .request(Method::POST, "rest-days");
        Draft::new(request, body, |answer| answer.expect(201))
    }
}
