//! Requests that are broken below JSON: heads that are ambiguous, too long or not HTTP. The HTTP layer answers them
//! itself, without a body; what counts is that it refuses them, once, and goes on.

use crate::*;

/// What the server says to these bytes until it closes the connection.
async fn said_to(server: &Server, bytes: &[u8]) -> String {
    let mut connection = server.connect().await;
    connection.send(bytes).await;
    connection.read_to_end().await
}

fn request(head: &str) -> Vec<u8> {
    let head = head.replace('\n', "\r\n");
    format!("{head}\r\n\r\n").into_bytes()
}

#[tokio::test]
async fn ambiguous_heads_are_refused_with_one_answer() {
    let server = Server::start(Database::Sqlite).await;
    for head in [
        "POST /v1/clubs HTTP/1.1\nHost: a\nContent-Length: 5\nTransfer-Encoding: chunked",
        "POST /v1/clubs HTTP/1.1\nHost: a\nContent-Length: 5\nContent-Length: 6",
        "POST /v1/clubs HTTP/1.1\nHost: a\nContent-Length: -1",
        "POST /v1/clubs HTTP/1.1\nHost: a\nTransfer-Encoding: xchunked",
        "GET /health/live HTTP/1.1\nHost : a",
        "GET /health/live HTTP/1.1\nHost: a\n folded: yes",
        "GET /health/live HTTP/9.9\nHost: a",
        "GET  /health/live HTTP/1.1\nHost: a",
        "nonsense",
    ] {
        let said = said_to(&server, &request(head)).await;
        let answers = said.matches("HTTP/1.1 ").count();
        assert!(answers <= 1, "{head}: {said}");
        assert!(
            said.is_empty() || said.starts_with("HTTP/1.1 4") || said.starts_with("HTTP/1.1 501"),
            "{head}: {said}"
        );
    }
    assert_alive(&server).await;
}

#[tokio::test]
async fn heads_that_are_too_long_are_refused() {
    let server = Server::start(Database::Sqlite).await;
    let long_field = format!(
        "GET /health/live HTTP/1.1\nHost: a\nX-Long: {}",
        "x".repeat(200_000)
    );
    let many_fields = format!(
        "GET /health/live HTTP/1.1\nHost: a{}",
        "\nX-A: b".repeat(200)
    );
    let long_path = format!("GET /{} HTTP/1.1\nHost: a", "x".repeat(200_000));
    for head in [long_field, many_fields, long_path] {
        let said = said_to(&server, &request(&head)).await;
        assert!(
            said.is_empty() || said.starts_with("HTTP/1.1 4"),
            "{}: {said}",
            &head[..40]
        );
    }
    assert_alive(&server).await;
}

#[tokio::test]
async fn a_length_that_lies_harms_nobody() {
    let server = Server::start(Database::Sqlite).await;
    let club = server.club("Havneby Handball").await;
    let token = server.token(&Identity::role("integration").club(club.id()));
    let post = |length: usize, body: &str| {
        let head = format!(
            "POST /v1/clubs/{}/sessions HTTP/1.1\nHost: a\nAuthorization: Bearer {token}\n\
             Content-Type: application/json\nConnection: close\nContent-Length: {length}",
            club.id()
        );
        [request(&head), body.as_bytes().to_vec()].concat()
    };
    // Two bytes too many belong to nothing; the body that was announced is judged.
    let said = said_to(&server, &post(2, "{}{}")).await;
    assert!(said.starts_with("HTTP/1.1 422"), "{said}");
    // More announced than sent: the sender goes away in the middle.
    let mut half = server.connect().await;
    half.send(post(50, "{}")).await;
    drop(half);
    assert_alive(&server).await;
}

#[tokio::test]
async fn a_thousand_requests_in_one_go_are_answered_one_by_one() {
    let server = Server::start(Database::Sqlite).await;
    let mut requests = request("GET /health/live HTTP/1.1\nHost: a").repeat(999);
    requests.extend(request(
        "GET /health/live HTTP/1.1\nHost: a\nConnection: close",
    ));
    let mut connection = server.connect().await;
    connection.send(requests).await;
    let said = connection.read_to_end().await;
    assert_eq!(said.matches("HTTP/1.1 200 OK").count(), 1_000);
    assert_alive(&server).await;
}
