//! `plimsoll token`: a token of the local development issuer.

use std::time::Duration;

use super::{Failure, say};
use crate::auth::{LocalKey, Reference, Role, TokenRequest};
use crate::clock::Clock;
use crate::config::Config;
use crate::ids::Ids;

/// Arguments of `token`.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Role to act in; give it more than once for a token with several.
    #[arg(long = "role", required = true, value_parser = role)]
    roles: Vec<Role>,
    /// The club, except for the operator.
    #[arg(long, value_parser = reference)]
    club: Option<Reference>,
    /// Who it is for.
    #[arg(long, default_value = "local")]
    subject: String,
    /// The system that uses it; session reports are known by it.
    #[arg(long, default_value = "plimsoll-cli")]
    client: String,
    /// Own athlete id, or a guardian's children; may be given more than once.
    #[arg(long = "athlete", value_parser = reference)]
    athletes: Vec<Reference>,
    /// Limit to squads; may be given more than once.
    #[arg(long = "squad", value_parser = reference)]
    squads: Vec<Reference>,
    /// How long it is good for: a number with s, m, h or d.
    #[arg(long, default_value = "1h", value_parser = lifetime)]
    ttl: Duration,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    if !config.local_issuer.is_on() {
        return Err(Failure::Usage(
            "the local issuer is off, so no token is signed; set PLIMSOLL_LOCAL_ISSUER=on".into(),
        ));
    }
    let key = LocalKey::open(&config.local_key).map_err(Failure::found)?;
    let now = config.clock.map_or(Clock::SYSTEM, Clock::starting_at).now();
    let request = TokenRequest {
        subject: arguments.subject.clone(),
        client: arguments.client.clone(),
        token_id: Ids::random().map_err(Failure::found)?.next(now),
        roles: arguments.roles.clone(),
        club: arguments.club.clone(),
        squads: (!arguments.squads.is_empty()).then(|| arguments.squads.clone()),
        athletes: arguments.athletes.clone(),
        lifetime: arguments.ttl,
    };
    say(&key.sign(&request, now).map_err(Failure::found)?)
}

fn role(text: &str) -> Result<Role, String> {
    Role::parse(text).ok_or_else(|| {
        let known: Vec<&str> = Role::ALL.iter().map(|role| role.code()).collect();
        format!("the roles are {}", known.join(", "))
    })
}

fn reference(text: &str) -> Result<Reference, String> {
    Reference::parse(text).map_err(|error| error.to_string())
}

fn lifetime(text: &str) -> Result<Duration, String> {
    let wrong = || "a time is a number with s, m, h or d, such as 1h".to_owned();
    let (number, unit) = text
        .split_at_checked(text.len().saturating_sub(1))
        .ok_or_else(wrong)?;
    let seconds = match unit {
        "s" => 1,
        "m" => 60,
        "h" => 3_600,
        "d" => 86_400,
        _ => return Err(wrong()),
    };
    let number: u64 = number.parse().map_err(|_| wrong())?;
    number
        .checked_mul(seconds)
        .map(Duration::from_secs)
        .ok_or_else(wrong)
}
