//! Notices: what there is to tell, written to the outbox in the transaction that makes it true.
//!
//! A message is thin: kinds, ids and links, no name and no figure. Its form is CloudEvents 1.0 (JSON, structured mode);
//! every link is a path of this service. Whoever receives it reads the rest with a token of their own.

use std::collections::BTreeMap;

use jiff::Timestamp;
use plimsoll_domain::IsoWeek;
use serde_json::{Map, Value, json};

use super::confirmation;
use super::letters::{self, Post};
use super::questions;
use super::write::Change;
use crate::error::Problem;
use crate::ids::{AthleteId, ClubId, FlagId, NoticeId, SquadId};
use crate::store::notices::deliveries::{self, Delivery, Start, StoredNotice};
use crate::store::notices::endpoints::{self, Endpoint};
use crate::store::{Channel, DeliveryState, Known, NoticeKind, memberships, squads};

/// Something there is to tell about a week of a club.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// The week was closed; `late` when after its time.
    WeekClosed {
        /// Which.
        week: IsoWeek,
        /// Whether it was closed after its time.
        late: bool,
    },
    /// Flags of a closed week were raised or withdrawn after a late or amended entry.
    WeekCorrected {
        /// Which.
        week: IsoWeek,
        /// The flags that changed.
        flags: Vec<FlagId>,
    },
    /// Who will be over a limit in the running week if what is still planned happens.
    LookAhead {
        /// Which week.
        week: IsoWeek,
        /// When it was looked at.
        at: Timestamp,
        /// How many of each squad.
        over: BTreeMap<SquadId, PlannedOver>,
    },
}

/// How many athletes of a squad will, or may, be over a limit by what is planned.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PlannedOver {
    /// Will, if the sessions happen as planned.
    pub certain: u32,
    /// May.
    pub possible: u32,
}

impl Notice {
    fn kind(&self) -> NoticeKind {
        match self {
            Notice::WeekClosed { .. } => NoticeKind::WeekClosed,
            Notice::WeekCorrected { .. } => NoticeKind::WeekCorrected,
            Notice::LookAhead { .. } => NoticeKind::LookAhead,
        }
    }

    fn week(&self) -> IsoWeek {
        match self {
            Notice::WeekClosed { week, .. }
            | Notice::WeekCorrected { week, .. }
            | Notice::LookAhead { week, .. } => *week,
        }
    }

    /// What a message about it carries beside club, week and squads.
    fn payload(&self, club: ClubId) -> Value {
        match self {
            Notice::WeekClosed { late, .. } => json!({ "late": late }),
            Notice::WeekCorrected { flags, .. } => {
                let link = |flag: &FlagId| json!({ "flag_id": flag, "href": format!("/v1/clubs/{club}/flags/{flag}") });
                json!({ "flags": flags.iter().map(link).collect::<Vec<_>>() })
            }
            Notice::LookAhead { at, over, .. } => {
                let counts = |(squad, over): (&SquadId, &PlannedOver)| json!({ "squad_id": squad, "certain": over.certain, "possible": over.possible });
                json!({ "as_of": at, "over": over.iter().map(counts).collect::<Vec<_>>() })
            }
        }
    }
}

/// Writes notices, and a delivery of each for every endpoint that wants it, in the caller's transaction:
/// no commit, no notice.
pub fn enqueue(change: &mut Change<'_>, notices: &[Notice]) -> Result<(), Problem> {
    if notices.is_empty() {
        return Ok(());
    }
    let tenant = change.tenant();
    let squads = squads::all(change.conn, tenant)?;
    let squads: Vec<SquadId> = squads.iter().map(|squad| squad.squad_id).collect();
    let mut wanting = endpoints::enabled(change.conn, tenant)?;
    wanting.retain(|endpoint| endpoint.wants(&squads));
    let (mut stored, mut due, mut post) = (Vec::new(), Vec::new(), Post::default());
    for notice in notices {
        let one = StoredNotice {
            notice_id: change.new_id(),
            kind: notice.kind(),
            monday: notice.week().monday(),
            created_at: change.at(),
            payload: notice.payload(tenant.club_id()),
        };
        let event = Event {
            club: tenant.club_id(),
            week: notice.week(),
            notice: &one,
        };
        for endpoint in &wanting {
            due.extend(match endpoint.channel {
                Channel::Webhook => {
                    let start = confirmation::start(endpoint, change.now());
                    Some(event.delivery(change, endpoint, &squads, start))
                }
                Channel::Email => post.delivery(change, &one, endpoint)?,
            });
        }
        stored.push(one);
    }
    deliveries::insert(change.conn, tenant, stored, due)?;
    post.store(change)
}

/// Writes a notice that tells nothing, for one endpoint, so that somebody can try it.
pub fn enqueue_test(change: &mut Change<'_>, endpoint: &Endpoint) -> Result<NoticeId, Problem> {
    let start = confirmation::start(endpoint, change.now());
    enqueue_for_one(change, endpoint, (NoticeKind::Test, json!({})), start)
}

/// Writes the notice that asks a webhook for its echo.
pub fn enqueue_challenge(
    change: &mut Change<'_>,
    endpoint: &Endpoint,
    challenge: &str,
) -> Result<NoticeId, Problem> {
    let payload = json!({ "endpoint_id": endpoint.endpoint_id, "challenge": challenge });
    let start = Start::at(change.now());
    enqueue_for_one(change, endpoint, (NoticeKind::Challenge, payload), start)
}

/// Writes the notice that an endpoint is sent nothing more, for everybody else whom the club writes to: who listened there hears
/// nothing from now on. It names the endpoint by its id, since a URL may hold a token.
pub fn enqueue_disabled(
    change: &mut Change<'_>,
    endpoint: &Endpoint,
    why: &str,
) -> Result<(), Problem> {
    let tenant = change.tenant();
    let payload =
        json!({ "endpoint_id": endpoint.endpoint_id, "channel": endpoint.channel, "why": why });
    let (_, stored) = of_this_week(change, NoticeKind::EndpointDisabled, payload)?;
    let mut told = endpoints::enabled(change.conn, tenant)?;
    told.retain(|one| one.channel == Channel::Email && one.endpoint_id != endpoint.endpoint_id);
    let letter = |one| letters::delivery(change, &stored, one, change.now());
    let due = told.iter().map(letter).collect();
    Ok(deliveries::insert(change.conn, tenant, vec![stored], due)?)
}

/// Writes the notice that a question was asked about an athlete, for who wants to be told and hears of a squad of hers. It names neither
/// her nor the question, and leads to the list of those that are open.
pub fn enqueue_question(change: &mut Change<'_>, athlete: AthleteId) -> Result<(), Problem> {
    let tenant = change.tenant();
    let payload = json!({ "href": questions::open_list(tenant) });
    let (week, stored) = of_this_week(change, NoticeKind::QuestionAsked, payload)?;
    let mut told = endpoints::enabled(change.conn, tenant)?;
    told.retain(|endpoint| endpoint.questions);
    let on = change.caller.asked_on;
    let mut hers = memberships::of_athletes(change.conn, tenant, &[athlete], Known::Now)?;
    hers.retain(|(one, _)| {
        let member = &one.content;
        member.from_date <= on && member.to_date.is_none_or(|to| to >= on)
    });
    let squads: Vec<SquadId> = hers.iter().map(|(_, squad)| squad.squad_id).collect();
    // One who hears of some squads alone reads of nobody without a squad.
    told.retain(|one| one.squads.is_empty() || one.squads.iter().any(|one| squads.contains(one)));
    let event = Event {
        club: tenant.club_id(),
        week,
        notice: &stored,
    };
    let mut due = Vec::new();
    for endpoint in &told {
        due.extend(match endpoint.channel {
            Channel::Webhook => {
                let start = confirmation::start(endpoint, change.now());
                Some(event.delivery(change, endpoint, &[], start))
            }
            Channel::Email => letters::of_questions(change, &stored, endpoint)?,
        });
    }
    Ok(deliveries::insert(change.conn, tenant, vec![stored], due)?)
}

/// A notice that is about no week: it is listed under the one in which it was written.
fn of_this_week(
    change: &Change<'_>,
    kind: NoticeKind,
    payload: Value,
) -> Result<(IsoWeek, StoredNotice), Problem> {
    let today = jiff::tz::TimeZone::UTC.to_datetime(change.at()).date();
    let week = IsoWeek::of(today).map_err(|error| Problem::internal(&error))?;
    let stored = StoredNotice {
        notice_id: change.new_id(),
        kind,
        monday: week.monday(),
        created_at: change.at(),
        payload,
    };
    Ok((week, stored))
}

fn enqueue_for_one(
    change: &mut Change<'_>,
    endpoint: &Endpoint,
    (kind, payload): (NoticeKind, Value),
    start: Start,
) -> Result<NoticeId, Problem> {
    let tenant = change.tenant();
    let (week, stored) = of_this_week(change, kind, payload)?;
    let event = Event {
        club: tenant.club_id(),
        week,
        notice: &stored,
    };
    let id = stored.notice_id;
    let due = match endpoint.channel {
        Channel::Webhook => event.delivery(change, endpoint, &[], start),
        Channel::Email => letters::delivery(change, &stored, endpoint, change.now()),
    };
    deliveries::insert(change.conn, tenant, vec![stored], vec![due])?;
    Ok(id)
}

/// A notice on its way into a message.
struct Event<'a> {
    club: ClubId,
    week: IsoWeek,
    notice: &'a StoredNotice,
}

impl Event<'_> {
    fn delivery(
        &self,
        change: &Change<'_>,
        endpoint: &Endpoint,
        squads: &[SquadId],
        start: Start,
    ) -> Delivery {
        let squads: Vec<SquadId> = squads
            .iter()
            .copied()
            .filter(|squad| endpoint.wants(&[*squad]))
            .collect();
        Delivery {
            delivery_id: change.new_id(),
            notice_id: self.notice.notice_id,
            endpoint_id: endpoint.endpoint_id,
            body: self.body(&squads).to_string(),
            state: DeliveryState::Pending,
            due_at: start.due_at,
            attempts: 0,
            last_status: None,
            created_at: change.at(),
            waiting_for: start.waiting_for,
        }
    }

    /// Where what is told of a squad can be read.
    fn href(&self, squad: SquadId) -> String {
        let list = format!("/v1/clubs/{}/squads/{squad}/weeks/{}", self.club, self.week);
        match (self.notice.kind, self.notice.payload["as_of"].as_str()) {
            (NoticeKind::LookAhead, Some(at)) => format!("{list}/look-ahead?as_of={at}"),
            _ => list,
        }
    }

    /// What the message carries beside club, week and squads. Counts are for letters: a message has none.
    fn payload(&self) -> Map<String, Value> {
        let mut payload = self.notice.payload.as_object().cloned().unwrap_or_default();
        payload.remove("over");
        payload
    }

    /// The message (CloudEvents 1.0, JSON event format).
    fn body(&self, squads: &[SquadId]) -> Value {
        let (club, week) = (self.club, self.week);
        let list = |squad: &SquadId| json!({ "squad_id": squad, "href": self.href(*squad) });
        let mut data = json!({
            "club_id": club,
            "week": week.to_string(),
            "squads": squads.iter().map(list).collect::<Vec<_>>(),
        });
        if let Some(data) = data.as_object_mut() {
            data.extend(self.payload());
        }
        json!({
            "specversion": "1.0",
            "id": self.notice.notice_id,
            "source": format!("/v1/clubs/{club}"),
            "type": format!("plimsoll.{}", self.notice.kind.code()),
            "subject": week.to_string(),
            "time": whole_second(self.notice.created_at).to_string(),
            "datacontenttype": "application/json",
            "data": data,
        })
    }
}

fn whole_second(at: Timestamp) -> Timestamp {
    Timestamp::from_second(at.as_second()).unwrap_or(at)
}
