//! A club's roster kept by an identity provider, by SCIM 2.0.

mod examples;
mod refusals;
mod story;
mod twice;

pub(crate) use e2e::directory::{Directory, GROUP, PATCH, ROSTER, SEARCH, USER, group, ids, user};
pub(crate) use e2e::{Answer, Club, Database, Method, Server, on_both_databases};
pub(crate) use serde_json::{Value, json};

pub(crate) async fn world(database: Database) -> (Server, Club, Directory) {
    let server = Server::start(database).await;
    let club = server.club("Havneby Handball").await;
    let directory = Directory::of(&club, "integration");
    (server, club, directory)
}

/// The values of an attribute with several.
pub(crate) fn values(resource: &Value, name: &str) -> Vec<String> {
    let list = resource[name].as_array().into_iter().flatten();
    let mut found: Vec<String> = list
        .map(|one| one["value"].as_str().expect("a value").to_owned())
        .collect();
    found.sort();
    found
}

/// Asserts a refusal with this `scimType`.
#[track_caller]
pub(crate) fn assert_type(answer: Answer, status: u16, scim_type: &str) -> Answer {
    let answer = answer.expect(status);
    assert_eq!(answer["scimType"], scim_type, "{}", answer.text());
    assert_eq!(answer["status"], status.to_string());
    assert_eq!(answer.header("content-type"), Some("application/scim+json"));
    answer
}
