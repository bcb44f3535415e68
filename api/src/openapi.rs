//! The OpenAPI 3.1 document, made from the routes themselves without a database.

mod nulls;
mod patches;

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde_json::json;
use utoipa::openapi::extensions::Extensions;
use utoipa::openapi::security::{ApiKey, ApiKeyValue, Http, HttpAuthScheme, SecurityScheme};
use utoipa::openapi::{OpenApi, SecurityRequirement};
use utoipa::{Modify, OpenApi as _};

use crate::auth::Role;
use crate::routes::{self, Routes};
use crate::web::cookie;

/// What the document says beside its paths.
#[derive(utoipa::OpenApi)]
#[openapi(
    info(
        title = "Plimsoll",
        description = "Training-load monitoring for clubs: session reports in, loads, ratios, monotony, \
            training strain and the weekly list out.\n\n\
            The figures describe logged load. They do not predict an injury in one person, they do not \
            show that anyone is safe, and they never clear anyone to train or play. Pain, a head knock, \
            fainting, breathlessness out of proportion, heat illness or swelling ends the session and goes \
            to a licensed clinician under local rules, whatever the figures say.\n\n\
            `x-roles` of an operation names the roles that may call it, others are answered 403. `x-reach` \
            says whose records a role reaches inside its club: everybody's (`club`), those of the token's \
            squads or of its athletes, or nobody's. What lies outside is answered 404, as if it were absent.",
        license(name = "MIT OR Apache-2.0")
    ),
    modifiers(&Bearer, &ListCookie, &Reach),
    components(schemas(
        crate::error::ProblemBody, crate::error::FieldProblem, crate::routes::scim::shapes::ScimError
    )),
    tags(
        (name = "Clubs", description = "A club, its time zone and its policy."),
        (name = "People", description = "Squads, their members, and athletes."),
        (name = "Directory", description = "The roster as an identity provider keeps it, by SCIM 2.0 (RFC 7643, RFC 7644): people are users, squads are groups."),
        (name = "Schedule", description = "Planned sessions, who is invited, and who took part."),
        (name = "Sessions", description = "Session reports: session RPE and minutes, one at a time or in bulk."),
        (name = "Days", description = "Days of rest, spans of absence, and what a joiner says of the time before."),
        (name = "Pain reports", description = "Whether something hurts, and where: for the family, and for athletic trainers by consent."),
        (name = "Tests", description = "Results of physical tests by side, and which side was hurt when: for athletic trainers."),
        (name = "Exercises", description = "The catalogue of exercises, and techniques signed off by who watched. It states no dose, and a sign-off clears nobody."),
        (name = "Programmes", description = "Programmes of weeks, days and ordered items in versions, as JSON and as a table, and who does them. A programme is an intention, and no amount in it is a target."),
        (name = "Questions", description = "What athletes and guardians ask about a session or an item of a programme, and what strength coaches answer. It is not an emergency channel, and the service itself answers nothing."),
        (name = "Clinical", description = "Licences on file, restrictions and clearance records: what licensed clinicians decide. The service decides nothing."),
        (name = "Consents", description = "What families have consented to, what needs consent, and what flowed without. Local law decides who may consent, and to what."),
        (name = "Retention", description = "How long a club keeps what of athletes who have left, what is due, and holds. Local law decides how long records may and must be kept."),
        (name = "Figures", description = "Loads, ratios, monotony, training strain; the weekly list and its flags."),
        (name = "Changes", description = "What has changed, in order: for programs that follow a club."),
        (name = "Plans", description = "Plans before they are done: where they are over the club's limits, and the smallest changes. Nothing of it is stored, and no limit is a target."),
        (name = "Notices", description = "Where notices of a club go as signed webhooks (Standard Webhooks 1.0.0, CloudEvents 1.0), and how each fared."),
        (name = "Sandboxes", description = "Clubs of invented people to try a program against, each with a clock that is set. Nothing leaves them, and no token of theirs is good elsewhere."),
        (name = "Service", description = "Health, metrics, the list of problem codes, this document."),
    )
)]
struct Frame;

struct Bearer;

impl Modify for Bearer {
    fn modify(&self, document: &mut OpenApi) {
        let scheme = Http::builder()
            .scheme(HttpAuthScheme::Bearer)
            .bearer_format("JWT (RFC 9068)")
            .description(Some(
                "An access token of a configured issuer. A token with several roles needs the \
                 `Acting-Role` header.",
            ))
            .build();
        document
            .components
            .get_or_insert_default()
            .security_schemes
            .insert("bearer".to_owned(), SecurityScheme::Http(scheme).into());
        document.security = Some(vec![SecurityRequirement::new::<_, [&str; 0], &str>(
            "bearer",
            [],
        )]);
    }
}

/// What a browser that opened a link keeps.
struct ListCookie;

impl Modify for ListCookie {
    fn modify(&self, document: &mut OpenApi) {
        let description = "The cookie of a link to one weekly list (`open_page`): its holder acts as a coach of that \
             squad, for that week's list alone.";
        let cookie = ApiKey::Cookie(ApiKeyValue::with_description(cookie::NAME, description));
        let components = document.components.get_or_insert_default();
        let scheme = SecurityScheme::ApiKey(cookie).into();
        components
            .security_schemes
            .insert("list_cookie".to_owned(), scheme);
    }
}

/// Whose records each role reaches.
struct Reach;

impl Modify for Reach {
    fn modify(&self, document: &mut OpenApi) {
        let reach: BTreeMap<&str, &str> = Role::ALL
            .iter()
            .map(|role| (role.code(), role.reaches().code()))
            .collect();
        let extension = Extensions::builder().add("x-reach", json!(reach)).build();
        document.extensions.get_or_insert_default().merge(extension);
    }
}

/// The whole document.
pub fn document() -> OpenApi {
    let mut document = Frame::openapi();
    routes::configure(&mut Routes::Documented(&mut document));
    nulls::require(&mut document);
    patches::describe(&mut document);
    document
}

/// Over a megabyte, and the same for as long as the program runs: anybody may ask for it, so it is written once.
static TEXT: LazyLock<serde_json::Result<String>> =
    LazyLock::new(|| Ok(serde_json::to_string_pretty(&document())? + "\n"));

/// The document as committed: indented JSON with a final line break.
pub fn text() -> Result<&'static str, &'static serde_json::Error> {
    TEXT.as_deref()
}
