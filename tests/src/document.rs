//! The OpenAPI document of the running program.

use serde_json::Value;

use crate::server::Server;

/// Methods that a path item may have; the service uses no others.
const METHODS: [&str; 5] = ["get", "post", "put", "patch", "delete"];

/// The document as it is served.
pub struct Document(Value);

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

    /// Whether it works on one club.
    pub fn has_club(&self) -> bool {
        self.path.contains("{club_id}")
    }
}

impl Document {
    /// Fetches it.
    pub async fn served_by(server: &Server) -> Self {
        Self(
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
        &self.0
    }

    /// Every operation, in the order of the document.
    pub fn operations(&self) -> Vec<Operation> {
        let mut found = Vec::new();
        for (path, item) in self.0["paths"].as_object().expect("the document has paths") {
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
            .and_then(|pointer| self.0.pointer(pointer))
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
