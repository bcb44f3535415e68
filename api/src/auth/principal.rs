//! The one role a request acts in, and whom it reaches.

use super::claims::Claims;
use super::reference::Reference;
use super::role::{Reaches, Role, Scope};

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
        match (self.role.reaches(), &self.squads) {
            (Reaches::Club, _) | (Reaches::Squads, None) => Reach::Club,
            (Reaches::Squads, Some(squads)) => Reach::Squads(squads),
            (Reaches::Athletes, _) => Reach::Athletes(&self.athletes),
            (Reaches::Nobody, _) => Reach::Athletes(&[]),
        }
    }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    fn reference(id: u128) -> Reference {
        Reference::Id(Uuid::from_u128(id))
    }

    fn claims(roles: &[Role]) -> Claims {
        Claims {
            issuer: "https://id.handball.example".into(),
            subject: "vera".into(),
            client: "club-app".into(),
            token_id: Some("t-1".into()),
            club: Some(reference(1)),
            roles: roles.to_vec(),
            squads: Some(vec![reference(2)]),
            athletes: vec![reference(3)],
            expires_at: jiff::Timestamp::UNIX_EPOCH,
        }
    }

    fn acting(role: Role) -> Principal {
        Principal::acting(&claims(&[role]), None).unwrap()
    }

    #[test]
    fn the_only_role_needs_no_header() {
        let claims = claims(&[Role::Coach]);
        let principal = Principal::acting(&claims, None).unwrap();
        assert_eq!(principal.role, Role::Coach);
        assert_eq!(principal.issuer, claims.issuer);
        assert_eq!(principal.subject, claims.subject);
        assert_eq!(principal.client, claims.client);
        assert_eq!(principal.token_id, claims.token_id);
        assert_eq!(principal.club, claims.club);
        assert_eq!(Principal::acting(&claims, Some("coach")), Ok(principal));
    }

    #[test]
    fn of_several_roles_one_has_to_be_named() {
        let claims = claims(&[Role::Coach, Role::Guardian]);
        assert_eq!(
            Principal::acting(&claims, None),
            Err(ActingRoleError::Required)
        );
        for role in [Role::Coach, Role::Guardian] {
            let principal = Principal::acting(&claims, Some(role.code())).unwrap();
            assert_eq!(principal.role, role);
        }
        assert_eq!(ActingRoleError::Required.code(), "acting_role_required");
    }

    #[test]
    fn scopes_of_several_roles_are_not_added_together() {
        let claims = claims(&[Role::Coach, Role::Guardian]);
        let guardian = Principal::acting(&claims, Some("guardian")).unwrap();
        assert!(guardian.may(Scope::WriteSessions) && !guardian.may(Scope::ReadWeeklyList));
        let coach = Principal::acting(&claims, Some("coach")).unwrap();
        assert!(coach.may(Scope::ReadWeeklyList) && !coach.may(Scope::WriteSessions));
    }

    #[test]
    fn a_role_the_token_does_not_hold_is_refused() {
        for held in [&[Role::Coach][..], &[Role::Coach, Role::Guardian], &[]] {
            for named in ["club_admin", "captain", "", "coach,guardian", "Coach"] {
                let result = Principal::acting(&claims(held), Some(named));
                assert_eq!(result, Err(ActingRoleError::NotHeld), "{held:?} {named:?}");
            }
        }
        assert_eq!(ActingRoleError::NotHeld.code(), "acting_role_not_held");
    }

    #[test]
    fn nobody_acts_without_a_role() {
        assert_eq!(
            Principal::acting(&claims(&[]), None),
            Err(ActingRoleError::Required)
        );
    }

    #[test]
    fn the_operator_has_no_club_even_when_the_token_names_one() {
        assert_eq!(acting(Role::Operator).club, None);
        assert_eq!(acting(Role::ClubAdmin).club, Some(reference(1)));
    }

    #[test]
    fn each_role_reaches_what_it_should() {
        for role in Role::ALL {
            let principal = acting(role);
            let expected = match role {
                Role::ClubAdmin | Role::Integration | Role::AthleticTrainer => Reach::Club,
                Role::Coach | Role::StrengthCoach => Reach::Squads(&[reference(2)]),
                Role::Athlete | Role::Guardian => Reach::Athletes(&[reference(3)]),
                Role::Operator | Role::PrivacyLead => Reach::Athletes(&[]),
            };
            assert_eq!(principal.reach(), expected, "{role}");
        }
    }

    #[test]
    fn a_coach_without_squads_reaches_the_club_and_with_none_reaches_nobody() {
        let mut coach = acting(Role::Coach);
        coach.squads = None;
        assert_eq!(coach.reach(), Reach::Club);
        coach.squads = Some(vec![]);
        assert_eq!(coach.reach(), Reach::Squads(&[]));
    }
}
