//! A club's mail: how it looks, when it goes out, and whether it may name athletes.

use diesel::prelude::*;

use super::backend::each_backend;
use super::schema::{mail_names, mail_settings};
use super::{Conn, StoreError, Tenant};

/// How a club's mail looks and when it goes out.
#[derive(Debug, Clone, Default, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = mail_settings, treat_none_as_default_value = false, treat_none_as_null = true)]
pub struct MailSettings {
    /// The name it is sent under.
    pub sender_name: Option<String>,
    /// Where answers go.
    pub reply_to: Option<String>,
    /// The minute of the day from which nothing goes out.
    pub quiet_from: Option<i32>,
    /// The minute of the day from which mail goes out again.
    pub quiet_to: Option<i32>,
    /// 1, 2, 3, …, for If-Match; 0 where it never said.
    pub version: i32,
}

/// Whether a club's mail may name athletes.
#[derive(
    Debug, Clone, Copy, Default, PartialEq, Eq, Queryable, Selectable, Insertable, AsChangeset,
)]
#[diesel(table_name = mail_names)]
pub struct MailNames {
    /// Whether it may.
    pub allowed: bool,
    /// 1, 2, 3, …, for If-Match; 0 where nobody ever said.
    pub version: i32,
}

/// What the club has set; nothing where it never did.
///
/// # Errors
/// Those of the database.
pub fn settings(conn: &mut Conn, tenant: Tenant) -> Result<MailSettings, StoreError> {
    let found = each_backend!(conn, |c| mail_settings::table
        .filter(mail_settings::club_id.eq(tenant.club_id()))
        .select(MailSettings::as_select())
        .first(c)
        .optional())?;
    Ok(found.unwrap_or_default())
}

/// Sets them. To be called while the club is locked.
///
/// # Errors
/// `Reference` without the club.
pub fn set(conn: &mut Conn, tenant: Tenant, settings: &MailSettings) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::insert_into(mail_settings::table)
        .values((mail_settings::club_id.eq(tenant.club_id()), settings))
        .on_conflict(mail_settings::club_id)
        .do_update()
        .set(settings)
        .execute(c))?;
    Ok(())
}

/// Whether mail may name athletes: not, where nobody ever said.
///
/// # Errors
/// Those of the database.
pub fn names(conn: &mut Conn, tenant: Tenant) -> Result<MailNames, StoreError> {
    let found = each_backend!(conn, |c| mail_names::table
        .filter(mail_names::club_id.eq(tenant.club_id()))
        .select(MailNames::as_select())
        .first(c)
        .optional())?;
    Ok(found.unwrap_or_default())
}

/// Says whether it may. To be called while the club is locked.
///
/// # Errors
/// `Reference` without the club.
pub fn set_names(conn: &mut Conn, tenant: Tenant, names: MailNames) -> Result<(), StoreError> {
    each_backend!(conn, |c| diesel::insert_into(mail_names::table)
        .values((mail_names::club_id.eq(tenant.club_id()), names))
        .on_conflict(mail_names::club_id)
        .do_update()
        .set(names)
        .execute(c))?;
    Ok(())
}
