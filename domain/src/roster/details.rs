//! What is said of a person beside what was known of her.

use jiff::civil::Date;

use super::rows::Details;
use super::{Field, KnownPerson};

/// What is said with what was known, and which fields differ.
pub(super) fn merged(
    known: Option<&KnownPerson>,
    said: Details,
    usual: Date,
) -> (Details, Vec<Field>) {
    let Some(known) = known else {
        let joined_on = said.joined_on.or(Some(usual));
        return (Details { joined_on, ..said }, Vec::new());
    };
    let whole = Details {
        name: said.name.or_else(|| Some(known.name.clone())),
        birth_date: said.birth_date.or(known.birth_date),
        joined_on: said.joined_on.or(Some(known.joined_on)),
        time_zone: said.time_zone.or_else(|| known.time_zone.clone()),
        status: said.status,
    };
    let differs = [
        (whole.name.as_ref() != Some(&known.name), Field::Name),
        (whole.birth_date != known.birth_date, Field::BirthDate),
        (whole.joined_on != Some(known.joined_on), Field::JoinedOn),
        (whole.time_zone != known.time_zone, Field::Zone),
    ];
    let fields = differs
        .into_iter()
        .filter_map(|(differs, field)| differs.then_some(field));
    (whole, fields.collect())
}
