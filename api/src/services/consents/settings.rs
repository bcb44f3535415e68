//! From which age athletes of a club decide for themselves, and what needs consent there.

use jiff::Timestamp;
use plimsoll_domain::consent::DataClass;
use serde::{Deserialize, Serialize};
use serde_json::Number;
use utoipa::ToSchema;

use crate::error::{Code, FieldProblem, Problem};
use crate::services::fields::{self, Faults};
use crate::services::write::Change;
use crate::store::consent_settings::{self, ConsentSettings};
use crate::store::{Conn, DataClasses, Tenant};
use crate::web::json::shorten_text;

/// The age of majority in most countries; a club that has said nothing has this one. Value from memory.
const USUAL_OWN_AGE: i32 = 18;
/// What a club may set. Data-protection laws know ages from 13 on, and majority comes at 21 at the latest; from memory.
const OWN_AGES: std::ops::RangeInclusive<i64> = 13..=21;

/// The settings as they are sent.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"own_age": 18, "needed_for": ["tests"]}))]
pub struct ConsentSettingsInput {
    /// The age in completed years from which an athlete decides for herself, 13 to 21. Local law decides which.
    #[schema(value_type = i32, minimum = 13, maximum = 21)]
    pub own_age: Option<Number>,
    /// Classes of data that nobody gets to see before somebody has consented; none where the list is empty.
    #[schema(value_type = Vec<String>)]
    pub needed_for: Option<Vec<String>>,
}

/// The settings.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"own_age": 18, "needed_for": [], "version": 0}))]
pub struct ConsentSettingsAnswer {
    /// The age in completed years from which an athlete decides for herself.
    pub own_age: i32,
    /// Classes of data that nobody gets to see before somebody has consented.
    #[schema(value_type = Vec<String>)]
    pub needed_for: Vec<&'static str>,
    /// 0 until they are set, then 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl ConsentSettings {
    /// What holds until a club says otherwise.
    fn usual() -> Self {
        Self {
            version: 0,
            own_age: USUAL_OWN_AGE,
            needed_for: DataClasses(Vec::new()),
            received_at: Timestamp::UNIX_EPOCH,
        }
    }

    /// The age from which athletes decide; one that was not checked is a defect.
    pub fn own_age(&self) -> Result<u8, Problem> {
        u8::try_from(self.own_age).map_err(|error| Problem::internal(&error))
    }
}

impl From<ConsentSettings> for ConsentSettingsAnswer {
    fn from(settings: ConsentSettings) -> Self {
        let classes = settings.needed_for.0.into_iter();
        Self {
            own_age: settings.own_age,
            needed_for: classes.map(DataClass::code).collect(),
            version: settings.version,
        }
    }
}

/// The settings as they now are.
pub fn current(conn: &mut Conn, tenant: Tenant) -> Result<ConsentSettings, Problem> {
    let mut history = consent_settings::history(conn, tenant)?;
    Ok(history.pop().unwrap_or_else(ConsentSettings::usual))
}

/// Sets them; the same again changes nothing.
///
/// # Errors
/// 422 with every fault.
pub fn set(
    change: &mut Change<'_>,
    before: ConsentSettings,
    input: &ConsentSettingsInput,
) -> Result<ConsentSettingsAnswer, Problem> {
    let mut faults = Faults::default();
    let own_age = faults.take(own_age(input.own_age.as_ref()));
    let needed_for = classes(input.needed_for.as_deref(), &mut faults);
    let (own_age, needed_for) = faults.settle(own_age.zip(needed_for))?;
    if before.version > 0 && (before.own_age, &before.needed_for) == (own_age, &needed_for) {
        return Ok(before.into());
    }
    let after = change.store_with(|conn, tenant, moment, author| {
        consent_settings::append(conn, tenant, moment, author, (own_age, needed_for))
    })?;
    Ok(after.into())
}

fn own_age(given: Option<&Number>) -> Result<i32, FieldProblem> {
    let allowed = format!(
        "whole number from {} to {}",
        OWN_AGES.start(),
        OWN_AGES.end()
    );
    let given = given.ok_or_else(|| FieldProblem::missing("/own_age", allowed.clone()))?;
    let age = fields::whole(given).filter(|age| OWN_AGES.contains(age));
    let age = age.and_then(|age| i32::try_from(age).ok());
    age.ok_or_else(|| {
        FieldProblem::new("/own_age", Code::OutOfRange, given.clone()).allowed(allowed)
    })
}

/// Classes that a club may ask consent for. Nothing goes to another club without.
fn settable() -> impl Iterator<Item = DataClass> {
    let classes = DataClass::ALL.iter().copied();
    classes.filter(|class| *class != DataClass::DayTotals)
}

fn classes(given: Option<&[String]>, faults: &mut Faults) -> Option<DataClasses> {
    let codes = || fields::list(settable().map(DataClass::code));
    let Some(given) = given else {
        faults.extend([FieldProblem::missing("/needed_for", codes())]);
        return None;
    };
    let mut classes = Vec::new();
    for (place, text) in given.iter().enumerate() {
        match settable().find(|class| class.code() == text) {
            Some(class) => classes.push(class),
            None => {
                let pointer = format!("/needed_for/{place}");
                let fault = FieldProblem::new(pointer, Code::UnknownValue, shorten_text(text));
                faults.extend([fault.allowed(codes())]);
            }
        }
    }
    classes.sort_unstable();
    classes.dedup();
    Some(DataClasses(classes))
}
