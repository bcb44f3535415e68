//! Licences of clinicians, as the club keeps them on file.

use jiff::civil::Date;

use super::schema::licences;
use super::versioned::prelude::*;
use crate::ids::LicenceId;

/// A licence on file.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = licences, treat_none_as_default_value = false)]
pub struct Licence {
    /// Its id.
    pub licence_id: LicenceId,
    /// Whose it is: the subject of the tokens.
    pub subject: String,
    /// The clinician's name.
    pub name: String,
    /// What is licensed, in the words of the club.
    pub licence_type: String,
    /// The last day on which it holds.
    #[diesel(serialize_as = Sql<Date>, deserialize_as = Sql<Date>)]
    pub valid_until: Date,
}

versioned!(licences, licence_id: LicenceId, Licence, pub fn insert);

/// The undeleted licences of a subject that hold on a date, the one that holds longest first.
///
/// # Errors
/// Those of the database.
pub fn valid(
    conn: &mut Conn,
    tenant: Tenant,
    subject: &str,
    on: Date,
) -> Result<Vec<Versioned<Licence>>, StoreError> {
    each_backend!(conn, |c| licences::table
        .filter(licences::club_id.eq(tenant.club_id()))
        .filter(licences::subject.eq(subject))
        .filter(licences::valid_until.ge(Sql(on)))
        .filter(licences::superseded_at.is_null())
        .filter(not(licences::deleted))
        .order((licences::valid_until.desc(), licences::licence_id))
        .select((Licence::as_select(), version_columns!(licences)))
        .load(c))
}

/// A page of the current, undeleted licences by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    after: Option<LicenceId>,
    limit: i64,
) -> Result<Vec<Versioned<Licence>>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = licences::table
            .filter(licences::club_id.eq(tenant.club_id()))
            .filter(licences::superseded_at.is_null())
            .filter(not(licences::deleted))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(licences::licence_id.gt(after));
        }
        query
            .order(licences::licence_id)
            .limit(limit)
            .select((Licence::as_select(), version_columns!(licences)))
            .load(c)
    })
}
