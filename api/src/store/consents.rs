//! What families have consented to. A consent has one version, and a second once it was withdrawn.

use jiff::Timestamp;
use plimsoll_domain::consent::DataClass;
use serde_json::Value;

use super::codes::{ConsentGiver, ConsentRecipient};
use super::schema::consents;
use super::seal::{Private, opened_versions, sealed_row};
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, ClubId, ConsentId, LinkId};

/// Classes of data, each once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DataClasses(pub Vec<DataClass>);

sealed_row! {
    /// A consent.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Consent {
        /// Its id.
        pub consent_id: ConsentId,
        /// Whose data it is about.
        pub athlete_id: AthleteId,
        /// Who gave it.
        pub given_by: ConsentGiver as Sql<ConsentGiver>,
        /// To which data.
        pub data_classes: DataClasses as Sql<Value>,
        /// For whom in the club.
        pub recipient_role: Option<ConsentRecipient> as Sql<Option<ConsentRecipient>>,
        /// For which other club.
        pub recipient_club: Option<ClubId>,
        /// What ties her to her record there.
        pub recipient_link: Option<LinkId>,
        /// When it was received.
        pub given_at: Timestamp as Sql<Timestamp>,
        /// The first instant it is meant for.
        pub from_at: Timestamp as Sql<Timestamp>,
        /// The first instant it is no longer meant for.
        pub until_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Which version of the text was read.
        pub text_version: String,
        /// When it was withdrawn.
        pub withdrawn_at: Option<Timestamp> as Sql<Option<Timestamp>>,
        /// Who withdrew it.
        pub withdrawn_by: Option<ConsentGiver> as Sql<Option<ConsentGiver>>,
    }
    sealed {
        /// What for, in the words of the text that was read.
        pub purpose: Private<String>,
        /// Where the signed form is kept.
        pub evidence: Option<Private<String>>,
        /// Where the signed withdrawal is kept.
        pub withdrawal_evidence: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = consents, treat_none_as_default_value = false)]
    struct Row in consents by consent_id
}

versioned!(consents, consent_id: ConsentId, Consent kept as Row, pub fn insert);

/// The consents of athletes as they now are, by athlete and id; those that were withdrawn too.
///
/// # Errors
/// Those of the database.
pub fn of(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
) -> Result<Vec<Versioned<Consent>>, StoreError> {
    let found = who.read(|who| {
        each_backend!(conn, |c| {
            let query = consents::table
                .filter(consents::club_id.eq(tenant.club_id()))
                .filter(consents::superseded_at.is_null())
                .filter(not(consents::deleted))
                .into_boxed();
            of_whom!(consents, query, tenant, who)
                .order((consents::athlete_id, consents::consent_id))
                .select((Row::as_select(), version_columns!(consents)))
                .load(c)
        })
    })?;
    opened_versions::<Row>(conn, tenant, found)
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
    let found = each_backend!(conn, |c| {
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
            .select((Row::as_select(), version_columns!(consents)))
            .load(c)
    })?;
    opened_versions::<Row>(conn, tenant, found)
}
