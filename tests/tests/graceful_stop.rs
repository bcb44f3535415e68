//! The order of a stop (T-24): not ready, then no more connections, then the end of what was accepted and of what is being sent.
//! Asked twice, the program ends at once.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use e2e::{
    Answering, Athlete, Client, Connection, Identity, Receiver, Server, on_both_databases, until,
};
use serde_json::json;
use tokio::sync::Notify;

/// Requests that are half sent when the listener closes.
const HALF_SENT: usize = 50;

async fn athlete(server: &Server) -> Athlete {
    let club = server.club("Havneby Handball").await;
    club.squad("U16").await.athlete("P-07").await
}

/// A report of its own on a connection of its own. It ends in white space, of which so much comes at a time that nobody calls it slow.
struct Report {
    connection: Connection,
    left: usize,
}

impl Report {
    const SPACES: usize = 300_000;

    /// Sends the head and all that is not white space.
    async fn begin(server: &Server, athlete: &Athlete, token: &str, number: usize) -> Self {
        let at = format!("2026-11-02T10:{number:02}:00+01:00");
        let report = athlete.session(&at, 1, 5.0).into_body().to_string();
        let head = format!(
            "POST /v1/clubs/{}/sessions HTTP/1.1\r\nHost: plimsoll\r\nAuthorization: Bearer {token}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{report}",
            athlete.club().id(),
            report.len() + Self::SPACES,
        );
        let mut connection = server.connect().await;
        assert!(connection.send(head).await);
        Self {
            connection,
            left: Self::SPACES,
        }
    }

    /// Sends a little more, and never the last of it.
    async fn go_on(&mut self) {
        if self.left > 500 {
            self.left -= 500;
            assert!(self.connection.send(" ".repeat(500)).await);
        }
    }

    /// Sends the rest.
    async fn end(&mut self) {
        assert!(self.connection.send(" ".repeat(self.left)).await);
    }
}

fn token(server: &Server, athlete: &Athlete) -> String {
    server.token(&Identity::role("integration").club(athlete.club().id()))
}

/// How readiness is answered on a new connection; `None` where there is none to be had.
async fn readiness(server: &Server) -> Option<String> {
    let mut connection = server.try_to_connect().await?;
    connection
        .send("GET /health/ready HTTP/1.1\r\nHost: plimsoll\r\nConnection: close\r\n\r\n")
        .await;
    Some(connection.read_status().await)
}

/// Waits until nobody can connect any more.
async fn listens_no_more(server: &Server) {
    while server.try_to_connect().await.is_some() {
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

/// Names an endpoint at the receiver, which confirms it, and gives its id.
async fn endpoint(admin: &Client, receiver: &Receiver) -> String {
    let made = admin
        .post("notice-endpoints", json!({ "url": receiver.url() }))
        .await
        .expect(201);
    let endpoint = made.string("endpoint_id");
    until(async || {
        let path = format!("notice-endpoints/{endpoint}");
        let read = admin.get(path).await.expect(200);
        if read["confirmed_at"].is_null() {
            Err(read)
        } else {
            Ok(())
        }
    })
    .await;
    endpoint
}

async fn try_out(admin: &Client, endpoint: &str) -> String {
    let path = format!("notice-endpoints/{endpoint}/test");
    admin
        .post(path, json!({}))
        .await
        .expect(202)
        .string("notice_id")
}

on_both_databases! {
    async fn it_is_not_ready_before_it_listens_no_more_and_ends_what_it_accepted(database: Database) {
        let mut server = Server::setup(database).setting("PLIMSOLL_DRAIN_SECONDS", "2").start().await;
        let athlete = athlete(&server).await;
        let token = token(&server, &athlete);
        assert_eq!(readiness(&server).await.as_deref(), Some("HTTP/1.1 200 OK"));
        server.ask_to_stop();
        while readiness(&server).await.as_deref() == Some("HTTP/1.1 200 OK") {}
        // Not ready, it takes connections as before.
        let mut reports = Vec::new();
        for number in 0..HALF_SENT {
            reports.push(Report::begin(&server, &athlete, &token, number).await);
        }
        let mut seen = BTreeSet::new();
        while let Some(status) = readiness(&server).await {
            // The last may have come too late to be accepted.
            seen.extend(Some(status).filter(|status| !status.is_empty()));
            for report in &mut reports {
                report.go_on().await;
            }
        }
        assert_eq!(seen, BTreeSet::from(["HTTP/1.1 503 Service Unavailable".to_owned()]));
        for report in &mut reports {
            report.end().await;
        }
        let mut written = 0;
        for mut report in reports {
            match report.connection.read_status().await.as_str() {
                "HTTP/1.1 201 Created" => written += 1,
                // All at once are more than there are connections to the database: nothing was promised.
                "HTTP/1.1 503 Service Unavailable" => {}
                other => panic!("{other:?}"),
            }
        }
        assert!(written > 0, "everybody was told to come again");
        let status = server.ended().await;
        assert!(status.success(), "the program ended with {status}");
        server.restart().await;
        let stored = athlete.club().as_role("integration").get("sessions").query("limit", 500).await.expect(200);
        assert_eq!(stored["items"].as_array().map(Vec::len), Some(written));
    }

    async fn what_is_being_sent_is_sent_and_written_down_and_nothing_more(database: Database) {
        let mut server = Server::setup(database)
            .setting("PLIMSOLL_JOBS", "on")
            .setting("PLIMSOLL_WEBHOOK_LOOPBACK", "on")
            .start()
            .await;
        let admin = server.club("Havneby Handball").await.as_role("club_admin");
        let let_go = Arc::new(Notify::new());
        let held = Arc::clone(&let_go);
        let receiver = Receiver::start(move |number| match number {
            0 => Answering::Held(Arc::clone(&held), "204 No Content\r\n"),
            _ => Answering::Head("204 No Content\r\n"),
        })
        .await;
        let endpoint = endpoint(&admin, &receiver).await;
        let first = try_out(&admin, &endpoint).await;
        receiver.wait_for(1).await;
        let second = try_out(&admin, &endpoint).await;
        server.ask_to_stop();
        listens_no_more(&server).await;
        let_go.notify_one();
        let status = server.ended().await;
        assert!(status.success(), "the program ended with {status}");
        let states = "SELECT state, attempts FROM deliveries JOIN notices USING (club_id, notice_id) WHERE kind = 'test' ORDER BY notice_id";
        let row = |state: &str, attempts: &str| vec![state.to_owned(), attempts.to_owned()];
        assert_eq!(server.rows(states), [row("delivered", "1"), row("pending", "0")]);
        server.restart().await;
        let messages = receiver.wait_for(2).await;
        let ids: Vec<&str> = messages.iter().map(|message| message.field("webhook-id")).collect();
        assert_eq!(ids, [first.as_str(), second.as_str()], "each once");
    }

    async fn asked_twice_it_ends_at_once(database: Database) {
        let mut server = Server::start(database).await;
        let athlete = athlete(&server).await;
        let token = token(&server, &athlete);
        let mut half_sent = Report::begin(&server, &athlete, &token, 0).await;
        // This one is answered, so the other has been taken up before it.
        server.anonymous().get("/health/live").await.expect(200);
        server.ask_to_stop();
        listens_no_more(&server).await;
        server.ask_to_stop();
        let status = server.ended().await;
        assert_eq!(status.code(), Some(1), "{status}");
        assert_eq!(half_sent.connection.read_status().await, "", "it was not waited for");
        server.restart().await;
        let stored = athlete.club().as_role("integration").get("sessions").await.expect(200);
        assert_eq!(stored["items"], json!([]));
    }
}
