//! The process answers as soon as it listens.

use e2e::{Server, on_both_databases};

on_both_databases! {
    async fn health_live(database: Database) {
        let mut server = Server::start(database).await;
        let answer = server.anonymous().get("/health/live").await;
        assert_eq!(answer.status, 200, "{}", answer.text());
        let status = server.stop();
        assert!(status.success(), "after SIGTERM the program ends with {status}");
    }
}
