//! What somebody did about a flag.

use diesel::prelude::*;
use jiff::Timestamp;

use crate::ids::{AcknowledgementId, FlagId, SquadId};
use crate::store::backend::{each_backend, sorted_chunks};
use crate::store::schema::flag_acknowledgements;
use crate::store::seal::{Kept, Private, for_sealing, opened, sealed_row};
use crate::store::types::Sql;
use crate::store::{Author, Conn, Moment, StoreError, Tenant};

sealed_row! {
    /// An acknowledgement as stored.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Acknowledgement {
        /// Its id.
        pub acknowledgement_id: AcknowledgementId,
        /// The flag.
        pub flag_id: FlagId,
        /// The version of the flag that was seen.
        pub flag_version: i32,
        /// For which squad.
        pub squad_id: Option<SquadId>,
        /// What was done, a code.
        pub action: String,
        /// Who did it.
        pub by_subject: String,
        /// In which role.
        pub acting_role: String,
        /// When it was received.
        pub received_at: Timestamp as Sql<Timestamp>,
        /// Its place in the club's sequence.
        pub seq: i64,
    }
    sealed {
        /// A note.
        pub note: Option<Private<String>>,
    }
    #[derive(Debug, Queryable, Selectable, Insertable)]
    #[diesel(table_name = flag_acknowledgements, treat_none_as_default_value = false)]
    struct Row in flag_acknowledgements by acknowledgement_id
}

/// An acknowledgement to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAcknowledgement {
    /// Its id.
    pub acknowledgement_id: AcknowledgementId,
    /// The flag.
    pub flag_id: FlagId,
    /// The version of the flag that was seen.
    pub flag_version: i32,
    /// For which squad.
    pub squad_id: Option<SquadId>,
    /// What was done, a code.
    pub action: String,
    /// A note.
    pub note: Option<Private<String>>,
}

/// Adds an acknowledgement.
///
/// # Errors
/// `Reference` when the flag or the squad is not there, `Conflict` when the id is taken.
pub fn acknowledge(
    conn: &mut Conn,
    tenant: Tenant,
    moment: &mut Moment,
    author: Author<'_>,
    new: NewAcknowledgement,
) -> Result<Acknowledgement, StoreError> {
    let made = Acknowledgement {
        acknowledgement_id: new.acknowledgement_id,
        flag_id: new.flag_id,
        flag_version: new.flag_version,
        squad_id: new.squad_id,
        action: new.action,
        note: new.note,
        by_subject: author.subject.to_owned(),
        acting_role: author.acting_role.to_owned(),
        received_at: moment.at(),
        seq: moment.next_seq(),
    };
    let keys = for_sealing::<Row>(conn, tenant, [&made].into_iter())?;
    let row = Row::seal(&made, &keys)?;
    each_backend!(conn, |c| diesel::insert_into(flag_acknowledgements::table)
        .values((flag_acknowledgements::club_id.eq(tenant.club_id()), row))
        .execute(c))?;
    Ok(made)
}

/// The acknowledgements of some flags, by flag and in the order received.
///
/// # Errors
/// Those of the database.
pub fn acknowledgements(
    conn: &mut Conn,
    tenant: Tenant,
    flags: &[FlagId],
) -> Result<Vec<Acknowledgement>, StoreError> {
    let mut found = Vec::new();
    for chunk in sorted_chunks(flags) {
        found.append(&mut each_backend!(conn, |c| flag_acknowledgements::table
            .filter(flag_acknowledgements::club_id.eq(tenant.club_id()))
            .filter(flag_acknowledgements::flag_id.eq_any(&chunk))
            .order((flag_acknowledgements::flag_id, flag_acknowledgements::seq))
            .select(Row::as_select())
            .load(c))?);
    }
    opened(conn, tenant, found)
}
