//! A membership as it is sent, and what it may not collide with.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem};
use crate::services::fields::{self, Faults};
use crate::services::people::Naming;
use crate::store::MembershipRole;
use crate::store::memberships::Membership;

/// An athlete's time in a squad. Exactly one of `athlete_id` and `athlete_external_id`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"athlete_external_id": "P-07", "from": "2026-08-03", "primary": true}))]
pub struct NewMember {
    /// The athlete, by our id.
    #[schema(format = Uuid)]
    pub athlete_id: Option<String>,
    /// The athlete, by the club's id.
    pub athlete_external_id: Option<String>,
    /// member (assumed), guest or call_up.
    pub role: Option<String>,
    /// First day; assumed to be today, or her own first day in the club where that is later.
    #[schema(format = Date)]
    pub from: Option<String>,
    /// Last day, once it is known.
    #[schema(format = Date)]
    pub to: Option<String>,
    /// Whether it is her main squad; assumed not to be.
    pub primary: Option<bool>,
}

/// What can be changed of a membership.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"role": "member", "from": "2026-08-03", "to": "2027-06-30", "primary": true}))]
pub struct MemberInput {
    /// member, guest or call_up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// First day.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = String, format = Date)]
    pub from: Option<String>,
    /// Last day, once it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    pub to: Option<String>,
    /// Whether it is her main squad.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub primary: Option<bool>,
}

/// The checked terms of a membership.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Terms {
    /// In which capacity.
    pub role: MembershipRole,
    /// First day.
    pub from: Date,
    /// Last day.
    pub to: Option<Date>,
    /// Whether it is the main squad.
    pub primary: bool,
}

impl NewMember {
    /// How it names the athlete.
    pub fn naming(&self) -> Naming<'_> {
        Naming {
            athlete_id: self.athlete_id.as_deref(),
            athlete_external_id: self.athlete_external_id.as_deref(),
        }
    }

    /// The terms, beginning on `usual` unless it says otherwise.
    pub fn terms(&self, usual: Date, faults: &mut Faults) -> Option<Terms> {
        let terms = MemberInput {
            role: self.role.clone(),
            from: self.from.clone().or_else(|| Some(usual.to_string())),
            to: self.to.clone(),
            primary: self.primary,
        };
        terms.check(faults)
    }
}

impl MemberInput {
    /// The stored membership in the form it could be sent in, for a merge patch.
    pub fn of(membership: &Membership) -> Self {
        Self {
            role: Some(membership.role.code().to_owned()),
            from: Some(membership.from_date.to_string()),
            to: membership.to_date.map(|date| date.to_string()),
            primary: Some(membership.is_primary),
        }
    }

    /// The terms.
    pub fn check(&self, faults: &mut Faults) -> Option<Terms> {
        let role = faults.take(role(self.role.as_deref()));
        let from = faults.take(fields::date("/from", self.from.as_deref()));
        let to = faults.take(fields::optional("/to", self.to.as_deref(), fields::date));
        if let (Some(from), Some(Some(to))) = (from, to) {
            faults.take(fields::in_order("/to", from, to));
        }
        Some(Terms {
            role: role?,
            from: from?,
            to: to?,
            primary: self.primary.unwrap_or(false),
        })
    }
}

/// In which capacity; as a member unless it is said.
pub fn role(given: Option<&str>) -> Result<MembershipRole, FieldProblem> {
    let codes = || fields::list(MembershipRole::ALL.iter().map(|role| role.code()));
    let role = fields::optional("/role", given, |pointer, given| {
        fields::coded(pointer, given, MembershipRole::parse, codes)
    })?;
    Ok(role.unwrap_or(MembershipRole::Member))
}

/// What keeps a membership from standing beside the athlete's others: the same squad at the same
/// time, or another primary squad at the same time.
pub fn collisions<'a>(
    wanted: &Membership,
    others: impl Iterator<Item = &'a Membership>,
) -> Vec<FieldProblem> {
    let mut found = Vec::new();
    for other in others.filter(|other| overlap(wanted, other)) {
        let span = match other.to_date {
            Some(to) => format!("outside {} to {to}", other.from_date),
            None => format!("before {}", other.from_date),
        };
        if other.squad_id == wanted.squad_id {
            let from = wanted.from_date.to_string();
            found.push(
                FieldProblem::new("/from", Code::OverlappingMembership, from).allowed(span.clone()),
            );
        }
        if other.is_primary && wanted.is_primary {
            found.push(FieldProblem::new("/primary", Code::SecondPrimary, true).allowed(span));
        }
    }
    found
}

fn overlap(a: &Membership, b: &Membership) -> bool {
    let ends = |membership: &Membership| membership.to_date.unwrap_or(Date::MAX);
    a.membership_id != b.membership_id && a.from_date <= ends(b) && b.from_date <= ends(a)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use uuid::Uuid;

    use super::*;

    fn membership(
        id: u128,
        squad: u128,
        from: Date,
        to: Option<Date>,
        primary: bool,
    ) -> Membership {
        Membership {
            membership_id: Uuid::from_u128(id).into(),
            squad_id: Uuid::from_u128(squad).into(),
            athlete_id: Uuid::from_u128(1).into(),
            role: MembershipRole::Member,
            from_date: from,
            to_date: to,
            is_primary: primary,
        }
    }

    fn codes(wanted: &Membership, other: &Membership) -> Vec<Code> {
        let found = collisions(wanted, std::iter::once(other));
        found.into_iter().map(|fault| fault.code).collect()
    }

    #[test]
    fn a_squad_holds_an_athlete_once_at_a_time() {
        let (june, july) = (date(2026, 6, 30), date(2026, 7, 1));
        let first = membership(1, 7, date(2026, 1, 1), Some(june), false);
        let after = membership(2, 7, july, None, false);
        assert_eq!(codes(&after, &first), []);
        let touching = membership(2, 7, june, None, false);
        assert_eq!(codes(&touching, &first), [Code::OverlappingMembership]);
        let elsewhere = membership(2, 8, june, None, false);
        assert_eq!(codes(&elsewhere, &first), []);
        assert_eq!(
            codes(&first, &first),
            [],
            "a membership does not collide with itself"
        );
    }

    #[test]
    fn one_squad_at_a_time_is_the_main_one() {
        let first = membership(1, 7, date(2026, 1, 1), None, true);
        let second = membership(2, 8, date(2026, 2, 1), None, true);
        assert_eq!(codes(&second, &first), [Code::SecondPrimary]);
        let guest = membership(2, 8, date(2026, 2, 1), None, false);
        assert_eq!(codes(&guest, &first), []);
        let before = membership(2, 8, date(2025, 2, 1), Some(date(2025, 12, 31)), true);
        assert_eq!(codes(&before, &first), []);
    }

    #[test]
    fn terms_are_checked_field_by_field() {
        let input = |role: &str, from: &str, to: &str| MemberInput {
            role: Some(role.to_owned()),
            from: Some(from.to_owned()),
            to: Some(to.to_owned()),
            primary: None,
        };
        let mut faults = Faults::default();
        assert!(
            input("captain", "soon", "2026-02-30")
                .check(&mut faults)
                .is_none()
        );
        assert_eq!(faults.into_vec().len(), 3);
        let mut faults = Faults::default();
        input("guest", "2026-02-01", "2026-01-31").check(&mut faults);
        assert_eq!(faults.into_vec()[0].code, Code::RangeReversed);
        let mut faults = Faults::default();
        let usual = NewMember::default()
            .terms(date(2026, 11, 9), &mut faults)
            .unwrap();
        assert_eq!(
            (usual.role, usual.from),
            (MembershipRole::Member, date(2026, 11, 9))
        );
        assert!(faults.is_empty() && !usual.primary);
    }
}
