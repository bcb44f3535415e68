//! The file that signed heads are kept in: a line each, only ever added to.

use std::collections::HashMap;
use std::fs::File;
use std::io::{self, BufReader, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use jiff::Timestamp;

use super::added_lines::append;
use super::signed_heads::{KeptHeads, SignKey, SignedHead, hexadecimal};
use crate::ids::ClubId;
use crate::store::audit::AuditHead;

/// Signs where lists end, and keeps what it signed.
#[derive(Debug)]
pub struct HeadFile {
    key: SignKey,
    path: PathBuf,
    last: Mutex<HashMap<ClubId, SignedHead>>,
}

/// What became of a list's end.
#[derive(Debug, PartialEq, Eq)]
pub enum Kept {
    /// It has not moved since it was last signed.
    Same,
    /// It was signed and written down.
    Signed(SignedHead),
    /// It was, but lies before an end that was signed earlier, or beside it.
    WentBack(SignedHead),
}

impl HeadFile {
    /// Finds what was signed last of each club. A line that cannot be relied on counts for nothing.
    ///
    /// # Errors
    /// Those of the file.
    pub fn open(key: SignKey, path: &Path) -> io::Result<Self> {
        let kept = match File::open(path) {
            Err(error) if error.kind() == ErrorKind::NotFound => KeptHeads::default(),
            opened => KeptHeads::read(BufReader::new(opened?), &[key.public().clone()])?,
        };
        for (line, why) in &kept.bad {
            tracing::warn!(path = %path.display(), line, %why, "a line of the signed heads cannot be relied on");
        }
        let mut last: HashMap<ClubId, SignedHead> = HashMap::new();
        for head in kept.of_clubs.into_values().flatten() {
            let known = last.get(&head.club_id);
            if known.is_none_or(|known| known.at <= head.at) {
                last.insert(head.club_id, head);
            }
        }
        append(path, "")?;
        Ok(Self {
            key,
            path: path.to_owned(),
            last: Mutex::new(last),
        })
    }

    /// Signs where a club's list ends, where that moved, and writes it down. It waits for the disk.
    ///
    /// # Errors
    /// Those of the file; then nothing counts as signed.
    pub fn keep(&self, club_id: ClubId, head: &AuditHead, at: Timestamp) -> io::Result<Kept> {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let before = last.get(&club_id);
        let link = hexadecimal(&head.link);
        if before.is_some_and(|before| before.number == head.number && before.link == link) {
            return Ok(Kept::Same);
        }
        let went_back = before.is_some_and(|before| before.number >= head.number);
        let signed = self.key.sign(club_id, head, at)?;
        append(&self.path, &(signed.line()? + "\n"))?;
        last.insert(club_id, signed.clone());
        Ok(match went_back {
            true => Kept::WentBack(signed),
            false => Kept::Signed(signed),
        })
    }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    fn head(number: i64, link: u8) -> AuditHead {
        AuditHead {
            number,
            link: vec![link; 32],
            key_id: vec![1],
        }
    }

    fn at(second: i64) -> Timestamp {
        Timestamp::from_second(second).unwrap()
    }

    fn open(folder: &Path) -> HeadFile {
        let key = SignKey::open(&folder.join("sign.key")).unwrap();
        HeadFile::open(key, &folder.join("heads.jsonl")).unwrap()
    }

    fn club(id: u128) -> ClubId {
        ClubId::from(Uuid::from_u128(id))
    }

    fn lines(folder: &Path) -> usize {
        let text = std::fs::read_to_string(folder.join("heads.jsonl")).unwrap();
        text.lines().count()
    }

    #[test]
    fn a_head_is_signed_once_until_it_moves_and_over_a_restart() {
        let folder = tempfile::tempdir().unwrap();
        let file = open(folder.path());
        assert!(matches!(
            file.keep(club(1), &head(3, 3), at(1)),
            Ok(Kept::Signed(_))
        ));
        assert_eq!(file.keep(club(1), &head(3, 3), at(2)).unwrap(), Kept::Same);
        assert!(matches!(
            file.keep(club(2), &head(3, 3), at(3)),
            Ok(Kept::Signed(_))
        ));
        assert!(matches!(
            file.keep(club(1), &head(5, 5), at(4)),
            Ok(Kept::Signed(_))
        ));
        assert_eq!(lines(folder.path()), 3);
        let again = open(folder.path());
        assert_eq!(again.keep(club(1), &head(5, 5), at(5)).unwrap(), Kept::Same);
        assert_eq!(again.keep(club(2), &head(3, 3), at(5)).unwrap(), Kept::Same);
        assert_eq!(lines(folder.path()), 3);
    }

    #[test]
    fn an_end_that_went_back_is_signed_and_told() {
        let folder = tempfile::tempdir().unwrap();
        let file = open(folder.path());
        file.keep(club(1), &head(5, 5), at(1)).unwrap();
        assert!(matches!(
            file.keep(club(1), &head(5, 6), at(2)),
            Ok(Kept::WentBack(_))
        ));
        assert!(matches!(
            file.keep(club(1), &head(4, 4), at(3)),
            Ok(Kept::WentBack(_))
        ));
        let again = open(folder.path());
        assert_eq!(
            again.keep(club(1), &head(4, 4), at(4)).unwrap(),
            Kept::Same,
            "the last one signed counts"
        );
        assert_eq!(lines(folder.path()), 3);
    }

    #[test]
    fn half_a_line_spoils_no_other() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("heads.jsonl");
        open(folder.path())
            .keep(club(1), &head(1, 1), at(1))
            .unwrap();
        let whole = std::fs::read(&path).unwrap();
        std::fs::write(&path, [&whole[..], &whole[..40]].concat()).unwrap();
        open(folder.path())
            .keep(club(1), &head(2, 2), at(2))
            .unwrap();
        let key = SignKey::open(&folder.path().join("sign.key")).unwrap();
        let text = std::fs::read(&path).unwrap();
        let kept = KeptHeads::read(&text[..], &[key.public().clone()]).unwrap();
        assert_eq!(kept.of(club(1)).len(), 2);
        assert_eq!(
            kept.bad.iter().map(|(line, _)| *line).collect::<Vec<_>>(),
            [2]
        );
    }

    #[test]
    fn a_folder_that_is_not_there_is_an_error() {
        let folder = tempfile::tempdir().unwrap();
        let key = SignKey::open(&folder.path().join("sign.key")).unwrap();
        let opened = HeadFile::open(key, &folder.path().join("absent/heads.jsonl"));
        assert!(opened.is_err());
    }
}
