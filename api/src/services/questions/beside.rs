//! What staff read beside one question: what she has logged lately, and what is limited. It answers nothing.

use jiff::civil::Date;
use jiff::{Span, Timestamp};
use serde::Serialize;
use utoipa::ToSchema;

use crate::error::Problem;
use crate::ids::AthleteId;
use crate::services::as_of::AsOf;
use crate::services::figures::{self, Asked};
use crate::services::policy::Policies;
use crate::services::{availability, reach, zones};
use crate::store::{Conn, Tenant};
use crate::web::figures::{CAUTION, LoadBounds};

/// How many days are shown, the one that runs included.
const DAYS: i64 = 14;

/// What to do, and what not. Common practice, no source.
const REFERRAL: &str = "Do not diagnose, and do not say whether she may go on. Where something hurts, she stops that movement; she and her \
    family are sent to the athletic trainer or another licensed clinician under local rules.";

/// What staff read beside a question.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(example = json!({"from": "2026-10-27", "to": "2026-11-09", "as_of": "2026-11-09T18:00:00Z", "days": [{"date": "2026-11-09",
    "state": "reported", "load_au": {"point": 540.0, "low": 540.0, "high": 540.0}, "sessions": 1, "unlogged": 0, "minutes": 90}],
    "instructions": [], "referral": "Do not diagnose, …", "caution": "These figures describe what was logged. …"}))]
pub struct Beside {
    /// First day shown.
    #[schema(value_type = String, format = Date)]
    pub from: Date,
    /// Last day shown: today where she is at home.
    #[schema(value_type = String, format = Date)]
    pub to: Date,
    /// The state of knowledge.
    #[schema(value_type = String, format = DateTime)]
    pub as_of: Timestamp,
    /// Each day since she joined.
    pub days: Vec<BesideDay>,
    /// What limits her today, a sentence each; never why.
    pub instructions: Vec<String>,
    /// What to do, and what not.
    pub referral: &'static str,
    /// What the figures are, and are not.
    pub caution: &'static str,
}

/// A day beside a question.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct BesideDay {
    /// The date.
    #[schema(value_type = String, format = Date)]
    pub date: Date,
    /// What is known about the day.
    #[schema(value_type = String, example = "reported")]
    pub state: &'static str,
    /// The load with its bounds.
    pub load_au: LoadBounds,
    /// Sessions reported.
    pub sessions: u32,
    /// Sessions expected and over, of which nothing is said.
    pub unlogged: u32,
    /// Minutes reported.
    pub minutes: u32,
}

impl Beside {
    /// Reads it.
    pub fn read(
        conn: &mut Conn,
        tenant: Tenant,
        athlete: AthleteId,
        as_of: AsOf,
    ) -> Result<Self, Problem> {
        let athlete = reach::athlete_of_club(conn, tenant, athlete)?;
        let home = zones::home(conn, tenant, &athlete.content)?;
        let to = as_of.today(&home);
        let from = to.saturating_sub(Span::new().days(DAYS - 1));
        let policies = Policies::read(conn, tenant, as_of.known)?;
        let asked = Asked {
            first: from,
            last: to,
            settings: None,
            known: as_of.known,
            now: as_of.now,
        };
        let hers = figures::days_of_one(conn, tenant, athlete, &asked, &policies)?;
        let dates = from
            .series(Span::new().days(1))
            .take_while(|date| *date <= to);
        let series = hers.series.as_ref();
        let days = dates.filter_map(|date| {
            let day = series?.day(date)?;
            Some(BesideDay {
                date,
                state: day.state().code(),
                load_au: day.load().into(),
                sessions: day.sessions(),
                unlogged: day.unlogged(),
                minutes: day.minutes(),
            })
        });
        Ok(Self {
            from,
            to,
            as_of: as_of.at(),
            days: days.collect(),
            instructions: availability::on(&hers, to, None).instructions,
            referral: REFERRAL,
            caution: CAUTION,
        })
    }
}
