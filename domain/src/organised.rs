//! Which settings count as organised sport: the policy says, and PE is always told both ways.
//!
//! Papers differ on PE, and a week may be over a limit with it and within without it. So every figure
//! of organised time is given in both readings, whichever of the two a club's rules are judged by.

use std::collections::BTreeSet;

use crate::policy::Policy;
use crate::session::Setting;

/// The settings that count as organised.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OrganisedSettings(BTreeSet<Setting>);

impl OrganisedSettings {
    /// Whether sessions of this setting count.
    #[must_use]
    pub fn has(&self, setting: Setting) -> bool {
        self.0.contains(&setting)
    }
}

impl FromIterator<Setting> for OrganisedSettings {
    fn from_iter<I: IntoIterator<Item = Setting>>(settings: I) -> OrganisedSettings {
        OrganisedSettings(settings.into_iter().collect())
    }
}

/// The same thing with PE counted as organised and without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ByPe<T> {
    /// PE counts.
    pub with_pe: T,
    /// It does not.
    pub without_pe: T,
}

impl<T> ByPe<T> {
    /// The same computation for both.
    pub fn map<U>(&self, mut f: impl FnMut(&T) -> U) -> ByPe<U> {
        ByPe {
            with_pe: f(&self.with_pe),
            without_pe: f(&self.without_pe),
        }
    }

    /// The one that the club's rules are judged by.
    pub fn by_policy(self, policy: &Policy) -> T {
        if policy.organised_settings.contains(&Setting::Pe) {
            self.with_pe
        } else {
            self.without_pe
        }
    }
}

impl Policy {
    /// What counts as organised, with PE and without it, whichever of the two the policy lists.
    ///
    /// ```
    /// use jiff::civil::date;
    /// use plimsoll_domain::{PolicyDraft, Setting};
    /// let policy = PolicyDraft::example(date(2026, 8, 3), "Policy owner").check().unwrap();
    /// let organised = policy.organised();
    /// assert!(organised.with_pe.has(Setting::Pe) && !organised.without_pe.has(Setting::Pe));
    /// assert_eq!(organised.clone().by_policy(&policy), organised.with_pe);
    /// ```
    #[must_use]
    pub fn organised(&self) -> ByPe<OrganisedSettings> {
        let listed = self.organised_settings.iter().copied();
        let others = listed.filter(|setting| *setting != Setting::Pe);
        ByPe {
            with_pe: others.clone().chain([Setting::Pe]).collect(),
            without_pe: others.collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::policy::PolicyDraft;

    #[test]
    fn the_policy_lists_the_rest_and_chooses_the_reading() {
        let mut draft = PolicyDraft::example(date(2026, 8, 3), "Policy owner");
        draft.organised_settings = vec![Setting::Club, Setting::SchoolTeam];
        let policy = draft.check().unwrap();
        let organised = policy.organised();
        let listed = |organised: &OrganisedSettings| {
            let settings = Setting::ALL.iter().copied();
            settings.filter(|it| organised.has(*it)).collect::<Vec<_>>()
        };
        assert_eq!(
            listed(&organised.without_pe),
            [Setting::Club, Setting::SchoolTeam]
        );
        assert_eq!(
            listed(&organised.with_pe),
            [Setting::Club, Setting::SchoolTeam, Setting::Pe]
        );
        assert_eq!(organised.clone().by_policy(&policy), organised.without_pe);
    }
}
