//! Memberships: from when to when an athlete belongs to a squad.

use jiff::civil::Date;
use plimsoll_domain::roster::MembershipRole;

use super::schema::{memberships, squads};
use super::squads::Squad;
use super::versioned::Version;
use super::versioned::prelude::*;
use crate::ids::{AthleteId, MembershipId, SquadId};

/// An athlete's time in a squad, both ends included.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = memberships, treat_none_as_default_value = false)]
pub struct Membership {
    /// Its id.
    pub membership_id: MembershipId,
    /// The squad.
    pub squad_id: SquadId,
    /// The athlete.
    pub athlete_id: AthleteId,
    /// In which capacity.
    #[diesel(serialize_as = Sql<MembershipRole>, deserialize_as = Sql<MembershipRole>)]
    pub role: MembershipRole,
    /// The first day.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub from_date: Date,
    /// The last day, once it is known.
    #[diesel(serialize_as = Sql<Option<Date>>, deserialize_as = Sql<Option<Date>>)]
    pub to_date: Option<Date>,
    /// Whether it is the athlete's main squad.
    pub is_primary: bool,
}

versioned!(memberships, membership_id: MembershipId, Membership, pub fn insert);

/// The undeleted memberships of athletes with their squads, by athlete, first day and id: one
/// query a batch of athletes.
///
/// # Errors
/// Those of the database.
pub fn of_athletes(
    conn: &mut Conn,
    tenant: Tenant,
    athletes: &[AthleteId],
    state: Known,
) -> Result<Vec<(Versioned<Membership>, Squad)>, StoreError> {
    let mut found = Vec::new();
    for chunk in sorted_chunks(athletes) {
        let rows: Vec<(Membership, Version, Squad)> = each_backend!(conn, |c| {
            let query = memberships::table
                .inner_join(
                    squads::table.on(squads::club_id
                        .eq(memberships::club_id)
                        .and(squads::squad_id.eq(memberships::squad_id))),
                )
                .filter(memberships::club_id.eq(tenant.club_id()))
                .filter(memberships::athlete_id.eq_any(&chunk))
                .filter(not(memberships::deleted))
                .into_boxed();
            known!(memberships, query, state)
                .order((
                    memberships::athlete_id,
                    memberships::from_date,
                    memberships::membership_id,
                ))
                .select((
                    Membership::as_select(),
                    version_columns!(memberships),
                    Squad::as_select(),
                ))
                .load(c)
        })?;
        found.extend(
            rows.into_iter()
                .map(|(content, version, squad)| (Versioned { content, version }, squad)),
        );
    }
    Ok(found)
}

/// The undeleted memberships of some squads that hold on any day of `from..=to`, by athlete, first
/// day and id.
///
/// # Errors
/// Those of the database.
pub fn of_squads(
    conn: &mut Conn,
    tenant: Tenant,
    squads: &[SquadId],
    from: Date,
    to: Date,
    state: Known,
) -> Result<Vec<Versioned<Membership>>, StoreError> {
    each_backend!(conn, |c| {
        let query = memberships::table
            .filter(memberships::club_id.eq(tenant.club_id()))
            .filter(memberships::squad_id.eq_any(squads))
            .filter(not(memberships::deleted))
            .filter(memberships::from_date.le(Sql(to)))
            .filter(
                memberships::to_date
                    .is_null()
                    .or(memberships::to_date.ge(Sql(from))),
            )
            .into_boxed();
        known!(memberships, query, state)
            .order((
                memberships::athlete_id,
                memberships::from_date,
                memberships::membership_id,
            ))
            .select((Membership::as_select(), version_columns!(memberships)))
            .load(c)
    })
}

/// Every undeleted membership of the club, by athlete, first day and id.
///
/// # Errors
/// Those of the database.
pub fn all(
    conn: &mut Conn,
    tenant: Tenant,
    state: Known,
) -> Result<Vec<Versioned<Membership>>, StoreError> {
    each_backend!(conn, |c| {
        let query = memberships::table
            .filter(memberships::club_id.eq(tenant.club_id()))
            .filter(not(memberships::deleted))
            .into_boxed();
        known!(memberships, query, state)
            .order((
                memberships::athlete_id,
                memberships::from_date,
                memberships::membership_id,
            ))
            .select((Membership::as_select(), version_columns!(memberships)))
            .load(c)
    })
}

/// The last day of every undeleted membership of the club, by athlete; `None` of one without an end.
///
/// # Errors
/// Those of the database.
pub fn last_days(
    conn: &mut Conn,
    tenant: Tenant,
    state: Known,
) -> Result<Vec<(AthleteId, Option<Date>)>, StoreError> {
    let rows: Vec<(AthleteId, Sql<Option<Date>>)> = each_backend!(conn, |c| {
        let query = memberships::table
            .filter(memberships::club_id.eq(tenant.club_id()))
            .filter(not(memberships::deleted))
            .into_boxed();
        known!(memberships, query, state)
            .order((memberships::athlete_id, memberships::membership_id))
            .select((memberships::athlete_id, memberships::to_date))
            .load(c)
    })?;
    let plain = |(athlete_id, last): (AthleteId, Sql<Option<Date>>)| (athlete_id, last.into());
    Ok(rows.into_iter().map(plain).collect())
}

/// The athletes who, as known now, belong to one of these squads on a date, by id, each once.
///
/// # Errors
/// Those of the database.
pub fn athletes_of_squads(
    conn: &mut Conn,
    tenant: Tenant,
    squads: &[SquadId],
    on: Date,
) -> Result<Vec<AthleteId>, StoreError> {
    each_backend!(conn, |c| memberships::table
        .filter(memberships::club_id.eq(tenant.club_id()))
        .filter(memberships::squad_id.eq_any(squads))
        .filter(memberships::superseded_at.is_null())
        .filter(not(memberships::deleted))
        .filter(memberships::from_date.le(Sql(on)))
        .filter(
            memberships::to_date
                .is_null()
                .or(memberships::to_date.ge(Sql(on)))
        )
        .order(memberships::athlete_id)
        .select(memberships::athlete_id)
        .distinct()
        .load(c))
}

/// Whether an athlete, as known now, belongs to one of these squads on a date: a coach's reach.
///
/// # Errors
/// Those of the database.
pub fn exists_in_squads(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    squads: &[SquadId],
    on: Date,
) -> Result<bool, StoreError> {
    let member = each_backend!(conn, |c| memberships::table
        .filter(memberships::club_id.eq(tenant.club_id()))
        .filter(memberships::athlete_id.eq(athlete_id))
        .filter(memberships::squad_id.eq_any(squads))
        .filter(memberships::superseded_at.is_null())
        .filter(not(memberships::deleted))
        .filter(memberships::from_date.le(Sql(on)))
        .filter(
            memberships::to_date
                .is_null()
                .or(memberships::to_date.ge(Sql(on)))
        )
        .select(memberships::version)
        .first::<i32>(c)
        .optional())?;
    Ok(member.is_some())
}
