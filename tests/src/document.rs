//! The OpenAPI document: as committed, and as the running program serves it.

use std::path::Path;

use reqwest::Method;
use serde_json::{Value, json};

use crate::contract::Schemas;
use crate::server::Server;

/// Methods that a path item may have; the service uses no others.
const METHODS: [&str; 5] = ["get", "post", "put", "patch", "delete"];

/// The document.
pub struct Document {
    json: Value,
    pub(crate) schemas: Schemas,
}

/// One operation of it.
pub struct Operation {
    /// `GET`, `POST`, `PUT`, `PATCH` or `DELETE`.
    pub method: String,
    /// The path with its parameters, such as `/v1/clubs/{club_id}/flags`.
    pub path: String,
    /// The operation object.
    pub body: Value,
}

impl Operation {
    /// For messages: method and path.
    pub fn name(&self) -> String {
        format!("{} {}", self.method, self.path)
    }

    /// Its `operationId`.
    #[track_caller]
    pub fn id(&self) -> &str {
        let id = self.body["operationId"].as_str();
        id.unwrap_or_else(|| panic!("{} has no operationId", self.name()))
    }

    /// The method, to be sent.
    pub fn method(&self) -> Method {
        Method::from_bytes(self.method.as_bytes()).expect("a method")
    }

    /// Whether it is answered without a token.
    pub fn is_open(&self) -> bool {
        self.body["security"] == json!([{}])
    }

    /// Whether it is called with a token.
    pub fn takes_token(&self) -> bool {
        self.is_allowed("bearer") || self.body.get("security").is_none()
    }

    /// Whether the cookie of a link to a weekly list is enough.
    pub fn takes_list_cookie(&self) -> bool {
        self.is_allowed("list_cookie")
    }

    fn is_allowed(&self, scheme: &str) -> bool {
        let schemes = self.body["security"].as_array();
        let mut schemes = schemes.into_iter().flatten();
        schemes.any(|one| one.get(scheme).is_some())
    }

    /// The status of an answer where all is well: 303 where it leads on, else 200.
    pub fn good_status(&self) -> u16 {
        match self.body["responses"].get("303") {
            Some(_) => 303,
            None => 200,
        }
    }

    /// Whether a status is one of an answer where all is well.
    pub fn is_good(&self, status: u16) -> bool {
        (200..300).contains(&status) || status == self.good_status()
    }

    /// The roles that may call it; none where it is open to everybody.
    ///
    /// # Panics
    /// On an operation that neither is open nor says who may call it.
    #[track_caller]
    pub fn roles(&self) -> Vec<&str> {
        let roles = self.body["x-roles"].as_array();
        assert!(
            roles.is_some_and(|roles| !roles.is_empty()) != self.is_open(),
            "{} says no x-roles in openapi/openapi.json: give its route \
             `extensions((\"x-roles\" = json!(Needed::roles())))` with the right that its scope names, and print the document",
            self.name()
        );
        let roles = roles.into_iter().flatten();
        roles.map(|role| role.as_str().expect("a role")).collect()
    }

    /// Whether it asks for something with a body and changes nothing: a search, so that no name stands in a URL, a rehearsal, or a
    /// question about a plan.
    pub fn is_question(&self) -> bool {
        [
            "/search",
            "/.search",
            "/rehearsals",
            "/plan-checks",
            "/contact-checks",
            "/change-proposals",
            "/roster/sources/{source_id}/test",
        ]
        .iter()
        .any(|end| self.path.ends_with(end))
    }

    /// Whether it has this parameter.
    pub fn takes(&self, parameter: &str) -> bool {
        let parameters = self.body["parameters"].as_array();
        let mut parameters = parameters.into_iter().flatten();
        parameters.any(|given| given["name"] == parameter)
    }

    /// Whether its path names a record inside the club.
    pub fn has_record(&self) -> bool {
        let inside = self.path.strip_prefix("/v1/clubs/{club_id}/");
        inside.is_some_and(|inside| inside.contains("_id}"))
    }

    /// Whether it is a directory's, which keeps the conventions of RFC 7644 where they differ from those of the other operations.
    pub fn is_scim(&self) -> bool {
        self.path.starts_with("/scim/")
    }

    /// Whether it makes, removes or moves a club of invented people.
    pub fn is_about_sandboxes(&self) -> bool {
        self.body["tags"][0] == "Sandboxes"
    }

    /// Whether it works on one club.
    pub fn has_club(&self) -> bool {
        self.path.contains("{club_id}")
    }
}

impl Document {
    fn new(json: Value) -> Self {
        Self {
            schemas: Schemas::of(&json),
            json,
        }
    }

    /// The one that is committed.
    pub fn committed() -> Self {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../openapi/openapi.json");
        let text = std::fs::read_to_string(&file).expect("the committed document");
        Self::new(serde_json::from_str(&text).expect("JSON"))
    }

    /// The one that a server serves.
    pub async fn served_by(server: &Server) -> Self {
        Self::new(
            server
                .anonymous()
                .get("/openapi.json")
                .await
                .expect(200)
                .body,
        )
    }

    /// The whole document.
    pub fn json(&self) -> &Value {
        &self.json
    }

    /// Every role there is, with whose records it reaches: `club`, `squads`, `athletes` or `nobody`.
    pub fn reach(&self) -> impl Iterator<Item = (&str, &str)> {
        let reach = self.json["x-reach"].as_object().expect("x-reach");
        reach
            .iter()
            .map(|(role, reach)| (role.as_str(), reach.as_str().expect("a reach")))
    }

    /// Every operation but those about sandboxes, which take seconds to make: `tests/tests/sandboxes/` tries these by itself.
    pub fn operations(&self) -> Vec<Operation> {
        let mut operations = self.every_operation();
        operations.retain(|operation| !operation.is_about_sandboxes());
        operations
    }

    /// Every operation, in the order of the document.
    pub fn every_operation(&self) -> Vec<Operation> {
        let mut found = Vec::new();
        for (path, item) in self.json["paths"]
            .as_object()
            .expect("the document has paths")
        {
            let known = METHODS
                .iter()
                .filter_map(|method| Some((method, item.get(method)?)));
            found.extend(known.map(|(method, body)| Operation {
                method: method.to_uppercase(),
                path: path.clone(),
                body: body.clone(),
            }));
        }
        found
    }

    /// What a reference such as `#/components/schemas/Health` leads to.
    #[track_caller]
    pub fn target(&self, reference: &str) -> &Value {
        reference
            .strip_prefix('#')
            .and_then(|pointer| self.json.pointer(pointer))
            .unwrap_or_else(|| panic!("{reference} leads nowhere"))
    }

    /// A schema, or the one it refers to.
    pub fn resolved<'a>(&'a self, schema: &'a Value) -> &'a Value {
        match schema["$ref"].as_str() {
            Some(reference) => self.resolved(self.target(reference)),
            None => schema,
        }
    }
}
