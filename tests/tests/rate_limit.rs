//! The quota of requests a minute: the caller's own, announced, and not to be dodged.

use e2e::{Database, Identity, Server};

#[tokio::test]
async fn a_93_a_quota_is_the_callers_own() {
    let setup = Server::setup(Database::Sqlite).setting("PLIMSOLL_RATE_LIMIT", "3");
    let server = setup.start().await;
    let club = server.club("Havneby Handball").await;
    let coach = club.client(Identity::role("coach").subject("coach-3"));
    for left in ["2", "1", "0"] {
        let answer = coach.get("squads").await.expect(200);
        let announced = answer.header("ratelimit").expect("RateLimit");
        assert!(announced.contains(&format!(";r={left};")), "{announced}");
        assert_eq!(
            answer.header("ratelimit-policy"),
            Some("\"default\";q=3;w=60")
        );
    }
    for forwarded in ["192.0.2.7", "192.0.2.8"] {
        let again = coach
            .get("squads")
            .header("X-Forwarded-For", forwarded)
            .await;
        let refused = again.expect_problem(429, "too_many_requests");
        let wait = refused.header("retry-after").expect("Retry-After");
        assert!(
            wait.parse::<u32>().is_ok_and(|seconds| seconds <= 60),
            "{wait}"
        );
    }
    let colleague = club.client(Identity::role("coach").subject("coach-4"));
    colleague.get("squads").await.expect(200);
}
