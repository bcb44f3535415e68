//! A club's mail settings as they are sent and stored: sender, where answers go, quiet hours; and whether athletes are named.

use std::str::FromStr;

use lettre::Address;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::closing;
use super::fields::{self, Faults};
use super::write::Change;
use crate::error::{Code, FieldProblem, Problem};
use crate::store::mail::{self, MailNames, MailSettings};
use crate::web::json::shorten_text;

/// Longest address (RFC 5321, section 4.5.3.1.3, without its angle brackets).
const LONGEST: usize = 254;

/// How the club's mail looks and when it goes out, as it is sent.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"sender_name": "HK Nordvang", "reply_to": "kontor@nordvang.example",
    "quiet_hours": {"from": "21:00", "to": "07:00"}}))]
pub struct MailSettingsInput {
    /// The name mail comes under, 1 to 200 characters; the club's name when left out.
    #[schema(min_length = 1, max_length = 200)]
    pub sender_name: Option<String>,
    /// Where answers go; to the service's own address when left out.
    #[schema(max_length = 254)]
    pub reply_to: Option<String>,
    /// When no mail goes out; mail goes out at any hour when left out.
    pub quiet_hours: Option<QuietHoursInput>,
}

/// Hours of the day in the club's zone.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct QuietHoursInput {
    /// The first minute, HH:MM.
    #[schema(value_type = String)]
    pub from: Option<String>,
    /// The minute from which mail goes out again, HH:MM; on the next day where it is the earlier one.
    #[schema(value_type = String)]
    pub to: Option<String>,
}

/// How the club's mail looks and when it goes out.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"sender_name": "HK Nordvang", "reply_to": "kontor@nordvang.example",
    "quiet_hours": {"from": "21:00", "to": "07:00"}, "version": 1}))]
pub struct MailSettingsAnswer {
    /// The name mail comes under; null for the club's name.
    pub sender_name: Option<String>,
    /// Where answers go; null for the service's own address.
    pub reply_to: Option<String>,
    /// When no mail goes out; null for never.
    pub quiet_hours: Option<QuietHoursAnswer>,
    /// 0 until it is set, then 1, 2, 3, …; also the ETag.
    pub version: i32,
}

/// Hours of the day in the club's zone.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct QuietHoursAnswer {
    /// The first minute.
    pub from: String,
    /// The minute from which mail goes out again.
    pub to: String,
}

impl From<MailSettings> for MailSettingsAnswer {
    fn from(stored: MailSettings) -> Self {
        let hours = stored.quiet_from.zip(stored.quiet_to);
        Self {
            sender_name: stored.sender_name,
            reply_to: stored.reply_to,
            quiet_hours: hours.map(|(from, to)| QuietHoursAnswer {
                from: closing::time_text(from),
                to: closing::time_text(to),
            }),
            version: stored.version,
        }
    }
}

/// Sets how the club's mail looks and when it goes out; the same again changes nothing.
///
/// # Errors
/// 422 with every fault.
pub fn set(
    change: &mut Change<'_>,
    before: &MailSettings,
    input: &MailSettingsInput,
) -> Result<MailSettingsAnswer, Problem> {
    let mut after = input.check(before.version)?;
    if after != *before {
        after.version += 1;
        let tenant = change.tenant();
        mail::set(change.conn, tenant, &after)?;
    }
    Ok(after.into())
}

impl MailSettingsInput {
    fn check(&self, version: i32) -> Result<MailSettings, Problem> {
        let mut faults = Faults::default();
        let name = self.sender_name.as_deref();
        let name = faults.take(fields::optional("/sender_name", name, fields::line));
        let reply_to = self.reply_to.as_deref();
        let reply_to = faults.take(fields::optional("/reply_to", reply_to, address));
        let hours = self.quiet_hours.as_ref();
        let hours = hours.map(|hours| hours.check(&mut faults));
        let (quiet_from, quiet_to) = hours.flatten().unzip();
        let made = name
            .zip(reply_to)
            .map(|(sender_name, reply_to)| MailSettings {
                sender_name,
                reply_to,
                quiet_from,
                quiet_to,
                version,
            });
        faults.settle(made)
    }
}

impl QuietHoursInput {
    fn check(&self, faults: &mut Faults) -> Option<(i32, i32)> {
        let from = faults.take(closing::minute("/quiet_hours/from", self.from.as_deref()));
        let to = faults.take(closing::minute("/quiet_hours/to", self.to.as_deref()));
        let (from, to) = from.zip(to)?;
        if from == to {
            let same = FieldProblem::new(
                "/quiet_hours/to",
                Code::RangeReversed,
                closing::time_text(to),
            );
            faults.extend([same.allowed("another time than from")]);
            return None;
        }
        Some((from, to))
    }
}

/// One address of ASCII characters, without a name, a comment or quotes around it.
pub fn address(pointer: &str, given: Option<&str>) -> Result<String, FieldProblem> {
    const ALLOWED: &str = "one e-mail address, such as coach@club.example";
    let given = given.ok_or_else(|| FieldProblem::missing(pointer, ALLOWED))?;
    let plain = |c: char| c.is_ascii_graphic() && !"\"(),:;<>[\\]".contains(c);
    let fits = given.len() <= LONGEST && given.chars().all(plain);
    let parsed = Address::from_str(given).ok().filter(|_| fits);
    match parsed.filter(|address| address.domain().contains('.')) {
        Some(_) => Ok(given.to_owned()),
        None => Err(
            FieldProblem::new(pointer, Code::InvalidAddress, shorten_text(given)).allowed(ALLOWED),
        ),
    }
}

/// Whether mail may name athletes, as it is sent.
#[derive(Debug, Clone, PartialEq, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"names": true}))]
pub struct MailNamesInput {
    /// true: mail repeats the sentences of the list with the athletes' names.
    #[schema(value_type = bool)]
    pub names: Option<bool>,
}

/// Whether mail may name athletes.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!({"names": false, "version": 0}))]
pub struct MailNamesAnswer {
    /// false: mail holds counts and links.
    pub names: bool,
    /// 0 until it is set, then 1, 2, 3, …; also the ETag.
    pub version: i32,
}

impl From<MailNames> for MailNamesAnswer {
    fn from(stored: MailNames) -> Self {
        Self {
            names: stored.allowed,
            version: stored.version,
        }
    }
}

/// Says whether mail may name athletes; the same again changes nothing.
///
/// # Errors
/// 422 without it.
pub fn set_names(
    change: &mut Change<'_>,
    before: MailNames,
    input: &MailNamesInput,
) -> Result<MailNamesAnswer, Problem> {
    let allowed = input
        .names
        .ok_or_else(|| Problem::field(FieldProblem::missing("/names", "true or false")))?;
    let mut after = MailNames { allowed, ..before };
    if after != before {
        after.version += 1;
        let tenant = change.tenant();
        mail::set_names(change.conn, tenant, after)?;
    }
    Ok(after.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_one_address_and_nothing_more() {
        for fine in [
            "coach@nordvang.example",
            "a.b+week@mail.nordvang.example",
            "o'neil@nordvang.example",
        ] {
            assert_eq!(address("/address", Some(fine)).as_deref(), Ok(fine));
        }
        // lists, names, comments, quotes, control characters, literals, other scripts.
        let long = format!("{}@nordvang.example", "a".repeat(250));
        for wrong in [
            "",
            "coach",
            "@nordvang.example",
            "coach@",
            "coach@nordvang",
            "coach@localhost",
            "a@nordvang.example,b@nordvang.example",
            "a@nordvang.example;b@nordvang.example",
            "a@nordvang.example b@nordvang.example",
            "Coach <coach@nordvang.example>",
            "<coach@nordvang.example>",
            "coach@nordvang.example\r\nBcc: all@nordvang.example",
            "coach@nordvang.example\n",
            "coach\0@nordvang.example",
            "\"a b\"@nordvang.example",
            "\"a,b@x.example\"@nordvang.example",
            "coach(the one)@nordvang.example",
            "coach@[127.0.0.1]",
            "coach@nordvang.example>",
            "træner@nordvang.example",
            "coach@nørdvang.example",
            "coach@@nordvang.example",
            "coach%0d%0aBcc:all@nordvang.example,x@y.example",
            &long,
        ] {
            let refused = address("/address", Some(wrong)).unwrap_err();
            assert_eq!(refused.code, Code::InvalidAddress, "{wrong:?}");
        }
    }

    #[test]
    fn all_faults_come_together() {
        let input = MailSettingsInput {
            sender_name: Some("a\r\nBcc: b".to_owned()),
            reply_to: Some("nobody".to_owned()),
            quiet_hours: Some(QuietHoursInput {
                from: Some("21:00".to_owned()),
                to: Some("24:00".to_owned()),
            }),
        };
        let problem = input.check(0).unwrap_err();
        let found: Vec<_> = problem
            .errors
            .iter()
            .map(|fault| fault.pointer.as_str())
            .collect();
        assert_eq!(found, ["/sender_name", "/reply_to", "/quiet_hours/to"]);
    }
}
