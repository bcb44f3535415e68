//! Where to look: addresses, tokens and what to try, as lines for a shell.

use std::time::Duration;

use crate::app::App;
use crate::auth::{LocalKey, Role};
use crate::cli::{Failure, say};
use crate::demo::{self, DemoClub};
use crate::services::page_link::{Link, ListId};
use crate::store::notices::endpoints::Endpoint;

/// Names of the shell's variables, by role.
const TOKENS: [(&str, Role); 9] = [
    ("CLUB_IT", Role::Integration),
    ("COACH", Role::Coach),
    ("STRENGTH_COACH", Role::StrengthCoach),
    ("TRAINER", Role::AthleticTrainer),
    ("ADMIN", Role::ClubAdmin),
    ("PRIVACY_LEAD", Role::PrivacyLead),
    ("ATHLETE_TOKEN", Role::Athlete),
    ("GUARDIAN", Role::Guardian),
    // Makes sandboxes.
    ("OPERATOR", Role::Operator),
];

const A_DAY: Duration = Duration::from_secs(24 * 60 * 60);

const TRY_NEXT: &str = "
Three things to try next:

The coach reads the week:
  curl -s $CLUB/squads/$U18/weeks/$WEEK -H \"Authorization: Bearer $COACH\"
The athletic trainer reads one athlete's weeks:
  curl -s $CLUB/athletes/$ATHLETE/weeks -H \"Authorization: Bearer $TRAINER\"
The privacy lead sees that she did:
  curl -s $CLUB/audit -H \"Authorization: Bearer $PRIVACY_LEAD\"
";

pub(super) fn print(
    address: &str,
    app: &App,
    key: &LocalKey,
    club: &DemoClub,
    recipient: &Endpoint,
) -> Result<(), Failure> {
    let base = format!("{address}/v1/clubs/{}", club.club_id);
    let (squad, athlete, name) = club.example;
    let week = club.week;
    let page = page(app, club, recipient);
    let days = format!("from={}&to={}", week.monday(), week.sunday());
    say(&format!(
        "\nWhere to look (all but the documentation with a token):\n  \
         documentation    {address}/docs/\n  \
         the U18's list   {base}/squads/{squad}/weeks/{week}\n  \
         {name}'s load {base}/athletes/{athlete}/load?{days}\n\n\
         The U18's list as a page, for a browser (good for seven days):\n  \
         {address}{page}\n\n\
         For your shell (tokens good for a day):\n"
    ))?;
    say(&format!("export CLUB={base}"))?;
    say(&format!("export U18={squad} ATHLETE={athlete} WEEK={week}"))?;
    for (name, role) in TOKENS {
        let token = demo::token(app, key, club, role, A_DAY).map_err(Failure::found)?;
        say(&format!("export {name}={token}"))?;
    }
    say(TRY_NEXT)
}

/// The path of a link to the list, as the club's recipient would get it.
fn page(app: &App, club: &DemoClub, recipient: &Endpoint) -> String {
    let list = ListId {
        club: club.club_id,
        squad: club.example.0,
        week: club.week,
    };
    let link = Link::to(recipient, list, app.clock.now());
    app.links.path(&link)
}
