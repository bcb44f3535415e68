//! What consents let through: asked before data of a class is shown or used, at every read.
//!
//! What was withdrawn, has ended or has not begun is refused everywhere. What nobody was ever asked about is refused where the
//! class always needs consent, or the club has set that it does. A read is judged by now, also where it shows an earlier state of knowledge.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use plimsoll_domain::consent::{Consent, DataClass, Decides, Standing, standing};

use super::input::recipient_of;
use super::{decides_at, instants};
use crate::error::{Code, Problem};
use crate::ids::AthleteId;
use crate::services::reach::Reached;
use crate::store::consent_settings::{self, ConsentSettings};
use crate::store::{Conn, Known, Tenant, Who, athletes, clubs, consents};

/// What athletes' families said, of every class of data.
#[derive(Debug)]
pub struct Said {
    settings: Vec<ConsentSettings>,
    consents: Vec<consents::Consent>,
}

impl Said {
    /// Reads it.
    pub fn read(conn: &mut Conn, tenant: Tenant, who: Who<'_>) -> Result<Self, Problem> {
        let consents = consents::of(conn, tenant, who)?;
        Ok(Self {
            settings: consent_settings::history(conn, tenant)?,
            consents: consents.into_iter().map(|one| one.content).collect(),
        })
    }

    /// What of it concerns one class.
    pub fn of(&self, class: DataClass) -> Gate {
        let mut given: BTreeMap<AthleteId, Vec<Consent>> = BTreeMap::new();
        for stored in &self.consents {
            let is_meant = stored.recipient_role.is_some()
                && stored.recipient_role == recipient_of(class)
                && stored.data_classes.0.contains(&class);
            if is_meant {
                let of_athlete = given.entry(stored.athlete_id).or_default();
                of_athlete.push(instants(stored));
            }
        }
        Gate {
            class,
            settings: self.settings.clone(),
            consents: given,
        }
    }
}

/// The consents of athletes to one class of data for those it is for.
#[derive(Debug)]
pub struct Gate {
    class: DataClass,
    settings: Vec<ConsentSettings>,
    consents: BTreeMap<AthleteId, Vec<Consent>>,
}

impl Gate {
    /// Why the class is closed for an athlete at an instant; `None` where it is open.
    pub fn refuses(&self, athlete: AthleteId, at: Timestamp) -> Option<Code> {
        let consents = self.consents.get(&athlete).map_or(&[][..], Vec::as_slice);
        match standing(consents, at) {
            Standing::InForce => None,
            Standing::Withdrawn => Some(Code::ConsentWithdrawn),
            Standing::Ended | Standing::ToCome => Some(Code::ConsentMissing),
            Standing::NeverGiven => self.is_needed(at).then_some(Code::ConsentMissing),
        }
    }

    /// Which class of data.
    pub const fn class(&self) -> DataClass {
        self.class
    }

    /// Whether the club had set by then that the class needs consent.
    fn is_needed(&self, at: Timestamp) -> bool {
        if self.class.always_needs_consent() {
            return true;
        }
        let known = self
            .settings
            .iter()
            .rfind(|version| version.received_at <= at);
        known.is_some_and(|version| version.needed_for.0.contains(&self.class))
    }

    /// Those of the athletes for whom the class is open.
    fn narrow(
        &self,
        conn: &mut Conn,
        tenant: Tenant,
        reached: Reached,
        at: Timestamp,
    ) -> Result<Reached, Problem> {
        let closed = |athlete: &AthleteId| self.refuses(*athlete, at).is_some();
        if !self.is_needed(at) && !self.consents.keys().any(closed) {
            return Ok(reached);
        }
        let among: BTreeSet<AthleteId> = match reached {
            Reached::Only(athletes) => athletes.into_iter().collect(),
            Reached::Everyone => {
                let everyone = athletes::known(conn, tenant, Who::WholeClub, Known::Now)?;
                everyone.iter().map(|one| one.content.athlete_id).collect()
            }
        };
        let open = among.into_iter().filter(|athlete| !closed(athlete));
        Ok(Reached::Only(open.collect()))
    }
}

/// The instant a read is judged at: the clock's, and never before the club's last change.
pub fn instant(conn: &mut Conn, tenant: Tenant, clock: Timestamp) -> Result<Timestamp, Problem> {
    Ok(clock.max(clubs::last_received(conn, tenant)?))
}

/// Why classes of data of one athlete are closed now; `None` where one is open.
pub fn closed<const N: usize>(
    conn: &mut Conn,
    tenant: Tenant,
    (athlete, classes): (AthleteId, [DataClass; N]),
    clock: Timestamp,
) -> Result<[Option<Code>; N], Problem> {
    let at = instant(conn, tenant, clock)?;
    let said = Said::read(conn, tenant, Who::Athletes(&[athlete]))?;
    Ok(classes.map(|class| said.of(class).refuses(athlete, at)))
}

/// Demands that a class of data of one athlete is open now.
///
/// # Errors
/// 403 that says whom to ask. It is the same whether there is such data or not.
pub fn require(
    conn: &mut Conn,
    tenant: Tenant,
    (athlete, class): (AthleteId, DataClass),
    clock: Timestamp,
) -> Result<(), Problem> {
    let [Some(code)] = closed(conn, tenant, (athlete, [class]), clock)? else {
        return Ok(());
    };
    let found = athletes::current(conn, tenant, athlete)?.ok_or_else(Problem::not_found)?;
    let whom = match decides_at(conn, tenant, &found.content, clock)? {
        Decides::Guardian => "her guardians",
        Decides::Athlete => "the athlete",
    };
    let detail = format!(
        "Nobody has consented to it, or no longer does: ask {whom}, or the club's privacy lead."
    );
    Err(Problem::new(code, detail))
}

/// Whom a list of a class of data shows: the athlete asked for, whose data has to be open, else all within reach whose is.
///
/// # Errors
/// 403 as [`require`].
pub fn listed(
    conn: &mut Conn,
    tenant: Tenant,
    (reached, asked): (Reached, Option<AthleteId>),
    class: DataClass,
    clock: Timestamp,
) -> Result<Reached, Problem> {
    if let Some(athlete) = asked {
        require(conn, tenant, (athlete, class), clock)?;
        return Ok(reached);
    }
    let at = instant(conn, tenant, clock)?;
    let gate = Said::read(conn, tenant, Who::WholeClub)?.of(class);
    gate.narrow(conn, tenant, reached, at)
}
