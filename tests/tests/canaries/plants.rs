//! What is planted, and where.

use crate::*;

pub(crate) const NAME: &str = "Canaryname";
pub(crate) const EXTERNAL_ID: &str = "canary-id-4711";
pub(crate) const BIRTH_DATE: &str = "2010-12-24";
pub(crate) const NOTE: &str = "canarynote";
pub(crate) const REASON: &str = "canaryreason";
pub(crate) const ADDRESS: &str = "canarymail@havneby.example";
pub(crate) const HOOK: &str = "canaryhook";
pub(crate) const TOKEN: &str = "canaryhead.canarytoken.canarysignature";
pub(crate) const KEY: &str = "canarykey";
pub(crate) const PURPOSE: &str = "canarypurpose";
pub(crate) const INJURY: &str = "canaryinjury";
pub(crate) const SCOPE: &str = "canaryscope";
pub(crate) const FOLDER: &str = "canaryfolder";
pub(crate) const INSTRUCTION: &str = "canaryinstruction";
pub(crate) const CLINICAL: &str = "canaryclinical";
pub(crate) const SQUAD: &str = "Canarysquad";
pub(crate) const FILE: &str = "canaryfile";
pub(crate) const BODY: &str = "canarybody";
pub(crate) const HEADER: &str = "canaryheader";
pub(crate) const QUERY: &str = "canaryquery";
pub(crate) const CELL: &str = "canarycell";
pub(crate) const ACKNOWLEDGED: &str = "canaryacknowledged";
pub(crate) const LICENCE: &str = "Canarylicence";
pub(crate) const TESTER: &str = "Canarytester";
pub(crate) const CONSENTED: &str = "canaryconsented";
pub(crate) const FORM: &str = "canaryform";
pub(crate) const QUESTION: &str = "canaryquestion";
pub(crate) const REPLY: &str = "canaryreply";
pub(crate) const ORGANISATION: &str = "Canaryorganisation";
/// What the club can read afterwards: it was not refused on the way.
pub(crate) const STORED: [&str; 17] = [
    NAME,
    EXTERNAL_ID,
    NOTE,
    REASON,
    ADDRESS,
    HOOK,
    SCOPE,
    FOLDER,
    INSTRUCTION,
    CLINICAL,
    SQUAD,
    CELL,
    LICENCE,
    CONSENTED,
    FORM,
    ORGANISATION,
    QUESTION,
];
/// What the log is known to hold: the caller's trace id (W3C Trace Context).
pub(crate) const TRACE: &str = "ca0a7ca0a7ca0a7ca0a7ca0a7ca0a7ca";

/// The canaries of a run.
pub(crate) struct Plants {
    /// What the service made itself and told once.
    secret: String,
    token: String,
}

impl Plants {
    /// Stores one of each; two are the service's own: a webhook's secret and a token.
    pub(crate) async fn new(server: &Server, writes: &Writes) -> Self {
        let club = writes.club();
        let admin = club.as_role("club_admin");
        let hook = json!({ "url": format!("https://one.example.invalid/{HOOK}") });
        let hook = admin.post("notice-endpoints", hook).await.expect(201);
        let mail = json!({ "channel": "email", "address": ADDRESS });
        admin.post("notice-endpoints", mail).await.expect(201);
        let person = json!({ "external_id": EXTERNAL_ID, "display_name": NAME, "birth_date": BIRTH_DATE, "joined_on": "2026-01-01" });
        admin.post("athletes", person).await.expect(201);
        let injury = json!({ "athlete_id": writes.athlete().id(), "side": "left", "injured_on": "2026-10-21", "note": INJURY });
        let trainer = club.as_role("athletic_trainer");
        let refused = trainer.post("injuries", injury).await;
        assert!((400..500).contains(&refused.status), "{}", refused.text());
        Self {
            secret: hook.string("secret"),
            token: server.token(&Identity::role("integration").club(club.id())),
        }
    }

    /// Every canary with its kind.
    pub(crate) fn all(&self) -> Vec<(&'static str, String)> {
        let fixed = [
            ("display name", NAME),
            ("external id", EXTERNAL_ID),
            ("birth date", BIRTH_DATE),
            ("note of a report", NOTE),
            ("reason", REASON),
            ("address of a recipient", ADDRESS),
            ("path of a webhook", HOOK),
            ("token that is none", "canarytoken"),
            ("idempotency key", KEY),
            ("purpose", PURPOSE),
            ("text with an injury", INJURY),
            ("scope of a decision", SCOPE),
            ("where a document is", FOLDER),
            ("instruction", INSTRUCTION),
            ("clinician's note", CLINICAL),
            ("squad", SQUAD),
            ("line of a file", FILE),
            ("broken body", BODY),
            ("header field", HEADER),
            ("query", QUERY),
            ("cell", CELL),
            ("acknowledgement", ACKNOWLEDGED),
            ("licence", LICENCE),
            ("tester", TESTER),
            ("what a consent is for", CONSENTED),
            ("where a form is", FORM),
            ("organisation", ORGANISATION),
            ("question", QUESTION),
            ("reply", REPLY),
        ];
        let own = [
            ("secret of a webhook", &self.secret),
            ("token", &self.token),
        ];
        let fixed = fixed.map(|(kind, text)| (kind, text.to_owned()));
        fixed
            .into_iter()
            .chain(own.map(|(kind, text)| (kind, text.clone())))
            .collect()
    }

    /// Puts canaries wherever this operation takes a text, and where none takes one.
    pub(crate) fn planted_in(&self, request: Request, operation: &Operation) -> Request {
        let request = request
            .header("X-Canary", HEADER)
            .header("User-Agent", HEADER)
            .header("traceparent", format!("00-{TRACE}-ca0a7ca0a7ca0a7c-01"));
        let request = match operation.method.as_str() {
            "POST" => request.idempotency_key(&format!("{KEY} {}", operation.name())),
            _ => request,
        };
        let fields = fields(operation);
        match serde_json::from_str::<Value>(&request.text()) {
            Ok(Value::Object(mut body)) if !fields.is_empty() => {
                for (field, value) in fields {
                    body.insert(field.to_owned(), value.into());
                }
                let kind = match operation.method.as_str() {
                    "PATCH" => "application/merge-patch+json",
                    _ => "application/json",
                };
                request.body(kind, Value::Object(body).to_string())
            }
            _ => request,
        }
    }
}

/// The texts that an operation takes.
fn fields(operation: &Operation) -> Vec<(&'static str, &'static str)> {
    let path = operation
        .path
        .strip_prefix("/v1/clubs/{club_id}")
        .unwrap_or(&operation.path);
    match (operation.method.as_str(), path) {
        ("POST", "/squads") | ("PUT" | "PATCH", "/squads/{squad_id}") => vec![("name", SQUAD)],
        ("POST", "/athletes") | ("PUT", "/athletes/{athlete_id}") => {
            vec![("display_name", NAME), ("birth_date", BIRTH_DATE)]
        }
        ("PATCH", "/athletes/{athlete_id}") => {
            vec![("display_name", NAME), ("external_id", EXTERNAL_ID)]
        }
        ("POST", "/scim/v2/clubs/{club_id}/Users")
        | ("PUT", "/scim/v2/clubs/{club_id}/Users/{user_id}") => {
            vec![("displayName", NAME), ("userName", EXTERNAL_ID)]
        }
        ("POST", "/athletes/search") => vec![("name", NAME)],
        ("POST", "/sessions") | ("PUT" | "PATCH", "/sessions/{session_id}") => {
            vec![("note", NOTE), ("reason", REASON)]
        }
        (
            "DELETE",
            "/sessions/{session_id}"
            | "/restrictions/{restriction_id}"
            | "/athletes/{athlete_id}/sign-offs/{sign_off_id}",
        )
        | ("POST", "/revocations") => {
            vec![("reason", REASON)]
        }
        ("POST", "/restrictions") | ("PUT" | "PATCH", "/restrictions/{restriction_id}") => {
            vec![("instruction", INSTRUCTION), ("note", CLINICAL)]
        }
        ("PUT", "/athletes/{athlete_id}/sign-offs/{sign_off_id}") => vec![("note", NOTE)],
        ("POST", "/athletes/{athlete_id}/questions") => vec![("text", QUESTION)],
        ("PATCH", "/questions/{question_id}") => vec![("reply", REPLY)],
        ("POST", "/clearance-records") => vec![("scope", SCOPE), ("document_reference", FOLDER)],
        ("POST", "/flags/{flag_id}/acknowledgement") => vec![("note", ACKNOWLEDGED)],
        ("POST", "/licences") => vec![("name", LICENCE)],
        ("POST", "/tests") | ("PUT", "/tests/{test_result_id}") => vec![("tester", TESTER)],
        ("POST", "/athletes/{athlete_id}/consents") => {
            vec![
                ("purpose", CONSENTED),
                ("text_version", CONSENTED),
                ("evidence", FORM),
            ]
        }
        ("POST", "/athletes/{athlete_id}/consents/{consent_id}/withdrawal") => {
            vec![("evidence", FORM)]
        }
        ("POST", "/athletes/{athlete_id}/sharing-codes") => vec![("organisation", ORGANISATION)],
        ("PUT", "/mail-settings") => vec![("sender_name", NAME), ("reply_to", ADDRESS)],
        _ => Vec::new(),
    }
}
