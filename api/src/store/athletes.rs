//! Athletes: an identity that never changes, and versions of what is known of it.

use jiff::Timestamp;
use jiff::civil::Date;

use super::name_key::NameKey;
use super::prepared::prepared_if;
use super::schema::{athlete_versions, athletes};
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::AthleteId;

/// An athlete as known.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = athlete_versions, treat_none_as_default_value = false)]
pub struct Athlete {
    /// The id.
    pub athlete_id: AthleteId,
    /// The roster's own key.
    pub external_id: Option<String>,
    /// The client that sent it.
    pub source: String,
    /// The name shown.
    pub display_name: String,
    /// The name searched, made from the name shown.
    pub name_key: NameKey,
    /// The day of birth, where the club tells it.
    #[diesel(serialize_as = Sql<Option<Date>>, deserialize_as = Sql<Option<Date>>)]
    pub birth_date: Option<Date>,
    /// The first day of the record.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub joined_on: Date,
    /// The IANA zone of days without another, where it is not the club's.
    pub time_zone: Option<String>,
}

versioned!(athlete_versions, athlete_id: AthleteId, Athlete, fn insert_versions);

/// Stores new athletes with their first versions, in batches.
///
/// # Errors
/// `Conflict` when an id or an external id is taken.
pub fn insert(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    author: Author<'_>,
    contents: &[Athlete],
) -> Result<(), StoreError> {
    let identities = contents.iter().map(|athlete| {
        (
            athletes::club_id.eq(tenant.club_id()),
            athletes::athlete_id.eq(athlete.athlete_id),
            athletes::created_at.eq(Sql(moment.at())),
        )
    });
    for batch in batches(identities) {
        each_backend!(conn, |c| diesel::insert_into(athletes::table)
            .values(batch)
            .execute(c))?;
    }
    insert_versions(conn, tenant, moment, author, contents)
}

/// The current, undeleted athletes of these external ids.
///
/// # Errors
/// Those of the database.
pub fn by_external_ids(
    conn: &mut Conn,
    tenant: Tenant,
    external_ids: &[&str],
) -> Result<Vec<Versioned<Athlete>>, StoreError> {
    let mut found = Vec::with_capacity(external_ids.len());
    for chunk in external_ids.chunks(BATCH) {
        found.append(&mut each_backend!(conn, |c| prepared_if(
            chunk.len() == 1,
            athlete_versions::table
                .filter(athlete_versions::club_id.eq(tenant.club_id()))
                .filter(athlete_versions::external_id.eq_any(chunk))
                .filter(athlete_versions::superseded_at.is_null())
                .filter(not(athlete_versions::deleted))
                .select((Athlete::as_select(), version_columns!(athlete_versions)))
        )
        .load(c))?);
    }
    Ok(found)
}

/// The undeleted athletes of a state of knowledge, by id.
///
/// # Errors
/// Those of the database.
pub fn known(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    state: Known,
) -> Result<Vec<Versioned<Athlete>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = athlete_versions::table
                .filter(athlete_versions::club_id.eq(tenant.club_id()))
                .filter(not(athlete_versions::deleted))
                .into_boxed();
            known!(
                athlete_versions,
                of_whom!(athlete_versions, query, tenant, who),
                state
            )
            .order(athlete_versions::athlete_id)
            .select((Athlete::as_select(), version_columns!(athlete_versions)))
            .load(c)
        })
    })
}

/// How a name is searched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NameMatch {
    /// The name begins with the text.
    Prefix,
    /// The text stands anywhere in the name.
    Anywhere,
}

/// The current, undeleted athletes whose name holds the text, by name and id.
///
/// # Errors
/// Those of the database.
pub fn search(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    text: &str,
    how: NameMatch,
    limit: i64,
) -> Result<Vec<Versioned<Athlete>>, StoreError> {
    let pattern = NameKey::of(text).pattern(how == NameMatch::Anywhere);
    each_backend!(conn, |c| {
        let query = athlete_versions::table
            .filter(athlete_versions::club_id.eq(tenant.club_id()))
            .filter(athlete_versions::name_key.like(&pattern).escape('\\'))
            .filter(athlete_versions::superseded_at.is_null())
            .filter(not(athlete_versions::deleted))
            .into_boxed();
        of_whom!(athlete_versions, query, tenant, who)
            .order((athlete_versions::name_key, athlete_versions::athlete_id))
            .limit(limit)
            .select((Athlete::as_select(), version_columns!(athlete_versions)))
            .load(c)
    })
}

/// A page of the current, undeleted athletes by id, after the given one; `who` restricts it.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    after: Option<AthleteId>,
    limit: i64,
) -> Result<Vec<Versioned<Athlete>>, StoreError> {
    each_backend!(conn, |c| {
        let query = athlete_versions::table
            .filter(athlete_versions::club_id.eq(tenant.club_id()))
            .filter(athlete_versions::superseded_at.is_null())
            .filter(not(athlete_versions::deleted))
            .into_boxed();
        let mut query = of_whom!(athlete_versions, query, tenant, who);
        if let Some(after) = after {
            query = query.filter(athlete_versions::athlete_id.gt(after));
        }
        query
            .order(athlete_versions::athlete_id)
            .limit(limit)
            .select((Athlete::as_select(), version_columns!(athlete_versions)))
            .load(c)
    })
}

/// When the athlete's identity was made; `None` when there is none.
///
/// # Errors
/// Those of the database.
pub fn created_at(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
) -> Result<Option<Timestamp>, StoreError> {
    each_backend!(conn, |c| athletes::table
        .filter(athletes::club_id.eq(tenant.club_id()))
        .filter(athletes::athlete_id.eq(athlete_id))
        .select(athletes::created_at)
        .first::<Sql<Timestamp>>(c)
        .optional())
    .map(|found| found.map(Timestamp::from))
}

/// When the identities of several athletes were made.
///
/// # Errors
/// Those of the database.
pub fn made_at(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
) -> Result<Vec<(AthleteId, Timestamp)>, StoreError> {
    let made: Vec<(AthleteId, Sql<Timestamp>)> = who.read(|who| {
        each_backend!(conn, |c| {
            let query = athletes::table
                .filter(athletes::club_id.eq(tenant.club_id()))
                .into_boxed();
            of_whom!(athletes, query, tenant, who)
                .order(athletes::athlete_id)
                .select((athletes::athlete_id, athletes::created_at))
                .load(c)
        })
    })?;
    let plain = |(athlete_id, Sql(at)): (AthleteId, Sql<Timestamp>)| (athlete_id, at);
    Ok(made.into_iter().map(plain).collect())
}
