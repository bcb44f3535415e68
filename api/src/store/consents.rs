//! What families have consented to. A consent has one version, and a second once it was withdrawn.

use jiff::Timestamp;
use plimsoll_domain::consent::DataClass;
use serde_json::Value;

use super::codes::{ConsentGiver, ConsentRecipient};
use super::schema::consents;
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, ClubId, ConsentId, LinkId};

/// Classes of data, each once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DataClasses(pub Vec<DataClass>);

/// A consent.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = consents, treat_none_as_default_value = false)]
pub struct Consent {
    /// Its id.
    pub consent_id: ConsentId,
    /// Whose data it is about.
    pub athlete_id: AthleteId,
    /// Who gave it.
    #[diesel(serialize_as = Sql<ConsentGiver>, deserialize_as = Sql<ConsentGiver>)]
    pub given_by: ConsentGiver,
    /// What for, in the words of the text that was read.
    pub purpose: String,
    /// To which data.
    #[diesel(serialize_as = Sql<Value>, deserialize_as = Sql<Value>)]
    pub data_classes: DataClasses,
    /// For whom in the club.
    #[diesel(serialize_as = Sql<Option<ConsentRecipient>>, deserialize_as = Sql<Option<ConsentRecipient>>)]
    pub recipient_role: Option<ConsentRecipient>,
    /// For which other club.
    pub recipient_club: Option<ClubId>,
    /// What ties her to her record there.
    pub recipient_link: Option<LinkId>,
    /// When it was received.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub given_at: Timestamp,
    /// The first instant it is meant for.
    #[diesel(serialize_as = Sql<Timestamp>, deserialize_as = Sql<Timestamp>)]
    pub from_at: Timestamp,
    /// The first instant it is no longer meant for.
    #[diesel(serialize_as = Sql<Option<Timestamp>>, deserialize_as = Sql<Option<Timestamp>>)]
    pub until_at: Option<Timestamp>,
    /// Which version of the text was read.
    pub text_version: String,
    /// Where the signed form is kept.
    pub evidence: Option<String>,
    /// When it was withdrawn.
    #[diesel(serialize_as = Sql<Option<Timestamp>>, deserialize_as = Sql<Option<Timestamp>>)]
    pub withdrawn_at: Option<Timestamp>,
    /// Who withdrew it.
    #[diesel(serialize_as = Sql<Option<ConsentGiver>>, deserialize_as = Sql<Option<ConsentGiver>>)]
    pub withdrawn_by: Option<ConsentGiver>,
    /// Where the signed withdrawal is kept.
    pub withdrawal_evidence: Option<String>,
}

versioned!(consents, consent_id: ConsentId, Consent, pub fn insert);

/// The consents of athletes as they now are, by athlete and id; those that were withdrawn too.
///
/// # Errors
/// Those of the database.
pub fn of(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
) -> Result<Vec<Versioned<Consent>>, StoreError> {
    who.read(|who| {
        each_backend!(conn, |c| {
            let query = consents::table
                .filter(consents::club_id.eq(tenant.club_id()))
                .filter(consents::superseded_at.is_null())
                .filter(not(consents::deleted))
                .into_boxed();
            of_whom!(consents, query, tenant, who)
                .order((consents::athlete_id, consents::consent_id))
                .select((Consent::as_select(), version_columns!(consents)))
                .load(c)
        })
    })
}

/// A page of an athlete's consents by id, after the given one.
///
/// # Errors
/// Those of the database.
pub fn page(
    conn: &mut Conn,
    tenant: Tenant,
    athlete_id: AthleteId,
    after: Option<ConsentId>,
    limit: i64,
) -> Result<Vec<Versioned<Consent>>, StoreError> {
    each_backend!(conn, |c| {
        let mut query = consents::table
            .filter(consents::club_id.eq(tenant.club_id()))
            .filter(consents::athlete_id.eq(athlete_id))
            .filter(consents::superseded_at.is_null())
            .filter(not(consents::deleted))
            .into_boxed();
        if let Some(after) = after {
            query = query.filter(consents::consent_id.gt(after));
        }
        query
            .order(consents::consent_id)
            .limit(limit)
            .select((Consent::as_select(), version_columns!(consents)))
            .load(c)
    })
}
