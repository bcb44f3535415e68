//! An athlete's sessions with what was counted in them.

use std::collections::BTreeMap;

use plimsoll_domain::SessionCounts;

use super::row;
use crate::error::Problem;
use crate::ids::SessionId;
use crate::services::schedule::standing::SessionStanding;
use crate::store::session_contacts;
use crate::store::sessions::Session;
use crate::store::{Conn, Known, Tenant};

/// A session that took place for her, once however many reports it has.
#[derive(Debug, Clone, Copy)]
pub struct ReportedSession<'a> {
    /// The report that leads.
    pub leading: &'a Session,
    /// What was counted, with the report it was counted for; `None` where nobody did.
    pub counted: Option<(&'a Session, SessionCounts)>,
}

/// Reads what was counted in sessions; one query. Those that a confirmed absence sets aside are left out. Where several reports of a
/// session have counts those of the leading one stand, else those of the newest rating.
pub fn reported<'a>(
    conn: &mut Conn,
    tenant: Tenant,
    sessions: &[SessionStanding<'a>],
    known: Known,
) -> Result<Vec<ReportedSession<'a>>, Problem> {
    let reports = sessions.iter().flat_map(|one| &one.reports);
    let ids: Vec<SessionId> = reports.map(|report| report.session_id).collect();
    let rows = session_contacts::of_sessions(conn, tenant, &ids, known)?;
    let counts = rows
        .iter()
        .map(|row| Ok((row.session_id, row::counts(row)?)));
    let counts = counts.collect::<Result<BTreeMap<_, _>, Problem>>()?;
    let found = sessions.iter().filter_map(|one| {
        let leading = one.leading()?;
        let newest_first = one.reports.iter().rev().copied();
        let mut candidates = std::iter::once(leading).chain(newest_first);
        let counted = candidates.find_map(|report| {
            let counted = counts.get(&report.session_id)?;
            Some((report, *counted))
        });
        Some(ReportedSession { leading, counted })
    });
    Ok(found.collect())
}
