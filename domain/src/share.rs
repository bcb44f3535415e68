//! Shares of a total by setting. Exact, because loads add up; in per cent.

use std::collections::BTreeSet;

use crate::exact::Fraction;
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::reason::Reason;
use crate::session::Setting;

/// The load of one setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SettingLoad {
    /// Who ran the sessions.
    pub setting: Setting,
    /// Their load in the week.
    pub week: Load,
    /// Their load in the 21 days before the week.
    pub prior_21d: Load,
}

/// `100 x part / total`.
///
/// # Errors
/// [`Reason::TotalNotShared`] where the reader may not see the total, which is never taken for 100
/// per cent; [`Reason::NoLoad`] of nothing.
///
/// ```
/// use plimsoll_domain::{Load, Places, share::share};
/// let visible = share(Load::from_au(1260), Some(Load::from_au(2880))).unwrap();
/// assert_eq!(visible.round(Places::Two).to_string(), "43.75");
/// ```
pub fn share(part: Load, total: Option<Load>) -> Result<Fraction, Reason> {
    let total = total.ok_or(Reason::TotalNotShared)?;
    Fraction::new(100 * part.half_au(), total.half_au()).ok_or(Reason::NoLoad)
}

/// The load of one setting with its bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SettingPart {
    /// Who ran the sessions.
    pub setting: Setting,
    /// Their load.
    pub load: Bounds<Load>,
}

/// The share of one setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SettingShare {
    /// Who ran the sessions.
    pub setting: Setting,
    /// In per cent of the total.
    pub share: Figure<Fraction>,
}

/// The share of each setting in the total of all parts, the settings in their order.
///
/// Missing as [`visible_share`].
#[must_use]
pub fn shares(parts: &[SettingPart], settings_not_shared: u32) -> Vec<SettingShare> {
    let settings: BTreeSet<Setting> = parts.iter().map(|part| part.setting).collect();
    let share = |setting| SettingShare {
        setting,
        share: visible_share(parts, settings_not_shared, |part| part == setting),
    };
    settings.into_iter().map(share).collect()
}

/// The share that a reader sees of the total of all parts: `100 x seen / (seen + unseen)` in per cent.
/// It grows with what is seen and falls with what is not, so its ends are those of the two.
///
/// Missing: [`Reason::TotalNotShared`] where an organisation shares nothing, because what the reader
/// sees is never taken for all of it; [`Reason::NoLoad`] without a load as logged.
///
/// ```
/// use plimsoll_domain::share::{SettingPart, visible_share};
/// use plimsoll_domain::{Bounds, Load, Places, Setting};
/// let part = |setting, au| SettingPart { setting, load: Bounds::exact(Load::from_au(au)) };
/// let week = [part(Setting::Club, 1260), part(Setting::SchoolTeam, 1620)];
/// let visible = visible_share(&week, 0, |setting| setting == Setting::Club);
/// assert_eq!(visible.point.unwrap().round(Places::Two).to_string(), "43.75");
/// ```
#[must_use]
pub fn visible_share(
    parts: &[SettingPart],
    settings_not_shared: u32,
    sees: impl Fn(Setting) -> bool,
) -> Figure<Fraction> {
    if settings_not_shared > 0 {
        return Figure::none(Reason::TotalNotShared);
    }
    let sum = |seen: bool| {
        let parts = parts.iter().filter(|part| sees(part.setting) == seen);
        parts.fold(Bounds::default(), |sum, part| sum + part.load)
    };
    let (seen, unseen) = (sum(true), sum(false));
    let of = |seen: Load, unseen: Load| share(seen, Some(seen + unseen));
    match of(seen.point, unseen.point) {
        // Where one of the two can be nothing, any load of the other is all there is.
        Ok(point) => Figure::bounded(Bounds {
            low: of(seen.low, unseen.high).unwrap_or(Fraction::whole(100)),
            point,
            high: of(seen.high, unseen.low).unwrap_or(Fraction::ZERO),
        }),
        Err(reason) => Figure::none(reason),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    fn part(setting: Setting, low: u16, point: u16, high: u16) -> SettingPart {
        let load = Bounds { low, point, high }.map(Load::from_au);
        SettingPart { setting, load }
    }

    fn ends(figure: Figure<Fraction>) -> Vec<String> {
        let ends = [figure.low, figure.point, figure.high]
            .into_iter()
            .flatten();
        ends.map(|end| end.round(Places::Two).to_string()).collect()
    }

    #[test]
    fn ends_belong_to_opposite_ends_of_what_is_not_seen() {
        let parts = [
            part(Setting::Club, 540, 540, 1440),
            part(Setting::Pe, 60, 60, 460),
        ];
        let [club, pe] = &shares(&parts, 0)[..] else {
            panic!("two settings");
        };
        assert_eq!(
            (club.setting, ends(club.share)),
            (Setting::Club, vec!["54".into(), "90".into(), "96".into()])
        );
        assert_eq!(ends(pe.share), ["4", "10", "46"]);
    }

    #[test]
    fn one_setting_alone_is_all_there_is() {
        let alone = shares(&[part(Setting::Club, 0, 300, 300)], 0);
        assert_eq!(ends(alone[0].share), ["100", "100", "100"]);
        let parts = [
            part(Setting::Club, 0, 0, 0),
            part(Setting::Free, 0, 300, 300),
        ];
        assert_eq!(ends(shares(&parts, 0)[0].share), ["0", "0", "0"]);
    }

    #[test]
    fn there_is_no_share_of_nothing_or_of_what_is_not_shared() {
        let missing = |parts: &[SettingPart], not_shared| {
            let seen = |setting| setting == Setting::Club;
            visible_share(parts, not_shared, seen)
        };
        let club = part(Setting::Club, 300, 300, 300);
        assert_eq!(missing(&[club], 1), Figure::none(Reason::TotalNotShared));
        let open = part(Setting::Club, 0, 0, 900);
        assert_eq!(missing(&[open], 0), Figure::none(Reason::NoLoad));
    }
}
