//! What athletes and guardians ask about a session or an item of a programme, and what a strength coach tells them.
//!
//! The service passes a question on and answers nothing itself. `about` is what a question hangs on, `input` what is sent, `answer` what is
//! answered, `beside` what a coach reads with one.

mod about;
mod answer;
mod beside;
mod input;

pub use about::{About, AboutBody};
pub use answer::QuestionAnswer;
pub use beside::{Beside, BesideDay};
pub use input::{LONGEST_TEXT, QuestionInput, ReplyInput};

use jiff::Timestamp;
use plimsoll_domain::consent::DataClass;

use super::consents::gate;
use super::fields::Faults;
use super::notices;
use super::reach::{self, Reached};
use super::write::Change;
use crate::auth::Role;
use crate::auth::tenant::Caller;
use crate::error::{Code, Problem};
use crate::ids::{AthleteId, QuestionId};
use crate::store::questions::{self, Question, QuestionFilter};
use crate::store::{self, Conn, Tenant, Versioned};

/// Questions about one athlete that may be open at a time.
pub const MOST_OPEN: i64 = 10;

/// Where those who may read them find the questions that wait for somebody.
pub fn open_list(tenant: Tenant) -> String {
    format!("/v1/clubs/{}/questions?open=true", tenant.club_id())
}

/// Stores a question about an athlete whom the caller was found to reach, and the notice of it.
///
/// # Errors
/// 409 where too many are open; 422 with every fault.
pub fn ask(
    change: &mut Change<'_>,
    athlete: AthleteId,
    input: &QuestionInput,
) -> Result<QuestionAnswer, Problem> {
    let tenant = change.tenant();
    if questions::count_open(change.conn, tenant, athlete)? >= MOST_OPEN {
        let detail = format!("{MOST_OPEN} questions about her wait for an answer already.");
        return Err(Problem::new(Code::TooManyQuestions, detail));
    }
    let mut faults = Faults::default();
    let text = input.checked_text(&mut faults);
    let about = about::check(change, athlete, input.about.as_ref(), &mut faults)?;
    let id = change.new_id();
    let question = text.zip(about).map(|(text, about)| Question {
        question_id: id,
        athlete_id: athlete,
        about,
        hurts: input.hurts.unwrap_or(false),
        asked_by: change.caller.principal.role.code().to_owned(),
        asked_at: change.at(),
        is_open: true,
        text: text.into(),
        reply: None,
    });
    let question = faults.settle(question)?;
    change.store_with(|conn, tenant, moment, author| {
        questions::insert(conn, tenant, moment, author, &[question])
    })?;
    notices::enqueue_question(change, athlete)?;
    QuestionAnswer::of(find(change.conn, change.caller, id)?)
}

/// Answers a question, closes it or opens it again; the same content changes nothing. A new reply closes it.
///
/// # Errors
/// 422 with every fault.
pub fn reply(
    change: &mut Change<'_>,
    before: &Versioned<Question>,
    input: &ReplyInput,
) -> Result<QuestionAnswer, Problem> {
    let content = input.checked(&before.content)?;
    let id = content.question_id;
    if content != before.content {
        let next = store::Change {
            replaces: before.version.number,
            content,
            deleted: false,
        };
        change.store_with(|conn, tenant, moment, author| {
            questions::supersede(conn, tenant, moment, author, &[next])
        })?;
    }
    QuestionAnswer::of(find(change.conn, change.caller, id)?)
}

/// The question of an id within the caller's reach; athletic trainers find those about pain alone.
///
/// # Errors
/// 404.
pub fn find(
    conn: &mut Conn,
    caller: &Caller,
    id: QuestionId,
) -> Result<Versioned<Question>, Problem> {
    let found = questions::current(conn, caller.tenant, id)?;
    let found = found
        .filter(|one| !one.version.deleted)
        .filter(|one| one.content.hurts || !reads_pain_alone(caller))
        .ok_or_else(Problem::not_found)?;
    if !reach::of(conn, caller)?.includes(found.content.athlete_id) {
        return Err(Problem::not_found());
    }
    Ok(found)
}

/// As [`find`], for who reads: athletic trainers where her family has consented.
///
/// # Errors
/// 404; 403 without consent.
pub fn read(
    conn: &mut Conn,
    caller: &Caller,
    id: QuestionId,
    clock: Timestamp,
) -> Result<Versioned<Question>, Problem> {
    let found = find(conn, caller, id)?;
    if reads_pain_alone(caller) {
        let asked = (found.content.athlete_id, DataClass::Pain);
        gate::require(conn, caller.tenant, asked, clock)?;
    }
    Ok(found)
}

/// Whose questions a list shows, and which.
///
/// # Errors
/// 404 for an athlete out of reach; 403 without consent.
pub fn listed(
    conn: &mut Conn,
    caller: &Caller,
    (asked, open): (Option<AthleteId>, Option<bool>),
    clock: Timestamp,
) -> Result<(Reached, QuestionFilter), Problem> {
    let reached = reach::listed(conn, caller, asked)?;
    let pain_alone = reads_pain_alone(caller);
    let reached = match pain_alone {
        true => gate::listed(
            conn,
            caller.tenant,
            (reached, asked),
            DataClass::Pain,
            clock,
        )?,
        false => reached,
    };
    Ok((reached, QuestionFilter { open, pain_alone }))
}

/// Whether somebody reads only where something hurts, and by consent: whom the question was not sent to.
pub fn reads_pain_alone(caller: &Caller) -> bool {
    caller.principal.role == Role::AthleticTrainer
}
