//! Between a content, whose private fields are open, and its row, where they are sealed.

use std::sync::Arc;

use super::{ClubKeys, Place, Private};
use crate::store::types::Sealed;
use crate::store::{Conn, StoreError, Tenant, Versioned, club_keys};

/// How a content is kept in its table: as it is, or with its private fields sealed.
pub(in crate::store) trait Kept: Sized {
    /// What services see.
    type Content;

    /// Whether there is anything to seal.
    fn has_private(content: &Self::Content) -> bool;

    fn seal(content: &Self::Content, keys: &ClubKeys) -> Result<Self, StoreError>;

    /// The newest key that one of its values is under; `None` when none is.
    fn newest_key(&self) -> Option<i32>;

    fn open(self, keys: &ClubKeys) -> Result<Self::Content, StoreError>;
}

/// The keys to seal these contents with; none are asked for where there is nothing to seal.
pub(in crate::store) fn for_sealing<'a, R: Kept<Content: 'a>>(
    conn: &mut Conn,
    tenant: Tenant,
    mut contents: impl Iterator<Item = &'a R::Content>,
) -> Result<Arc<ClubKeys>, StoreError> {
    if contents.any(R::has_private) {
        club_keys::for_sealing(conn, tenant)
    } else {
        Ok(Arc::new(ClubKeys::none(tenant.club_id())))
    }
}

/// Opens rows; keys are asked for only where something is sealed.
pub(in crate::store) fn opened<R: Kept>(
    conn: &mut Conn,
    tenant: Tenant,
    rows: Vec<R>,
) -> Result<Vec<R::Content>, StoreError> {
    let keys = club_keys::with(conn, tenant, rows.iter().filter_map(R::newest_key).max())?;
    rows.into_iter().map(|row| row.open(&keys)).collect()
}

/// As [`opened`], for versions.
pub(in crate::store) fn opened_versions<R: Kept>(
    conn: &mut Conn,
    tenant: Tenant,
    rows: Vec<Versioned<R>>,
) -> Result<Vec<Versioned<R::Content>>, StoreError> {
    let newest = rows.iter().filter_map(|row| row.content.newest_key()).max();
    let keys = club_keys::with(conn, tenant, newest)?;
    let open = |row: Versioned<R>| {
        Ok(Versioned {
            content: row.content.open(&keys)?,
            version: row.version,
        })
    };
    rows.into_iter().map(open).collect()
}

/// A private field of a content.
pub(in crate::store) trait PrivateField: Sized {
    type Sealed: SealedField;

    fn is_there(&self) -> bool;
    fn seal(&self, keys: &ClubKeys, place: Place<'_>) -> Result<Self::Sealed, StoreError>;
    fn open(sealed: &Self::Sealed, keys: &ClubKeys, place: Place<'_>) -> Result<Self, StoreError>;
}

/// The same field of the row.
pub(in crate::store) trait SealedField {
    /// The number of the key it is under.
    fn key_number(&self) -> Option<i32>;
}

impl SealedField for Sealed {
    fn key_number(&self) -> Option<i32> {
        self.number()
    }
}

impl SealedField for Option<Sealed> {
    fn key_number(&self) -> Option<i32> {
        self.as_ref().and_then(Sealed::number)
    }
}

/// What can be private.
pub(in crate::store) trait Octets: Sized {
    fn octets(&self) -> &[u8];
    fn from_octets(octets: Vec<u8>) -> Option<Self>;
}

impl Octets for String {
    fn octets(&self) -> &[u8] {
        self.as_bytes()
    }

    fn from_octets(octets: Vec<u8>) -> Option<Self> {
        String::from_utf8(octets).ok()
    }
}

impl Octets for Vec<u8> {
    fn octets(&self) -> &[u8] {
        self
    }

    fn from_octets(octets: Vec<u8>) -> Option<Self> {
        Some(octets)
    }
}

impl<T: Octets + Clone> PrivateField for Private<T> {
    type Sealed = Sealed;

    fn is_there(&self) -> bool {
        true
    }

    fn seal(&self, keys: &ClubKeys, place: Place<'_>) -> Result<Sealed, StoreError> {
        keys.seal(place, self.held().octets())
    }

    fn open(sealed: &Sealed, keys: &ClubKeys, place: Place<'_>) -> Result<Self, StoreError> {
        let value = T::from_octets(keys.open(place, sealed)?);
        value
            .map(Self::from)
            .ok_or(StoreError::NotOpened(place.column))
    }
}

impl<T: Octets + Clone> PrivateField for Option<Private<T>> {
    type Sealed = Option<Sealed>;

    fn is_there(&self) -> bool {
        self.is_some()
    }

    fn seal(&self, keys: &ClubKeys, place: Place<'_>) -> Result<Option<Sealed>, StoreError> {
        self.as_ref()
            .map(|value| value.seal(keys, place))
            .transpose()
    }

    fn open(
        sealed: &Option<Sealed>,
        keys: &ClubKeys,
        place: Place<'_>,
    ) -> Result<Self, StoreError> {
        sealed
            .as_ref()
            .map(|value| Private::open(value, keys, place))
            .transpose()
    }
}

/// Declares a content with its private fields, and its row, which has the same fields with these sealed. `as` says how a field is
/// bound.
macro_rules! sealed_row {
    (
        $(#[$of_content:meta])*
        pub struct $Content:ident {
            $($(#[$of_field:meta])* pub $field:ident: $Type:ty $(as $Bound:ty)?,)*
        }
        sealed {
            $($(#[$of_private:meta])* pub $private:ident: $Private:ty,)*
        }
        $(#[$of_row:meta])*
        struct $Row:ident in $table:ident by $key:ident
    ) => {
        $(#[$of_content])*
        pub struct $Content {
            $($(#[$of_field])* pub $field: $Type,)*
            $($(#[$of_private])* pub $private: $Private,)*
        }

        $(#[$of_row])*
        struct $Row {
            $($(#[diesel(serialize_as = $Bound, deserialize_as = $Bound)])? $field: $Type,)*
            $($private: <$Private as $crate::store::seal::PrivateField>::Sealed,)*
        }

        impl $crate::store::seal::Kept for $Row {
            type Content = $Content;

            fn has_private(content: &$Content) -> bool {
                use $crate::store::seal::PrivateField;
                false $(|| content.$private.is_there())*
            }

            fn seal(
                content: &$Content,
                keys: &$crate::store::seal::ClubKeys,
            ) -> Result<Self, $crate::store::StoreError> {
                use $crate::store::seal::{PrivateField, RowKey};
                let row = &content.$key.octets();
                Ok(Self {
                    $($field: content.$field.clone(),)*
                    $($private: content.$private.seal(keys, $crate::store::seal::Place {
                        column: concat!(stringify!($table), ".", stringify!($private)),
                        row,
                    })?,)*
                })
            }

            fn newest_key(&self) -> Option<i32> {
                use $crate::store::seal::SealedField;
                [$(self.$private.key_number()),*].into_iter().flatten().max()
            }

            fn open(
                self,
                keys: &$crate::store::seal::ClubKeys,
            ) -> Result<$Content, $crate::store::StoreError> {
                use $crate::store::seal::{PrivateField, RowKey};
                let row = &self.$key.octets();
                Ok($Content {
                    $($private: PrivateField::open(&self.$private, keys, $crate::store::seal::Place {
                        column: concat!(stringify!($table), ".", stringify!($private)),
                        row,
                    })?,)*
                    $($field: self.$field,)*
                })
            }
        }
    };
}
pub(in crate::store) use sealed_row;

/// Says of a content that it has nothing private and is its own row.
macro_rules! kept_as_it_is {
    ($Content:ty) => {
        impl $crate::store::seal::Kept for $Content {
            type Content = Self;

            fn has_private(_: &Self) -> bool {
                false
            }

            fn seal(
                content: &Self,
                _: &$crate::store::seal::ClubKeys,
            ) -> Result<Self, $crate::store::StoreError> {
                Ok(content.clone())
            }

            fn newest_key(&self) -> Option<i32> {
                None
            }

            fn open(
                self,
                _: &$crate::store::seal::ClubKeys,
            ) -> Result<Self, $crate::store::StoreError> {
                Ok(self)
            }
        }
    };
}
pub(in crate::store) use kept_as_it_is;
