//! What an intruder may do to the list, and where it must show: one kind a function.

use plimsoll_api::ids::AuditId;
use plimsoll_api::services::audit_chain::Break;
use rand::{Rng, RngExt};
use rand_chacha::ChaCha20Rng;
use uuid::Uuid;

use super::chains::Chains;

/// Statements, and what is then said of which club.
pub(super) struct Tamper {
    pub(super) kind: &'static str,
    pub(super) sql: String,
    pub(super) found: Vec<(usize, Break)>,
}

/// How many kinds there are.
pub(super) const KINDS: usize = 23;

/// Columns of texts that are always there.
const TEXTS: [&str; 6] = [
    "subject",
    "client",
    "acting_role",
    "action",
    "outcome",
    "request_id",
];

/// Draws one, half of them of single cells.
pub(super) fn draw(chains: &Chains, random: &mut ChaCha20Rng) -> Tamper {
    let club = random.random_range(0..chains.clubs.len());
    let mut draw = Draw {
        chains,
        club,
        number: random.random_range(1..=chains.clubs[club].length()),
        random,
    };
    let (kind, sql, found) = match draw.random.random_range(0..24) {
        0..6 => draw.text(),
        6 => draw.instant(),
        7 => draw.purpose(),
        8 => draw.athlete(),
        9 => draw.own_id(),
        10 => draw.place(),
        11 => draw.link(),
        12 => draw.given_away(),
        13 | 14 => draw.deleted(),
        15 => draw.inserted_without_place(),
        16 => draw.inserted_beyond_the_end(),
        17 => draw.inserted_between(),
        18 => draw.swapped(),
        19 => draw.moved_to_another_club(),
        20 => draw.tail_to_another_club(),
        21 => draw.cut_off(),
        22 => draw.cut_off_with_the_head(),
        _ => draw.head(),
    };
    Tamper { kind, sql, found }
}

type Drawn = (&'static str, String, Vec<(usize, Break)>);

struct Draw<'a> {
    chains: &'a Chains,
    club: usize,
    number: i64,
    random: &'a mut ChaCha20Rng,
}

impl Draw<'_> {
    fn length(&self) -> i64 {
        self.chains.clubs[self.club].length()
    }

    fn audit_id(&self, number: i64) -> AuditId {
        self.chains.clubs[self.club].row(number).read.audit_id
    }

    fn new_id(&mut self) -> Uuid {
        Uuid::from_u64_pair(self.random.next_u64(), self.random.next_u64())
    }

    fn other_club(&mut self) -> usize {
        (self.club + self.random.random_range(1..self.chains.clubs.len())) % self.chains.clubs.len()
    }

    fn row(&self) -> String {
        format!(
            "club_id = {} AND number = {}",
            self.chains.club(self.club),
            self.number
        )
    }

    fn set(&self, change: &str) -> String {
        format!("UPDATE audit_reads SET {change} WHERE {};", self.row())
    }

    fn at(&self, broken: Break) -> Vec<(usize, Break)> {
        vec![(self.club, broken)]
    }

    fn altered(&self) -> Vec<(usize, Break)> {
        self.at(Break::Altered(self.number, self.audit_id(self.number)))
    }

    fn missing(&self) -> Vec<(usize, Break)> {
        self.at(Break::Missing(self.number))
    }

    fn text(&mut self) -> Drawn {
        let column = TEXTS[self.random.random_range(0..TEXTS.len())];
        let change = match self.random.random_range(0..3) {
            0 => format!("{column} = {column} || 'x'"),
            1 => format!("{column} = substr({column}, 2)"),
            _ => format!("{column} = ''"),
        };
        (column, self.set(&change), self.altered())
    }

    fn instant(&mut self) -> Drawn {
        let by = self.random.random_range(1..10_000_000)
            * if self.random.random_bool(0.5) { 1 } else { -1 };
        let moved = self.chains.moved(by);
        match self.random.random_range(0..4) {
            0 => {
                let sql = self.set(&format!("at = {}", self.chains.never()));
                ("at", sql, self.at(Break::Unreadable(self.number)))
            }
            _ => ("at", self.set(&format!("at = {moved}")), self.altered()),
        }
    }

    fn purpose(&mut self) -> Drawn {
        let other = ["'screening '", "''"][self.random.random_range(0..2)];
        let change = format!("purpose = CASE WHEN purpose IS NULL THEN {other} ELSE NULL END");
        ("purpose", self.set(&change), self.altered())
    }

    fn athlete(&mut self) -> Drawn {
        let id = self.new_id();
        let change = match self.random.random_bool(0.5) {
            true => format!("athlete_id = {}", self.chains.id(id)),
            false => format!(
                "athlete_id = CASE WHEN athlete_id IS NULL THEN {} ELSE NULL END",
                self.chains.id(id)
            ),
        };
        ("athlete_id", self.set(&change), self.altered())
    }

    fn own_id(&mut self) -> Drawn {
        let id = self.new_id();
        let sql = self.set(&format!("audit_id = {}", self.chains.id(id)));
        (
            "audit_id",
            sql,
            self.at(Break::Altered(self.number, id.into())),
        )
    }

    fn place(&mut self) -> Drawn {
        let far = self.random.random_range(1..1_000);
        let place = match self.random.random_range(0..4) {
            0 => "NULL".to_owned(),
            1 => (self.length() + far).to_string(),
            2 => (-far).to_string(),
            _ => "0".to_owned(),
        };
        (
            "number",
            self.set(&format!("number = {place}")),
            self.missing(),
        )
    }

    fn link(&mut self) -> Drawn {
        let mut link = self.chains.clubs[self.club].row(self.number).link.clone();
        link[self.random.random_range(0..32)] ^= 1 << self.random.random_range(0..8);
        match self.random.random_range(0..4) {
            0 => ("link", self.set("link = NULL"), self.missing()),
            1 => (
                "link",
                self.set(&format!("link = {}", self.chains.octets(&[]))),
                self.altered(),
            ),
            _ => {
                let change = format!("link = {}", self.chains.octets(&link));
                ("link", self.set(&change), self.altered())
            }
        }
    }

    /// The number goes with the row where it is free in the other club; else it is taken off.
    fn given_away(&mut self) -> Drawn {
        let other = self.other_club();
        let is_free = self.number > self.chains.clubs[other].length();
        let number = if is_free { "number" } else { "NULL" };
        let change = format!("club_id = {}, number = {number}", self.chains.club(other));
        let mut found = self.missing();
        found.push((other, Break::Outside(self.audit_id(self.number))));
        ("club_id", self.set(&change), found)
    }

    fn deleted(&mut self) -> Drawn {
        let sql = format!("DELETE FROM audit_reads WHERE {};", self.row());
        ("deleted", sql, self.missing())
    }

    /// A row like the drawn one under an id, a number and a link of the intruder's.
    fn insert(&self, id: Uuid, number: &str, link: &str) -> String {
        let (id, row) = (self.chains.id(id), self.row());
        format!(
            "INSERT INTO audit_reads (club_id, audit_id, at, subject, client, acting_role, purpose, athlete_id, action, \
             outcome, request_id, number, link) SELECT club_id, {id}, at, subject, client, acting_role, purpose, \
             athlete_id, action, outcome, request_id, {number}, {link} FROM audit_reads WHERE {row};"
        )
    }

    fn inserted_without_place(&mut self) -> Drawn {
        let id = self.new_id();
        let link = ["NULL", "link"][self.random.random_range(0..2)];
        let sql = self.insert(id, "NULL", link);
        (
            "inserted without a place",
            sql,
            self.at(Break::Outside(id.into())),
        )
    }

    fn inserted_beyond_the_end(&mut self) -> Drawn {
        let (id, next) = (self.new_id(), self.length() + 1);
        let mut sql = self.insert(id, &next.to_string(), "link");
        let broken = if self.random.random_bool(0.5) {
            sql += &self.set_head(&format!(
                "number = {next}, link = (SELECT link FROM audit_reads WHERE {})",
                self.row()
            ));
            Break::Altered(next, id.into())
        } else {
            Break::Outside(id.into())
        };
        ("inserted beyond the end", sql, self.at(broken))
    }

    fn inserted_between(&mut self) -> Drawn {
        let (id, club, number) = (self.new_id(), self.chains.club(self.club), self.number);
        let link = self
            .chains
            .octets(&self.chains.clubs[self.club].row(number).link);
        // Numbers are unique while they move, too.
        let mut sql = format!(
            "UPDATE audit_reads SET number = -number - 1 WHERE club_id = {club} AND number >= {number}; \
             UPDATE audit_reads SET number = -number WHERE club_id = {club} AND number < 0; "
        );
        self.number += 1;
        sql += &self.insert(id, &number.to_string(), &link);
        sql += &self.set_head("number = number + 1");
        (
            "inserted between",
            sql,
            self.at(Break::Altered(number, id.into())),
        )
    }

    fn swapped(&mut self) -> Drawn {
        let length = self.length();
        let one = self.random.random_range(1..length);
        let other = self.random.random_range(one + 1..=length);
        let club = self.chains.club(self.club);
        let mut sql = format!(
            "UPDATE audit_reads SET number = NULL WHERE club_id = {club} AND number = {one}; \
             UPDATE audit_reads SET number = {one} WHERE club_id = {club} AND number = {other}; \
             UPDATE audit_reads SET number = {other} WHERE club_id = {club} AND number IS NULL; "
        );
        if self.random.random_bool(0.5) {
            for number in [one, other] {
                let link = self
                    .chains
                    .octets(&self.chains.clubs[self.club].row(number).link);
                sql += &format!(
                    "UPDATE audit_reads SET link = {link} WHERE club_id = {club} AND number = {number}; "
                );
            }
        }
        (
            "swapped",
            sql,
            self.at(Break::Altered(one, self.audit_id(other))),
        )
    }

    fn moved_to_another_club(&mut self) -> Drawn {
        let (other, first) = (self.other_club(), self.number);
        let last = (first + self.random.random_range(0..20)).min(self.length());
        let (from, to) = (self.chains.club(self.club), self.chains.club(other));
        let sql = format!(
            "UPDATE audit_reads SET club_id = {to}, number = -number WHERE club_id = {from} AND number BETWEEN {first} AND {last};"
        );
        let mut found = self.missing();
        found.push((other, Break::Outside(self.audit_id(first))));
        ("moved to another club", sql, found)
    }

    /// The end of the longest chain goes on after the end of the shortest, and both heads with it.
    fn tail_to_another_club(&mut self) -> Drawn {
        let other = 0;
        self.club = self.chains.clubs.len() - 1;
        let end = self.chains.clubs[other].length();
        let (from, to, length) = (
            self.chains.club(self.club),
            self.chains.club(other),
            self.length(),
        );
        let mut sql = format!(
            "UPDATE audit_reads SET club_id = {to} WHERE club_id = {from} AND number > {end}; "
        );
        self.number = length;
        let last = self
            .chains
            .octets(&self.chains.clubs[self.club].row(length).link);
        sql += &format!(
            "UPDATE audit_heads SET number = {length}, link = {last} WHERE club_id = {to}; "
        );
        sql += &self.rewind(end);
        let mut found = self.at(self.cut(end));
        found.push((other, Break::Altered(end + 1, self.audit_id(end + 1))));
        ("tail moved to another club", sql, found)
    }

    fn cut_off(&mut self) -> Drawn {
        let sql = self.chains.delete_from(self.club, self.number);
        ("cut off", sql, self.missing())
    }

    fn cut_off_with_the_head(&mut self) -> Drawn {
        let kept = self.number - 1;
        let sql = self.chains.delete_from(self.club, self.number) + &self.rewind(kept);
        ("cut off with the head", sql, self.at(self.cut(kept)))
    }

    /// What the signed heads say of a chain that ends with a row.
    fn cut(&self, kept: i64) -> Break {
        let signed = self
            .chains
            .signed_at(self.club)
            .into_iter()
            .find(|signed| *signed > kept);
        Break::CutOff {
            row: kept + 1,
            signed: signed.unwrap(),
            at: self.chains.signing_time(),
        }
    }

    /// Makes a row the end; where none is left, as if the club had never had one.
    fn rewind(&self, to: i64) -> String {
        if to == 0 {
            return format!(
                "DELETE FROM audit_heads WHERE club_id = {};",
                self.chains.club(self.club)
            );
        }
        let link = self
            .chains
            .octets(&self.chains.clubs[self.club].row(to).link);
        self.set_head(&format!("number = {to}, link = {link}"))
    }

    fn set_head(&self, change: &str) -> String {
        format!(
            "UPDATE audit_heads SET {change} WHERE club_id = {};",
            self.chains.club(self.club)
        )
    }

    fn head(&mut self) -> Drawn {
        let length = self.length();
        // A head that goes back by itself leaves rows beyond it.
        let before = self.random.random_range(1..length);
        let (sql, broken) = match self.random.random_range(0..6) {
            0 => (
                self.set_head(&format!("number = {before}")),
                Break::Head(before),
            ),
            1 => (
                self.rewind(before),
                Break::Outside(self.audit_id(before + 1)),
            ),
            2 => (
                self.set_head("number = number + 1"),
                Break::Missing(length + 1),
            ),
            3 => (
                self.set_head(&format!("link = {}", self.chains.octets(&[7; 32]))),
                Break::Head(length),
            ),
            4 => (
                self.set_head(&format!("key_id = {}", self.chains.octets(&[7; 8]))),
                Break::OtherKey,
            ),
            _ => (self.rewind(0), Break::NoHead),
        };
        ("head", sql, self.at(broken))
    }
}
