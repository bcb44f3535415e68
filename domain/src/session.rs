//! What a session report says beside its rating and minutes, and what is odd about it.

use crate::coded::coded_enum;
use crate::load::Load;
use crate::units::{Minutes, Rpe};

coded_enum! {
    /// Who ran the session.
    Setting {
        /// The club that keeps the record.
        Club = "club",
        /// A school team.
        SchoolTeam = "school_team",
        /// Physical education lessons.
        Pe = "pe",
        /// Another club, often another sport.
        SecondClub = "second_club",
        /// Prescribed by a coach, done alone.
        PrescribedHome = "prescribed_home",
        /// Private lessons and camps.
        Private = "private",
        /// Free activity, not organised by anyone.
        Free = "free",
    }
}

impl Setting {
    /// The setting in the words of a sentence, as in "the largest rise was in …".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Setting::Club => "club sessions",
            Setting::SchoolTeam => "the school team",
            Setting::Pe => "PE",
            Setting::SecondClub => "the second club",
            Setting::PrescribedHome => "prescribed home sessions",
            Setting::Private => "private lessons",
            Setting::Free => "free activity",
        }
    }
}

coded_enum! {
    /// What was done.
    Kind {
        /// Practice.
        Practice = "practice",
        /// A game, warm-up included.
        Game = "game",
        /// Strength training.
        Strength = "strength",
        /// Conditioning.
        Conditioning = "conditioning",
        /// Rehabilitation.
        Rehabilitation = "rehabilitation",
        /// Anything else.
        Other = "other",
    }
}

coded_enum! {
    /// What the minutes cover.
    Basis {
        /// The whole session, bench and pauses included.
        WholeSession = "whole_session",
        /// Only the minutes the athlete took part.
        TookPart = "took_part",
    }
}

coded_enum! {
    /// Who gave the rating.
    GivenBy {
        /// The athlete.
        Athlete = "athlete",
        /// A guardian, for the athlete.
        Guardian = "guardian",
        /// A coach, as observed.
        Coach = "coach",
    }
}

coded_enum! {
    /// Something odd about an accepted report, to be looked at by a person.
    SessionWarning {
        /// Rated 0 although minutes were logged: load 0. Did she sit out?
        RpeZeroWithMinutes = "rpe_zero_with_minutes",
        /// Rated 10 for more than two hours.
        RpeTenOver120Minutes = "rpe_ten_over_120_minutes",
        /// More than 1,200 AU in one session.
        LoadOver1200Au = "load_over_1200_au",
    }
}

/// What is odd about a rating and its minutes; common practice, no source.
#[must_use]
pub fn warnings(rpe: Rpe, minutes: Minutes) -> Vec<SessionWarning> {
    let mut found = Vec::new();
    if rpe.half_steps() == 0 {
        found.push(SessionWarning::RpeZeroWithMinutes);
    }
    if rpe == Rpe::MAX && minutes.get() > 120 {
        found.push(SessionWarning::RpeTenOver120Minutes);
    }
    if Load::of(rpe, minutes) > Load::from_au(1200) {
        found.push(SessionWarning::LoadOver1200Au);
    }
    found
}

/// The loads before and after midnight of a session that crosses it, for clubs whose policy splits
/// it by minutes: `(RPE x minutes before, RPE x minutes after)`.
///
/// ```
/// use plimsoll_domain::{Minutes, Rpe, split_at_midnight};
/// let eight = Rpe::from_f64(8.0).unwrap();
/// let (before, after) = split_at_midnight(eight, Minutes::new(20).unwrap(), Minutes::new(25).unwrap());
/// assert_eq!((before.to_au(), after.to_au()), (160.0, 200.0));
/// ```
#[must_use]
pub fn split_at_midnight(rpe: Rpe, before: Minutes, after: Minutes) -> (Load, Load) {
    (Load::of(rpe, before), Load::of(rpe, after))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_read_back() {
        for setting in Setting::ALL {
            assert_eq!(Setting::parse(setting.code()), Some(*setting));
        }
        for kind in Kind::ALL {
            assert_eq!(Kind::parse(kind.code()), Some(*kind));
        }
        assert_eq!(Basis::parse("took_part"), Some(Basis::TookPart));
        assert_eq!(GivenBy::parse("guardian"), Some(GivenBy::Guardian));
        assert_eq!(Setting::parse("Club"), None);
    }

    #[test]
    fn odd_reports_are_named() {
        let of =
            |rpe, minutes| warnings(Rpe::from_f64(rpe).unwrap(), Minutes::new(minutes).unwrap());
        assert_eq!(of(0.0, 90), [SessionWarning::RpeZeroWithMinutes]);
        assert_eq!(
            of(10.0, 121),
            [
                SessionWarning::RpeTenOver120Minutes,
                SessionWarning::LoadOver1200Au
            ]
        );
        assert_eq!(of(8.5, 142), [SessionWarning::LoadOver1200Au]);
        assert!(of(10.0, 120).is_empty());
        assert!(of(6.0, 90).is_empty());
    }
}
