//! The one role a request acts in, and whom it reaches.

use super::claims::Claims;
use super::reference::Reference;
use super::role::{Role, Scope};

/// Who asks, in one role.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Principal {
    /// Who vouches for the subject (`iss`).
    pub issuer: String,
    /// Who acts; unique only together with the issuer.
    pub subject: String,
    /// The program that acts, and so the source of what it writes.
    pub client: String,
    /// The token's own id, for revocation.
    pub token_id: Option<String>,
    /// The role the request acts in.
    pub role: Role,
    /// The club; always `None` for the operator.
    pub club: Option<Reference>,
    /// The squads a coach is limited to; `None` for no limit.
    pub squads: Option<Vec<Reference>>,
    /// An athlete's own reference, or a guardian's children.
    pub athletes: Vec<Reference>,
}

/// Which athletes of the club a principal may see. What is outside is indistinguishable from absent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach<'a> {
    /// Every athlete of the club.
    Club,
    /// The members of these squads; nobody when the list is empty.
    Squads(&'a [Reference]),
    /// These athletes; nobody when the list is empty.
    Athletes(&'a [Reference]),
}

/// Why a request does not act in any role. The answer is 403.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ActingRoleError {
    /// The token holds several roles and the request does not say in which it acts.
    #[error("the token holds several roles: name one of them in Acting-Role")]
    Required,
    /// `Acting-Role` names a role the token does not hold.
    #[error("the token does not hold the role that Acting-Role names")]
    NotHeld,
}

impl ActingRoleError {
    /// The code of the problem answer.
    pub const fn code(self) -> &'static str {
        match self {
            ActingRoleError::Required => "acting_role_required",
            ActingRoleError::NotHeld => "acting_role_not_held",
        }
    }
}

impl Principal {
    /// The principal of a checked token, in the only role it holds or in the one that the header
    /// `Acting-Role` names. Scopes of several roles are never added together.
    ///
    /// # Errors
    /// [`ActingRoleError`].
    pub fn acting(claims: &Claims, header: Option<&str>) -> Result<Principal, ActingRoleError> {
        let role = match (header, claims.roles.as_slice()) {
            (Some(code), held) => Role::parse(code.trim())
                .filter(|role| held.contains(role))
                .ok_or(ActingRoleError::NotHeld)?,
            (None, [only]) => *only,
            (None, _) => return Err(ActingRoleError::Required),
        };
        Ok(Principal {
            issuer: claims.issuer.clone(),
            subject: claims.subject.clone(),
            client: claims.client.clone(),
            token_id: claims.token_id.clone(),
            role,
            club: claims.club.clone().filter(|_| role != Role::Operator),
            squads: claims.squads.clone(),
            athletes: claims.athletes.clone(),
        })
    }

    /// Whether this principal has `scope`.
    pub fn may(&self, scope: Scope) -> bool {
        self.role.allows(scope)
    }

    /// Which athletes of the club this principal may see.
    pub fn reach(&self) -> Reach<'_> {
        match self.role {
            Role::ClubAdmin | Role::Integration | Role::AthleticTrainer => Reach::Club,
            Role::Coach | Role::StrengthCoach => match &self.squads {
                Some(squads) => Reach::Squads(squads),
                None => Reach::Club,
            },
            Role::Athlete | Role::Guardian => Reach::Athletes(&self.athletes),
            Role::Operator | Role::PrivacyLead => Reach::Athletes(&[]),
        }
    }
}
