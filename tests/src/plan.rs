//! Planned sessions and attendance, each made in one line.

use reqwest::Method;
use serde_json::json;

use crate::answer::Answer;
use crate::club::{Athlete, Squad};
use crate::draft::Draft;

impl Squad {
    /// Plans a club practice of this squad through the scheduling system. `starts_at` is RFC 3339 with the offset of the place.
    pub fn event(&self, starts_at: &str, minutes: u32) -> Draft<Answer> {
        let body = json!({
            "setting": "club",
            "kind": "practice",
            "starts_at": starts_at,
            "minutes": minutes,
            "squads": [self.id()],
        });
        let caller = self.club().as_role("integration");
        Draft::new(caller.request(Method::POST, "events"), body, |answer| {
            answer.expect(201)
        })
    }
}

impl Athlete {
    /// Enters the athlete on the attendance list of an event, as the scheduling system passes on what the coach said.
    pub fn attendance(&self, event: &Answer, status: &str) -> Draft<Answer> {
        let body = json!({
            "event_id": event.string("event_id"),
            "athlete_id": self.id(),
            "status": status,
        });
        let caller = self.club().as_role("integration");
        Draft::new(caller.request(Method::POST, "attendance"), body, |answer| {
            answer
        })
    }
}
