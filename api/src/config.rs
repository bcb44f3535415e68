//! Settings: a commented TOML file and `PLIMSOLL_…` variables, one flat name each in both.
//!
//! `deploy/plimsoll.toml` lists every setting with its default; a test keeps the two equal.
//! Everything is checked when the program starts; a wrong setting is one sentence and exit code 2.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::Deserialize;

use crate::auth::AuthSettings;
use crate::delivery::guard::Reach;
use crate::delivery::mail_server::{self, MailServer, SmtpUrl};

/// All settings of the service.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Config {
    /// `sqlite:///path` or `postgres://…`.
    pub database_url: String,
    /// Apply pending migrations at start on PostgreSQL too (SQLite always does).
    pub migrate: Switch,
    /// Refuse a PostgreSQL role that row-level security does not bind.
    pub row_security: Switch,
    /// Connections for reading, per database; writes on SQLite always use one.
    pub database_connections: u32,
    /// Address and port to listen on; port 0 takes a free one and prints it.
    pub listen: SocketAddr,
    /// Worker threads; 0 takes one for each core.
    pub workers: usize,
    /// Close weeks and deliver notices when they are due.
    pub jobs: Switch,
    /// Let the operator make sandboxes: clubs of invented people, each on a database of its own.
    pub sandboxes: Switch,
    /// How long the service says that it is not ready before it takes no more connections, when it is asked to stop.
    pub drain_seconds: u64,
    /// Requests a minute and token; `off` for benchmarks.
    pub rate_limit: RateLimit,
    /// Sign and accept tokens of the local development key.
    pub local_issuer: Switch,
    /// The development key's file, made when absent.
    pub local_key: PathBuf,
    /// The file of the key that binds the audit list together, made when absent.
    pub audit_key: PathBuf,
    /// The file of the key that signs where audit lists end, made when absent.
    pub audit_sign_key: PathBuf,
    /// The file that signed ends of audit lists are added to.
    pub audit_heads: PathBuf,
    /// How often ends that moved are signed, in minutes.
    pub audit_heads_minutes: u64,
    /// The file that each erasure of an athlete is added to, to be repeated after a restore.
    pub erasures: PathBuf,
    /// The file of the key that links to pages are signed with, made when absent.
    pub page_key: PathBuf,
    /// The file of the master keys, one a line and the newest last, made when absent. What is private in the database is read
    /// with them alone.
    pub master_key: PathBuf,
    /// Token issuers and the tolerance for clocks that differ.
    pub auth: AuthSettings,
    /// Lets webhooks go to this machine, by http and to any port; only with the local issuer on.
    pub webhook_loopback: Switch,
    /// The server that mail is handed to, `smtps://…` or `smtp://…` with STARTTLS; without it no mail is sent.
    pub smtp_url: Option<SmtpUrl>,
    /// The address that mail comes from.
    pub smtp_from: Option<String>,
    /// How long handing over one mail may take.
    pub smtp_timeout_seconds: u64,
    /// How many mails a club may send within 24 hours.
    pub mail_quota: u32,
    /// Which recipients of mail a second person approves.
    pub mail_approval: MailApproval,
    /// Where people reach this service; what links in mail begin with.
    pub public_url: Option<String>,
    /// Starts the program's clock at this instant; only with the local issuer on.
    pub clock: Option<Timestamp>,
    /// Log lines as `json` or as `text`.
    pub log_format: LogFormat,
    /// What to log, as `level` or `target=level,…`.
    pub log: String,
}

/// `on` or `off`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Switch {
    /// Yes.
    On,
    /// No.
    Off,
}

impl Switch {
    /// Whether it is on.
    pub fn is_on(self) -> bool {
        self == Switch::On
    }
}

/// Which recipients of mail a second person has to approve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MailApproval {
    /// A club's first; later ones are free.
    First,
    /// Every one.
    Every,
}

/// How the log is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LogFormat {
    /// One JSON object a line.
    Json,
    /// One readable line.
    Text,
}

/// The quota of one token.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub enum RateLimit {
    /// So many requests a minute.
    PerMinute(u32),
    /// No limit.
    Off,
}

impl TryFrom<String> for RateLimit {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        match text.as_str() {
            "off" => Ok(RateLimit::Off),
            digits => match digits.parse() {
                Ok(quota) if quota > 0 => Ok(RateLimit::PerMinute(quota)),
                _ => Err(format!(
                    "rate_limit is {digits}; it is a number above 0, or off"
                )),
            },
        }
    }
}

impl Default for Config {
    fn default() -> Self {
        Self {
            database_url: "sqlite://plimsoll.sqlite".to_owned(),
            migrate: Switch::Off,
            row_security: Switch::On,
            database_connections: 8,
            listen: SocketAddr::from(([127, 0, 0, 1], 8080)),
            workers: 0,
            jobs: Switch::On,
            sandboxes: Switch::Off,
            drain_seconds: 1,
            rate_limit: RateLimit::PerMinute(600),
            local_issuer: Switch::Off,
            local_key: PathBuf::from("plimsoll-local.key"),
            audit_key: PathBuf::from("plimsoll-audit.key"),
            audit_sign_key: PathBuf::from("plimsoll-audit-sign.key"),
            audit_heads: PathBuf::from("plimsoll-audit-heads.jsonl"),
            audit_heads_minutes: 60,
            erasures: PathBuf::from("plimsoll-erasures.jsonl"),
            page_key: PathBuf::from("plimsoll-page.key"),
            master_key: PathBuf::from("plimsoll-master.key"),
            auth: AuthSettings::default(),
            webhook_loopback: Switch::Off,
            smtp_url: None,
            smtp_from: None,
            smtp_timeout_seconds: 30,
            mail_quota: 500,
            mail_approval: MailApproval::First,
            public_url: None,
            clock: None,
            log_format: LogFormat::Json,
            log: "info".to_owned(),
        }
    }
}

/// A setting is wrong; the text says which and what to do.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct ConfigError(String);

impl Config {
    /// Reads the file (where one is named), then the variables, which win.
    pub fn load(file: Option<&Path>) -> Result<Self, ConfigError> {
        let mut builder = config::Config::builder();
        if let Some(path) = file {
            builder = builder.add_source(config::File::from(path).format(config::FileFormat::Toml));
        }
        // The tests' own variables share the prefix and are no settings.
        let variables = std::env::vars().filter(|(name, _)| !name.starts_with("PLIMSOLL_TEST_"));
        let variables = config::Environment::with_prefix("PLIMSOLL")
            .ignore_empty(true)
            .source(Some(variables.collect()));
        let settings: Config = builder
            .add_source(variables)
            .build()
            .and_then(config::Config::try_deserialize)
            .map_err(|error| ConfigError(format!("a setting cannot be used: {error}")))?;
        settings.check()?;
        Ok(settings)
    }

    /// Which addresses webhooks may have.
    pub fn webhook_reach(&self) -> Reach {
        if self.webhook_loopback.is_on() {
            Reach::WithLoopback
        } else {
            Reach::Global
        }
    }

    /// The server that mail is handed to; `None` where none is set.
    ///
    /// # Errors
    /// A setting of it is missing or wrong.
    pub fn mail_server(&self) -> Result<Option<MailServer>, ConfigError> {
        let Some(url) = &self.smtp_url else {
            return Ok(None);
        };
        let parts = mail_server::Parts {
            url,
            from: self.smtp_from.as_deref(),
            public_url: self.public_url.as_deref(),
            timeout_seconds: self.smtp_timeout_seconds,
            reach: self.webhook_reach(),
        };
        let server = MailServer::new(&parts);
        server
            .map(Some)
            .map_err(|error| ConfigError(error.to_string()))
    }

    /// The settings without which no mail is sent and that are not there; none where mail is sent.
    pub fn missing_for_mail(&self) -> Vec<&'static str> {
        let settings = [
            ("smtp_url", self.smtp_url.is_none()),
            ("smtp_from", self.smtp_from.is_none()),
            ("public_url", self.public_url.is_none()),
        ];
        let missing = settings.into_iter().filter(|(_, missing)| *missing);
        missing.map(|(name, _)| name).collect()
    }

    fn check(&self) -> Result<(), ConfigError> {
        self.mail_server()?;
        if self.clock.is_some() && !self.local_issuer.is_on() {
            return Err(ConfigError(
                "clock is set, which is for trials: switch local_issuer on, or remove it".into(),
            ));
        }
        if self.webhook_loopback.is_on() && !self.local_issuer.is_on() {
            return Err(ConfigError(
                "webhook_loopback is on, which is for trials: switch local_issuer on, or it off"
                    .into(),
            ));
        }
        if !(1..=1_440).contains(&self.audit_heads_minutes) {
            return Err(ConfigError(
                "audit_heads_minutes is a number from 1 to 1440, a day".into(),
            ));
        }
        if self.drain_seconds > 60 {
            return Err(ConfigError("drain_seconds is a number from 0 to 60".into()));
        }
        if self.database_connections == 0 {
            return Err(ConfigError(
                "database_connections is 0; it needs at least 1".into(),
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pinned_clock_needs_the_local_issuer() {
        let pinned = Config {
            clock: Some(Timestamp::UNIX_EPOCH),
            ..Config::default()
        };
        assert!(
            pinned
                .check()
                .unwrap_err()
                .to_string()
                .contains("local_issuer")
        );
        let trial = Config {
            local_issuer: Switch::On,
            ..pinned
        };
        assert!(trial.check().is_ok());
    }

    #[test]
    fn ends_of_audit_lists_are_signed_once_a_day_at_least() {
        for (minutes, taken) in [(0, false), (1, true), (1_440, true), (1_441, false)] {
            let config = Config {
                audit_heads_minutes: minutes,
                ..Config::default()
            };
            assert_eq!(config.check().is_ok(), taken, "{minutes}");
        }
    }

    #[test]
    fn the_listener_closes_a_minute_after_the_signal_at_the_latest() {
        for (seconds, taken) in [(0, true), (60, true), (61, false)] {
            let config = Config {
                drain_seconds: seconds,
                ..Config::default()
            };
            assert_eq!(config.check().is_ok(), taken, "{seconds}");
        }
    }

    #[test]
    fn the_shipped_file_states_the_defaults() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../deploy/plimsoll.toml");
        let shipped: Config = config::Config::builder()
            .add_source(config::File::from(file))
            .build()
            .and_then(config::Config::try_deserialize)
            .unwrap();
        assert_eq!(format!("{shipped:?}"), format!("{:?}", Config::default()));
    }

    #[test]
    fn the_rate_limit_is_a_number_or_off() {
        assert_eq!(
            RateLimit::try_from("600".to_owned()),
            Ok(RateLimit::PerMinute(600))
        );
        assert_eq!(RateLimit::try_from("off".to_owned()), Ok(RateLimit::Off));
        assert!(RateLimit::try_from("0".to_owned()).is_err());
    }
}
