//! Tokens of the invented club: one a role.

use std::time::Duration;

use super::DemoClub;
use crate::app::App;
use crate::auth::{LocalKey, LocalKeyError, Reference, Role, TokenRequest};

/// A token of the club in one role, for the athlete of the example where it is hers or a guardian's.
///
/// # Errors
/// [`LocalKeyError`].
pub fn token(
    app: &App,
    key: &LocalKey,
    club: &DemoClub,
    role: Role,
    lifetime: Duration,
) -> Result<String, LocalKeyError> {
    let (_, athlete, _) = club.example;
    let now = app.clock.now();
    let request = TokenRequest {
        subject: format!("demo-{}", role.code()),
        client: "club-app".to_owned(),
        token_id: app.ids.next(now),
        roles: vec![role],
        club: Some(Reference::Id(club.club_id.uuid())),
        squads: None,
        athletes: role
            .is_family()
            .then(|| Reference::Id(athlete.uuid()))
            .into_iter()
            .collect(),
        lifetime,
    };
    key.sign(&request, now)
}
