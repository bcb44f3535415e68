//! The file outside the database that each erasure is added to: a line of JSON each. After a restore its athletes are erased again.

use std::io::{self, BufRead};
use std::path::Path;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::ids::{AthleteId, ClubId, ErasureId};
use crate::services::added_lines;
use crate::store::ErasureReason;
use crate::store::erasures::Erasure;

/// An erasure as a line: ids and counts, nothing of what was erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Filed {
    /// When.
    pub at: Timestamp,
    /// In which club.
    pub club_id: ClubId,
    /// Whose records.
    pub athlete_id: AthleteId,
    /// The id of the erasure.
    pub erasure_id: ErasureId,
    /// By whom.
    pub by_subject: String,
    /// In which role.
    pub acting_role: String,
    /// Why.
    pub reason: ErasureReason,
    /// How many rows of each table.
    pub counts: Value,
}

impl Filed {
    /// The line of an erasure of a club.
    pub fn new(club_id: ClubId, erasure: Erasure) -> Self {
        Self {
            at: erasure.at,
            club_id,
            athlete_id: erasure.athlete_id,
            erasure_id: erasure.erasure_id,
            by_subject: erasure.by_subject,
            acting_role: erasure.acting_role,
            reason: erasure.reason,
            counts: erasure.counts,
        }
    }

    /// The erasure as it is entered again: written down outside it is already.
    pub(super) fn entered_again(self, now: Timestamp) -> Erasure {
        Erasure {
            erasure_id: self.erasure_id,
            athlete_id: self.athlete_id,
            at: self.at,
            by_subject: self.by_subject,
            acting_role: self.acting_role,
            reason: self.reason,
            counts: self.counts,
            filed_at: Some(now),
            cleaned_at: None,
        }
    }
}

/// Adds a line and waits until it is on the disk.
///
/// # Errors
/// Those of the file.
pub fn add(path: &Path, filed: &Filed) -> io::Result<()> {
    added_lines::append(path, &(serde_json::to_string(filed)? + "\n"))
}

/// The lines of a file by their number from 1; one that a crash broke off is an error of its own, and was written once more.
///
/// # Errors
/// Those of the file.
pub fn read(file: impl BufRead) -> io::Result<Vec<(usize, Result<Filed, serde_json::Error>)>> {
    let mut lines = Vec::new();
    for (number, line) in (1..).zip(file.lines()) {
        let line = line?;
        if !line.is_empty() {
            lines.push((number, serde_json::from_str(&line)));
        }
    }
    Ok(lines)
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    #[test]
    fn lines_come_back_and_half_a_line_spoils_no_other() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("erasures.jsonl");
        let filed = |id: u128| Filed {
            at: Timestamp::UNIX_EPOCH,
            club_id: Uuid::from_u128(1).into(),
            athlete_id: Uuid::from_u128(id).into(),
            erasure_id: Uuid::from_u128(2).into(),
            by_subject: "lead".to_owned(),
            acting_role: "privacy_lead".to_owned(),
            reason: ErasureReason::Left,
            counts: serde_json::json!({ "flags": 3 }),
        };
        add(&path, &filed(7)).unwrap();
        let whole = std::fs::read(&path).unwrap();
        std::fs::write(&path, [&whole[..], &whole[..30]].concat()).unwrap();
        add(&path, &filed(8)).unwrap();
        let lines = read(&std::fs::read(&path).unwrap()[..]).unwrap();
        let good: Vec<(usize, Option<Filed>)> = lines
            .into_iter()
            .map(|(number, line)| (number, line.ok()))
            .collect();
        assert_eq!(good, [(1, Some(filed(7))), (2, None), (3, Some(filed(8)))]);
    }
}
