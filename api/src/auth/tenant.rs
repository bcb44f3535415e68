//! The club scope of a request: who asks, in which club, with which right.
//!
//! [`ClubScope`] is the only way for a route to reach a club's data. It is an extractor: a route
//! that names `ClubScope<ReadLoad>` runs only after the token was checked (401), the club in the
//! path is the token's (else 404, as if it were not there) and the acting role has the right (403).

use std::future::Future;
use std::marker::PhantomData;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpMessage, HttpRequest, web};

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::principal::{ActingRoleError, Principal};
use super::reference::Reference;
use super::role::{Role, Scope};
use super::token::TokenError;
use crate::app::App;
use crate::error::{Code, Problem};
use crate::ids::ClubId;
use crate::store::Tenant;
use crate::telemetry;
use crate::web::refused::{self, Entitled};

/// A right, as a type.
pub trait Right {
    /// The scope a role must have.
    const SCOPE: Scope;
}

macro_rules! rights {
    ($($(#[$doc:meta])* $name:ident)+) => {
        /// One marker type for each scope, to be named in a route's signature.
        pub mod right {
            $($(#[$doc])* #[derive(Debug, Clone, Copy)] pub struct $name;
            impl super::Right for $name { const SCOPE: super::Scope = super::Scope::$name; }
            impl $name {
                /// The roles that have it, for `x-roles` in the document.
                pub fn roles() -> Vec<&'static str> {
                    super::Scope::$name.roles().map(super::Role::code).collect()
                }
            })+
        }
    };
}

rights! {
    /// Create clubs.
    ManageClubs
    /// See a club's settings.
    ReadClub
    /// Change a club's settings.
    WriteClub
    /// Move a sandbox's clock forward.
    MoveClock
    /// See the policy.
    ReadPolicy
    /// Change the policy.
    WritePolicy
    /// Read, rehearse and approve drafts of the policy.
    ApprovePolicy
    /// See squads and memberships.
    ReadSquads
    /// Change squads and memberships.
    WriteSquads
    /// See athletes.
    ReadAthletes
    /// Change athletes.
    WriteAthletes
    /// Decide whether two records are one person.
    DecideSecondCopies
    /// See session reports.
    ReadSessions
    /// Enter and change session reports.
    WriteSessions
    /// See rest days and absences.
    ReadDays
    /// Enter rest days and absences.
    WriteDays
    /// See results of tests, and which side was hurt when.
    ReadTests
    /// Enter results of tests.
    WriteTests
    /// Enter which side was hurt when.
    WriteInjuries
    /// See what athletes say about pain.
    ReadPain
    /// Say whether something hurts.
    WritePain
    /// See an athlete's history.
    ReadHistory
    /// See planned sessions and attendance.
    ReadSchedule
    /// Enter and change planned sessions and attendance.
    WriteSchedule
    /// Set up the calendars that planned sessions come from.
    ManageCalendars
    /// Follow what changes in the club.
    ReadChanges
    /// See loads and the figures made of them.
    ReadLoad
    /// See the weekly list.
    ReadWeeklyList
    /// See the margin to a limit.
    ReadMargin
    /// See the catalogue of exercises.
    ReadExercises
    /// Add to the catalogue of exercises.
    WriteExercises
    /// See which techniques were signed off.
    ReadSignOffs
    /// Sign techniques off.
    WriteSignOffs
    /// See programmes and their assignments.
    ReadProgrammes
    /// Enter and assign programmes.
    WriteProgrammes
    /// See what one athlete is to do.
    ReadAssigned
    /// Ask about a session or an item of a programme.
    AskQuestions
    /// See what was asked and answered.
    ReadQuestions
    /// Answer what was asked.
    AnswerQuestions
    /// Have plans judged by the club's limits.
    CheckPlans
    /// See a squad's day.
    ReadSquadDay
    /// See flags.
    ReadFlags
    /// Acknowledge flags.
    AcknowledgeFlags
    /// See who read what.
    ReadAudit
    /// See by whom one athlete's record was read.
    ReadReaders
    /// Revoke tokens.
    RevokeTokens
    /// Say where notices go.
    ManageNotices
    /// See where notices go, and approve a club's first recipient of mail.
    ApproveRecipients
    /// Allow or forbid mail that names athletes.
    NameInMail
    /// See which licences are on file.
    ReadLicences
    /// Put licences on file.
    WriteLicences
    /// See restrictions and clearance records.
    ReadClinical
    /// Set restrictions and record clearances.
    WriteClinical
    /// See how far an athlete takes part.
    ReadAvailability
    /// See what was consented to.
    ReadConsents
    /// Consent and withdraw.
    GiveConsents
    /// Set what needs consent, and see what flowed without.
    OverseeConsents
    /// Have a complete copy of what is kept of an athlete.
    ReadCopies
    /// Erase what is kept of an athlete.
    EraseRecords
    /// See how long what is kept.
    ReadRetention
    /// Set how long what is kept, hold records, and see what is due.
    SetRetention
    /// See what callers have to keep to.
    ReadLimits
}

/// Who asks, in which club.
#[derive(Debug, Clone)]
pub struct Caller {
    /// The checked principal, acting in one role.
    pub principal: Principal,
    /// The club, as every store function demands it.
    pub tenant: Tenant,
    /// The date (UTC) of the request: who may ask is judged by it.
    pub asked_on: Date,
}

impl Caller {
    /// The service itself, working in a club for a job or the command line.
    pub fn job(tenant: Tenant, name: &str, now: Timestamp) -> Self {
        let principal = Principal {
            issuer: "plimsoll".to_owned(),
            subject: name.to_owned(),
            client: "plimsoll".to_owned(),
            token_id: None,
            role: Role::Operator,
            club: None,
            squads: None,
            athletes: Vec::new(),
        };
        Self::acting(principal, tenant, now)
    }

    /// The command line, entering data as a source.
    pub fn system(tenant: Tenant, source: &str, now: Timestamp) -> Self {
        let principal = Principal {
            issuer: "plimsoll".to_owned(),
            subject: source.to_owned(),
            client: source.to_owned(),
            token_id: None,
            role: Role::Integration,
            club: Some(Reference::Id(tenant.club_id().uuid())),
            squads: None,
            athletes: Vec::new(),
        };
        Self::acting(principal, tenant, now)
    }

    /// A principal in a club, where the program itself vouches for both.
    pub fn acting(principal: Principal, tenant: Tenant, now: Timestamp) -> Self {
        let asked_on = TimeZone::UTC.to_datetime(now).date();
        Self {
            principal,
            tenant,
            asked_on,
        }
    }

    /// Whether the acting role is a member of the club's staff, who may act with a reason where
    /// others may not act at all.
    pub fn is_staff(&self) -> bool {
        matches!(
            self.principal.role,
            Role::ClubAdmin
                | Role::Integration
                | Role::Coach
                | Role::StrengthCoach
                | Role::AthleticTrainer
        )
    }
}

/// A caller with a right, within one club.
#[derive(Debug)]
pub struct ClubScope<R> {
    /// Who asks.
    pub caller: Caller,
    right: PhantomData<R>,
}

/// A caller with a right that is not about one club.
#[derive(Debug)]
pub struct ServiceScope<R> {
    /// Who asks.
    pub principal: Principal,
    right: PhantomData<R>,
}

type Extracting<T> = Pin<Box<dyn Future<Output = Result<T, Problem>>>>;

impl<R: Right> FromRequest for ClubScope<R> {
    type Error = Problem;
    type Future = Extracting<Self>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move {
            let principal = principal(&request).await?;
            let club = request
                .match_info()
                .get("club_id")
                .and_then(|id| id.parse().ok());
            let club: ClubId = club.ok_or_else(Problem::not_found)?;
            // The operator belongs to no club and has no right inside one: 403 whichever is named.
            if principal.role != Role::Operator && !is_club(principal.club.as_ref(), club) {
                return Err(Problem::not_found());
            }
            refuse_revoked(&request, club, &principal)?;
            let caller = Caller {
                principal,
                tenant: Tenant::granted(club),
                asked_on: today(&request)?,
            };
            if let Err(refusal) = allow(&caller.principal, R::SCOPE) {
                let is_member = caller.principal.role != Role::Operator;
                if is_member && (R::SCOPE.is_clinical() || refused::reads_one(&request)) {
                    let app = app(&request)?;
                    let action = refused::action(&request);
                    app.audit.record_refusal(app, &caller, &action).await?;
                }
                return Err(refusal);
            }
            request.extensions_mut().insert(Entitled {
                caller: caller.clone(),
                clinical: R::SCOPE.is_clinical(),
            });
            Ok(ClubScope {
                caller,
                right: PhantomData,
            })
        })
    }
}

impl<R: Right> FromRequest for ServiceScope<R> {
    type Error = Problem;
    type Future = Extracting<Self>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move {
            let principal = principal(&request).await?;
            if let Some(Reference::Id(club)) = &principal.club {
                refuse_revoked(&request, ClubId::from(*club), &principal)?;
            }
            allow(&principal, R::SCOPE)?;
            Ok(ServiceScope {
                principal,
                right: PhantomData,
            })
        })
    }
}

fn is_club(claimed: Option<&Reference>, club: ClubId) -> bool {
    matches!(claimed, Some(Reference::Id(id)) if *id == club.uuid())
}

/// Refuses a token that the club has revoked, or whose subject it has.
fn refuse_revoked(
    request: &HttpRequest,
    club: ClubId,
    principal: &Principal,
) -> Result<(), Problem> {
    if !app(request)?.revocations.include(club, principal) {
        return Ok(());
    }
    let detail = "The token was revoked; ask the club's administrator.";
    Err(Problem::new(Code::Unauthenticated, detail))
}

fn allow(principal: &Principal, scope: Scope) -> Result<(), Problem> {
    if principal.role.allows(scope) {
        return Ok(());
    }
    let detail = format!(
        "The role {} has no right to do this.",
        principal.role.code()
    );
    Err(Problem::new(Code::RoleMayNot, detail))
}

fn app(request: &HttpRequest) -> Result<&web::Data<App>, Problem> {
    request
        .app_data::<web::Data<App>>()
        .ok_or_else(|| Problem::internal(&"the application is not registered"))
}

fn today(request: &HttpRequest) -> Result<Date, Problem> {
    Ok(TimeZone::UTC.to_datetime(app(request)?.clock.now()).date())
}

/// Checks the bearer token and settles the acting role.
async fn principal(request: &HttpRequest) -> Result<Principal, Problem> {
    let app = app(request)?;
    let token = bearer(request).ok_or_else(|| {
        Problem::new(
            Code::Unauthenticated,
            "Send an access token: Authorization: Bearer …",
        )
    })?;
    let claims = app
        .verifier
        .verify(token, app.clock.now())
        .await
        .map_err(token_problem)?;
    let acting = request
        .headers()
        .get("Acting-Role")
        .map(|value| value.to_str().unwrap_or(""));
    let principal = Principal::acting(&claims, acting).map_err(acting_role_problem)?;
    telemetry::note_role(principal.role.code());
    Ok(principal)
}

fn bearer(request: &HttpRequest) -> Option<&str> {
    let value = request
        .headers()
        .get(header::AUTHORIZATION)?
        .to_str()
        .ok()?;
    let (scheme, token) = value.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim())
}

fn token_problem(error: TokenError) -> Problem {
    tracing::debug!(%error, "token refused");
    if error.is_outage() {
        let detail = "The issuer's keys cannot be had just now; repeat the request.";
        return Problem::new(Code::Busy, detail).retry_after(10);
    }
    Problem::new(
        Code::Unauthenticated,
        "The token is not accepted; get a fresh one.",
    )
}

fn acting_role_problem(error: ActingRoleError) -> Problem {
    Problem::new(Code::ActingRoleRequired, format!("{error}."))
}
