//! One SMTP conversation (RFC 5321), and what it came to by how far it had got.
//!
//! | what happened | outcome | again |
//! |---|---|---|
//! | the message was taken | accepted | no |
//! | 4xx for the recipient or the message | refused | by the timetable |
//! | 5xx for the recipient or the message | refused | no |
//! | 421, a broken connection, no TLS, no log-in, a refusal of our own address | not_sent | by the timetable |
//! | all of the message was sent, and no answer came | unknown | half an hour later at the earliest, and at most twice |
//!
//! The last row cannot be decided from here (RFC 1047): the server may have taken the message. Every attempt carries the same
//! Message-ID.

use std::time::Duration;

use lettre::Address;
use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::DEFAULT_MECHANISMS;
use lettre::transport::smtp::client::{AsyncSmtpConnection, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt};
use lettre::transport::smtp::extension::ClientId;

use super::Outcome;
use super::mail_server::{MailServer, Security};
use crate::store::AttemptOutcome;

/// After everything was sent and no answer came: long enough for a queue to have shown that it has the message.
const AFTER_UNKNOWN_SECONDS: u32 = 1_800;
/// So many attempts that may each have arrived are enough.
const MOST_UNKNOWN: i32 = 3;
/// For saying goodbye, which changes nothing any more.
const QUIT_TIMEOUT: Duration = Duration::from_secs(1);

/// How far a conversation has got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Nothing was said of the recipient yet.
    Opening,
    /// The recipient was named.
    Recipient,
    /// The message is being sent, or was.
    Message,
}

/// Hands a message over, and says what came of it. `made` attempts were made before.
pub async fn hand_over(server: &MailServer, to: &Address, message: &[u8], made: i32) -> Outcome {
    let mut stage = Stage::Opening;
    let talk = converse(server, to, message, &mut stage);
    match tokio::time::timeout(server.timeout, talk).await {
        Ok(Ok(mut connection)) => {
            // Whoever is killed before the success is written down sends again: nothing is waited for any more.
            tokio::spawn(async move {
                let _ = tokio::time::timeout(QUIT_TIMEOUT, connection.quit()).await;
            });
            ended(AttemptOutcome::Accepted, Some(250))
        }
        Ok(Err(error)) => judged(stage, status(&error), made),
        Err(_) => judged(stage, None, made),
    }
}

/// Connects, secures the connection and logs in, as for a message.
///
/// # Errors
/// What the server, or the way to it, says.
pub async fn open(server: &MailServer) -> Result<AsyncSmtpConnection, Error> {
    let tls = || TlsParameters::new(server.host.clone());
    let own_name = ClientId::default();
    let implicit = match server.security {
        Security::Tls => Some(tls()?),
        Security::StartTls | Security::Plain => None,
    };
    let address = (server.host.as_str(), server.port);
    let timeout = Some(server.timeout);
    let mut connection =
        AsyncSmtpConnection::connect_tokio1(address, timeout, &own_name, implicit, None).await?;
    if server.security == Security::StartTls {
        connection.starttls(tls()?, &own_name).await?;
    }
    if let Some(credentials) = &server.credentials {
        connection.auth(DEFAULT_MECHANISMS, credentials).await?;
    }
    Ok(connection)
}

async fn converse(
    server: &MailServer,
    to: &Address,
    message: &[u8],
    stage: &mut Stage,
) -> Result<AsyncSmtpConnection, Error> {
    let mut connection = open(server).await?;
    let from = Mail::new(Some(server.from.clone()), Vec::new());
    connection.command(from).await?;
    *stage = Stage::Recipient;
    connection
        .command(Rcpt::new(to.clone(), Vec::new()))
        .await?;
    connection.command(Data).await?;
    *stage = Stage::Message;
    connection.message(message).await?;
    Ok(connection)
}

fn status(error: &Error) -> Option<u16> {
    error.status()?.to_string().parse().ok()
}

/// What a conversation that failed came to.
fn judged(stage: Stage, status: Option<u16>, made: i32) -> Outcome {
    match (stage, status) {
        (Stage::Opening, _) | (_, Some(421)) | (Stage::Recipient, None) => {
            ended(AttemptOutcome::NotSent, status)
        }
        (_, Some(code)) => Outcome {
            is_final: code >= 500,
            ..ended(AttemptOutcome::Refused, status)
        },
        (Stage::Message, None) => Outcome {
            retry_after: Some(AFTER_UNKNOWN_SECONDS),
            is_final: made + 1 >= MOST_UNKNOWN,
            ..ended(AttemptOutcome::Unknown, None)
        },
    }
}

fn ended(outcome: AttemptOutcome, status: Option<u16>) -> Outcome {
    Outcome {
        status,
        ..Outcome::unanswered(outcome)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_counts_by_what_was_refused() {
        use AttemptOutcome::{NotSent, Refused, Unknown};
        for (stage, status, outcome, is_final) in [
            (Stage::Opening, None, NotSent, false),
            (Stage::Opening, Some(421), NotSent, false),
            (Stage::Opening, Some(535), NotSent, false),
            (Stage::Recipient, None, NotSent, false),
            (Stage::Recipient, Some(421), NotSent, false),
            (Stage::Recipient, Some(450), Refused, false),
            (Stage::Recipient, Some(550), Refused, true),
            (Stage::Message, Some(421), NotSent, false),
            (Stage::Message, Some(451), Refused, false),
            (Stage::Message, Some(554), Refused, true),
            (Stage::Message, None, Unknown, false),
        ] {
            let judged = judged(stage, status, 0);
            let wanted = (outcome, status, is_final);
            assert_eq!(
                (judged.outcome, judged.status, judged.is_final),
                wanted,
                "{stage:?} {status:?}"
            );
        }
    }

    #[test]
    fn what_may_have_arrived_is_sent_again_twice_and_not_soon() {
        for (made, is_final) in [(0, false), (1, false), (2, true)] {
            let judged = judged(Stage::Message, None, made);
            assert_eq!(
                (judged.retry_after, judged.is_final),
                (Some(1_800), is_final)
            );
        }
    }
}
