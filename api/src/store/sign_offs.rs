//! Techniques signed off by somebody who watched.

use jiff::civil::Date;

use super::schema::sign_offs;
use super::seal::{Private, opened_versions, sealed_row};
use super::versioned::prelude::*;
use super::who::{Who, of_whom};
use crate::ids::{AthleteId, SignOffId};

sealed_row! {
    /// A technique signed off.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct SignOff {
        /// Its id.
        pub sign_off_id: SignOffId,
        /// Whose it is.
        pub athlete_id: AthleteId,
        /// The code of the exercise.
        pub exercise: String,
        /// The day it was watched.
        pub signed_on: Date as Sql<Date>,
        /// Who watched: the subject of the token.
        pub watched_by: String,
        /// In which role.
        pub watched_role: String,
    }
    sealed {
        /// What was seen.
        pub note: Option<Private<String>>,
        /// Why it was withdrawn.
        pub reason: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = sign_offs, treat_none_as_default_value = false)]
    struct Row in sign_offs by sign_off_id
}

versioned!(sign_offs, sign_off_id: SignOffId, SignOff kept as Row, pub fn insert);

/// Sign-offs as a state of knowledge has them, withdrawn ones too, by athlete, day and id.
///
/// # Errors
/// Those of the database.
pub fn known(
    conn: &mut Conn,
    tenant: Tenant,
    who: Who<'_>,
    state: Known,
) -> Result<Vec<Versioned<SignOff>>, StoreError> {
    let found = who.read(|who| {
        each_backend!(conn, |c| {
            let query = sign_offs::table
                .filter(sign_offs::club_id.eq(tenant.club_id()))
                .into_boxed();
            known!(sign_offs, of_whom!(sign_offs, query, tenant, who), state)
                .order((
                    sign_offs::athlete_id,
                    sign_offs::signed_on,
                    sign_offs::sign_off_id,
                ))
                .select((Row::as_select(), version_columns!(sign_offs)))
                .load(c)
        })
    })?;
    opened_versions::<Row>(conn, tenant, found)
}
