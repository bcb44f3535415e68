//! `GET …/policy/suggestions`.

use actix_web::http::header;
use actix_web::{HttpResponse, get, web};
use plimsoll_domain::suggestions::{self, Suggestion};
use serde::Serialize;
use utoipa::ToSchema;

use crate::auth::tenant::{ClubScope, right};
use crate::error::Problem;
use crate::ids::ClubId;
use crate::web::refusals::ReadRefusals;

type Needed = right::ReadPolicy;

const NOTE: &str = "Suggestions, not law and not defaults: none of them holds before the club writes it into its policy. \
    Sources disagree, on hours and on free days for instance, and both are listed. Rules of school, federation and labour \
    law come first. None of it is a medical limit.";

/// Published limits a club may take up.
#[derive(Debug, Serialize, ToSchema)]
pub struct SuggestionsAnswer {
    /// What they are, and are not.
    pub note: &'static str,
    /// The suggestions, by what they concern.
    pub items: Vec<PolicySuggestion>,
}

/// A published limit: a suggestion, not law.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"code": "free_days_2", "concerns": "free days", "rule": null, "limit": null,
    "value": "at least 2 days a week free of organised sport",
    "source": "National Athletic Trainers' Association, official statement, 16 October 2019", "year": 2019,
    "about": "youth sports of all kinds",
    "conflict": "The basketball guidelines ask for one rest day a week from 12 years on, and two before.",
    "reading": "read_in_source"}))]
pub struct PolicySuggestion {
    /// Its stable code.
    #[schema(value_type = String)]
    pub code: &'static str,
    /// What it is about.
    #[schema(value_type = String)]
    pub concerns: &'static str,
    /// The rule of a policy that can hold it; null where no rule computes it yet.
    #[schema(value_type = Option<String>)]
    pub rule: Option<&'static str>,
    /// The limit to write into that rule.
    pub limit: Option<f64>,
    /// The value with its unit, in words.
    #[schema(value_type = String)]
    pub value: &'static str,
    /// Paper or statement.
    #[schema(value_type = String)]
    pub source: &'static str,
    /// Year of the source.
    pub year: u16,
    /// Whom and what the source was about.
    #[schema(value_type = String)]
    pub about: &'static str,
    /// What speaks against it, or what other sources ask for.
    #[schema(value_type = String)]
    pub conflict: &'static str,
    /// read_in_source, or value_from_memory: check it in the source before use.
    #[schema(value_type = String)]
    pub reading: &'static str,
}

impl From<Suggestion> for PolicySuggestion {
    fn from(one: Suggestion) -> Self {
        Self {
            code: one.code,
            concerns: one.concerns,
            rule: one.rule.map(|(rule, _)| rule.code()),
            limit: one.rule.map(|(_, limit)| limit.to_f64()),
            value: one.value,
            source: one.source,
            year: one.year,
            about: one.about,
            conflict: one.conflict,
            reading: one.reading.code(),
        }
    }
}

/// List published limits
///
/// Limits from papers and statements, each with its source, whom it was about, and what speaks against it. They are
/// suggestions and not law; nothing of them holds before it is written into the policy.
#[utoipa::path(
    tag = "Clubs",
    operation_id = "list_policy_suggestions",
    extensions(("x-roles" = json!(Needed::roles()))),
    params(("club_id" = ClubId, Path)),
    responses(
        (status = 200, description = "The suggestions", body = SuggestionsAnswer),
        ReadRefusals,
    )
)]
#[get("/v1/clubs/{club_id}/policy/suggestions")]
pub async fn list(
    _scope: ClubScope<Needed>,
    _path: web::Path<ClubId>,
) -> Result<HttpResponse, Problem> {
    let answer = SuggestionsAnswer {
        note: NOTE,
        items: suggestions::suggestions().map(Into::into).collect(),
    };
    Ok(HttpResponse::Ok()
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .json(answer))
}
