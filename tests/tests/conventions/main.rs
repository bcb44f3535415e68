//! The conventions that hold for every call: trials, keys, preconditions, lists, methods, borders, header fields.

mod borders;
mod dry_run;
mod header_fields;
mod idempotency;
mod lists;
mod methods;
mod preconditions;

pub(crate) use e2e::{
    Answer, Athlete, Client, Club, Database, Document, Identity, Method, Server, Squad,
    on_both_databases,
};
pub(crate) use serde_json::{Value, json};

/// One club with one squad and one athlete.
pub(crate) struct World {
    pub(crate) server: Server,
    pub(crate) club: Club,
    pub(crate) squad: Squad,
    pub(crate) athlete: Athlete,
}

pub(crate) async fn world(database: Database) -> World {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    let squad = club.squad("U16").await;
    let athlete = squad.athlete("P-07").await;
    World {
        server,
        club,
        squad,
        athlete,
    }
}

impl World {
    /// The roster app.
    pub(crate) fn app(&self) -> Client {
        self.club.as_role("integration")
    }

    /// A report of 540 AU on 3 November 2026, under the roster app's id.
    pub(crate) fn report(&self, external_id: &str) -> Value {
        let report = self.athlete.session("2026-11-03T17:30:00+01:00", 90, 6.0);
        report.with("external_id", external_id).into_body()
    }

    pub(crate) async fn sessions(&self) -> Vec<Value> {
        let list = self
            .app()
            .get("sessions")
            .query("limit", 500)
            .await
            .expect(200);
        list["items"].as_array().expect("items").clone()
    }
}
