//! Counts as the database keeps them.

use plimsoll_domain::{Count, Landings, SessionCounts};

use crate::error::Problem;
use crate::store::session_contacts::SessionContacts;
use crate::store::sessions::Session;

/// The row of what was counted in a session.
pub fn of(session: &Session, counts: &SessionCounts) -> Result<SessionContacts, Problem> {
    let column = |number: Option<u32>| {
        let number = number.map(i32::try_from).transpose();
        number.map_err(|error| Problem::internal(&error))
    };
    let landings = counts.landings();
    let contacts = landings.map(|landings| landings.contacts());
    Ok(SessionContacts {
        session_id: session.session_id,
        athlete_id: session.athlete_id,
        both_feet: column(contacts.map(|contacts| contacts.both_feet))?,
        left_foot: column(contacts.map(|contacts| contacts.left_foot))?,
        right_foot: column(contacts.map(|contacts| contacts.right_foot))?,
        loaded: column(landings.and_then(|landings| landings.loaded()))?,
        hands: column(landings.and_then(|landings| landings.hands()))?,
        throws: column(counts.throws())?,
        basis: counts.basis(),
    })
}

/// What a row says; one that is no count of a session is a defect.
pub fn counts(row: &SessionContacts) -> Result<SessionCounts, Problem> {
    let count = |number: Option<i32>| {
        let number = number.map(|number| Count::new(number.into())).transpose();
        number.map_err(|error| Problem::internal(&error))
    };
    let feet = [row.both_feet, row.left_foot, row.right_foot].map(count);
    let landings = match feet {
        [Ok(Some(both)), Ok(Some(left)), Ok(Some(right))] => {
            let (loaded, hands) = (row.loaded.map(i64::from), count(row.hands)?);
            let landings = Landings::new([both, left, right], loaded, hands);
            Some(landings.map_err(|error| Problem::internal(&error))?)
        }
        [both, left, right] => {
            if both?.or(left?).or(right?).is_some() {
                return Err(Problem::internal(&"landings of a session are not whole"));
            }
            None
        }
    };
    SessionCounts::new(landings, count(row.throws)?, row.basis)
        .ok_or_else(|| Problem::internal(&"nothing was counted of a session"))
}

#[cfg(test)]
mod tests {
    use plimsoll_domain::CountBasis;
    use uuid::Uuid;

    use super::*;

    fn row() -> SessionContacts {
        SessionContacts {
            session_id: Uuid::nil().into(),
            athlete_id: Uuid::nil().into(),
            both_feet: Some(61),
            left_foot: Some(51),
            right_foot: Some(51),
            loaded: Some(15),
            hands: None,
            throws: None,
            basis: CountBasis::Counted,
        }
    }

    #[test]
    fn what_was_not_counted_stays_missing() {
        let landings = counts(&row()).unwrap();
        assert_eq!((landings.on_feet(), landings.throws()), (Some(163), None));
        let of_feet = landings.landings().unwrap();
        assert_eq!((of_feet.loaded(), of_feet.hands()), (Some(15), None));
        let throws = SessionContacts {
            both_feet: None,
            left_foot: None,
            right_foot: None,
            loaded: None,
            throws: Some(0),
            ..row()
        };
        let throws = counts(&throws).unwrap();
        assert_eq!((throws.on_feet(), throws.throws()), (None, Some(0)));
    }

    #[test]
    fn a_row_that_is_no_count_is_a_defect() {
        for wrong in [
            SessionContacts {
                left_foot: None,
                ..row()
            },
            SessionContacts {
                both_feet: Some(1001),
                ..row()
            },
            SessionContacts {
                loaded: Some(164),
                ..row()
            },
            SessionContacts {
                both_feet: None,
                left_foot: None,
                right_foot: None,
                ..row()
            },
        ] {
            assert!(counts(&wrong).is_err(), "{wrong:?}");
        }
    }
}
