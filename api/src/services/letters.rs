//! Letters in the outbox: one a recipient and week, and one for each correction that no waiting letter can tell.
//!
//! The key of (recipient, week, edition) decides. A correction is told half an hour after it, with what else is corrected
//! until then; one that comes while a letter has not left yet is told in that letter.

use jiff::{SignedDuration, Timestamp};
use plimsoll_domain::IsoWeek;

use super::confirmation;
use super::letter::Body;
use super::write::Change;
use super::zones;
use crate::error::Problem;
use crate::store::notices::deliveries::{Delivery, StoredNotice};
use crate::store::notices::endpoints::Endpoint;
use crate::store::notices::letters::{self, Letter};
use crate::store::{DeliveryState, NoticeKind};

/// How long corrections are gathered.
const GATHERED: SignedDuration = SignedDuration::from_mins(30);
/// Weeks that ended longer ago are corrected on their lists, and nobody is written to: as long as everybody may enter reports.
const TOLD: SignedDuration = SignedDuration::from_hours(14 * 24);

/// The edition of a week's look-ahead, which comes before its close.
const LOOK_AHEAD: i32 = -1;

/// Letters on their way into the outbox.
#[derive(Debug, Default)]
pub struct Post {
    letters: Vec<Letter>,
}

impl Post {
    /// The delivery of a notice to a recipient; `None` where a waiting letter tells it, or nobody is to be written to.
    pub fn delivery(
        &mut self,
        change: &mut Change<'_>,
        notice: &StoredNotice,
        recipient: &Endpoint,
    ) -> Result<Option<Delivery>, Problem> {
        let now = change.now();
        let (edition, due_at) = match notice.kind {
            NoticeKind::WeekClosed => (0, now),
            NoticeKind::WeekCorrected => match correction(change, notice, recipient)? {
                Some(edition) => (edition, now + GATHERED),
                None => return Ok(None),
            },
            NoticeKind::LookAhead => (LOOK_AHEAD, now),
            NoticeKind::Test
            | NoticeKind::Challenge
            | NoticeKind::QuestionAsked
            | NoticeKind::EndpointDisabled => {
                return Ok(None);
            }
        };
        let delivery = delivery(change, notice, recipient, due_at);
        self.letters.push(Letter {
            endpoint_id: recipient.endpoint_id,
            monday: notice.monday,
            edition,
            delivery_id: delivery.delivery_id,
        });
        Ok(Some(delivery))
    }

    /// Stores the letters, once their deliveries are stored.
    pub fn store(self, change: &mut Change<'_>) -> Result<(), Problem> {
        let tenant = change.tenant();
        Ok(letters::insert(change.conn, tenant, self.letters)?)
    }
}

/// A letter's delivery. It tells what is known now.
pub fn delivery(
    change: &Change<'_>,
    notice: &StoredNotice,
    recipient: &Endpoint,
    due_at: Timestamp,
) -> Delivery {
    let (as_of, start) = (change.at(), confirmation::start(recipient, due_at));
    Delivery {
        delivery_id: change.new_id(),
        notice_id: notice.notice_id,
        endpoint_id: recipient.endpoint_id,
        body: Body { as_of }.text(),
        state: DeliveryState::Pending,
        due_at: start.due_at,
        attempts: 0,
        last_status: None,
        created_at: as_of,
        waiting_for: start.waiting_for,
    }
}

/// The delivery of a letter that questions were asked, half an hour after the first: what is asked until it leaves stands in the list that
/// it leads to. `None` where such a letter waits already.
pub fn of_questions(
    change: &mut Change<'_>,
    notice: &StoredNotice,
    recipient: &Endpoint,
) -> Result<Option<Delivery>, Problem> {
    let tenant = change.tenant();
    if letters::waits(change.conn, tenant, recipient.endpoint_id, notice.kind)? {
        return Ok(None);
    }
    let due_at = change.now() + GATHERED;
    Ok(Some(delivery(change, notice, recipient, due_at)))
}

/// The edition of a letter about a correction; `None` where none is written.
fn correction(
    change: &mut Change<'_>,
    notice: &StoredNotice,
    recipient: &Endpoint,
) -> Result<Option<i32>, Problem> {
    let (tenant, as_of) = (change.tenant(), change.at());
    let week = IsoWeek::of(notice.monday).map_err(|error| Problem::internal(&error))?;
    let today = zones::club_date(change.conn, tenant, as_of)?;
    if today.duration_since(week.sunday()) > TOLD {
        return Ok(None);
    }
    let last = letters::last(change.conn, tenant, recipient.endpoint_id, notice.monday)?;
    let Some(last) = last.filter(|letter| letter.edition != LOOK_AHEAD) else {
        return Ok(Some(1));
    };
    let body = Body { as_of }.text();
    let told = letters::rewrite_unsent(change.conn, tenant, last.delivery_id, &body)?;
    Ok((!told).then_some(last.edition + 1))
}
