//! Shares of a total by setting. Exact, because loads add up; in per cent.

use crate::exact::Fraction;
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
