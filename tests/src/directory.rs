//! An identity provider that keeps a club's roster by SCIM 2.0 (RFC 7644).

use reqwest::Method;
use serde_json::{Value, json};

use crate::answer::Answer;
use crate::club::Club;
use crate::request::{Client, Request};

/// The schema of a user.
pub const USER: &str = "urn:ietf:params:scim:schemas:core:2.0:User";
/// The schema of a group.
pub const GROUP: &str = "urn:ietf:params:scim:schemas:core:2.0:Group";
/// What the roster says of an athlete.
pub const ROSTER: &str = "urn:plimsoll:scim:schemas:extension:roster:1.0:User";
/// The schema of a patch.
pub const PATCH: &str = "urn:ietf:params:scim:api:messages:2.0:PatchOp";
/// The schema of a search.
pub const SEARCH: &str = "urn:ietf:params:scim:api:messages:2.0:SearchRequest";

/// A caller of one club's directory.
pub struct Directory {
    caller: Client,
    base: String,
}

impl Directory {
    /// Of a club, in a role.
    pub fn of(club: &Club, role: &str) -> Self {
        Self::by(club.as_role(role), club)
    }

    /// Of a club, by a caller.
    pub fn by(caller: Client, club: &Club) -> Self {
        Self {
            caller,
            base: format!("/scim/v2/clubs/{}", club.id()),
        }
    }

    /// A path of the directory.
    pub fn path(&self, path: &str) -> String {
        format!("{}/{path}", self.base)
    }

    /// `GET`
    pub fn get(&self, path: &str) -> Request {
        self.caller.get(self.path(path))
    }

    /// Who or what a filter finds.
    pub fn filtered(&self, path: &str, filter: &str) -> Request {
        self.get(path).query("filter", filter)
    }

    /// A request with a body.
    pub fn send(&self, method: Method, path: &str, body: &Value) -> Request {
        self.caller.request(method, self.path(path)).scim(body)
    }

    /// `POST`
    pub fn post(&self, path: &str, body: Value) -> Request {
        self.send(Method::POST, path, &body)
    }

    /// `PUT`
    pub fn put(&self, path: &str, body: Value) -> Request {
        self.send(Method::PUT, path, &body)
    }

    /// `PATCH` with these operations.
    pub fn patch(&self, path: &str, operations: Value) -> Request {
        let body = json!({ "schemas": [PATCH], "Operations": operations });
        self.send(Method::PATCH, path, &body)
    }

    /// `DELETE`
    pub fn delete(&self, path: &str) -> Request {
        self.caller.delete(self.path(path))
    }
}

/// An athlete as a directory sends her.
pub fn user(name: &str) -> Value {
    json!({
        "schemas": [USER, ROSTER], "userName": name, "externalId": format!("id-{name}"), "displayName": format!("Player {name}"),
        ROSTER: { "birthDate": "2011-03-14", "joinedOn": "2026-08-03" },
    })
}

/// A squad as a directory sends it.
pub fn group(name: &str, members: &[&str]) -> Value {
    let members = members.iter().map(|id| json!({ "value": id }));
    json!({
        "schemas": [GROUP], "displayName": name, "externalId": format!("id-{name}"), "members": members.collect::<Vec<_>>(),
    })
}

/// The ids of what a list holds.
pub fn ids(list: &Answer) -> Vec<String> {
    let found = list["Resources"].as_array().expect("Resources");
    let id = |one: &Value| one["id"].as_str().expect("an id").to_owned();
    found.iter().map(id).collect()
}

/// Users and groups to be changed and to be removed.
pub(crate) async fn prepare(club: &Club) -> ([String; 2], [String; 2]) {
    let directory = Directory::of(club, "integration");
    let mut users = Vec::new();
    for name in ["changed", "removed"] {
        let made = directory.post("Users", user(name)).await.expect(201);
        users.push(made.string("id"));
    }
    let mut groups = Vec::new();
    for name in ["U12", "U14"] {
        let made = directory.post("Groups", group(name, &[])).await;
        groups.push(made.expect(201).string("id"));
    }
    let two = |list: Vec<String>| list.try_into().expect("two");
    (two(users), two(groups))
}

/// The write of an operation, by its path below the club's directory.
pub(crate) fn write(
    app: &Client,
    club: &Club,
    method: &str,
    path: &str,
    ([user_changed, user_removed], [group_changed, group_removed]): (&[String; 2], &[String; 2]),
) -> Option<Request> {
    let directory = Directory::by(app.clone(), club);
    let search = json!({ "schemas": [SEARCH], "filter": "displayName sw \"U1\"", "count": 5 });
    let members = json!([{ "op": "add", "path": "members", "value": [{ "value": user_changed }] }]);
    let named = json!([{ "op": "replace", "path": "displayName", "value": "Asta" }]);
    Some(match (method, path) {
        ("POST", "/.search" | "/Users/.search" | "/Groups/.search") => {
            directory.post(path.trim_start_matches('/'), search)
        }
        ("POST", "/Users") => directory.post("Users", user("new")),
        ("PUT", "/Users/{user_id}") => {
            directory.put(&format!("Users/{user_changed}"), user("other"))
        }
        ("PATCH", "/Users/{user_id}") => directory.patch(&format!("Users/{user_changed}"), named),
        ("DELETE", "/Users/{user_id}") => directory.delete(&format!("Users/{user_removed}")),
        ("POST", "/Groups") => directory.post("Groups", group("U10", &[])),
        ("PUT", "/Groups/{squad_id}") => {
            directory.put(&format!("Groups/{group_changed}"), group("U13", &[]))
        }
        ("PATCH", "/Groups/{squad_id}") => {
            directory.patch(&format!("Groups/{group_changed}"), members)
        }
        ("DELETE", "/Groups/{squad_id}") => directory.delete(&format!("Groups/{group_removed}")),
        _ => return None,
    })
}
