//! `plimsoll audit verify [--club ID] [--heads FILE [--public-key FILE]…]`.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::BufReader;
use std::path::{Path, PathBuf};

use crate::app::App;
use crate::cli::{Failure, say, start};
use crate::config::Config;
use crate::ids::ClubId;
use crate::services::audit_chain::{self, Break, ChainKey};
use crate::services::signed_heads::{HeadKey, KeptHeads, SignedHead, hexadecimal};
use crate::store::audit::AuditHead;
use crate::store::{StoreError, Tenant};

/// Arguments of `audit verify`.
#[derive(Debug, clap::Args)]
pub(in crate::cli) struct Arguments {
    /// Only this club; every club unless given.
    #[arg(long)]
    club: Option<ClubId>,
    /// Signed heads that were kept: what was cut off or written anew since shows against them.
    #[arg(long, value_name = "FILE")]
    heads: Option<PathBuf>,
    /// Public key that the heads were signed with, once for each key; that of `audit_sign_key` unless given.
    #[arg(long, value_name = "FILE", requires = "heads")]
    public_key: Vec<PathBuf>,
}

pub(super) fn run(config: &Config, arguments: &Arguments) -> Result<(), Failure> {
    let kept = match &arguments.heads {
        None => KeptHeads::default(),
        Some(path) => {
            let keys = public_keys(config, &arguments.public_key)?;
            let read =
                File::open(path).and_then(|file| KeptHeads::read(BufReader::new(file), &keys));
            read.map_err(|error| Failure::file(path, &error))?
        }
    };
    for (line, why) in &kept.bad {
        say(&format!("heads line {line} {why}"))?;
    }
    let (config, club) = (config.clone(), arguments.club);
    actix_web::rt::System::new().block_on(async move {
        let app = start::app(config, start::Migrations::BySetting).await?;
        let key = start::chain_key(&app.config, &app.store).await?;
        let mut broken = 0;
        for tenant in listed(&app, club, &kept).await? {
            let signed = kept.of(tenant.club_id()).to_vec();
            let found = verify(&app, tenant, key.clone(), signed).await;
            let found = found.map_err(Failure::found)?;
            broken += usize::from(found.is_err());
            say(&format!("{} {}", tenant.club_id(), line(&found)))?;
        }
        report(broken, kept.bad.len())
    })
}

/// The keys that were named, else the public half of the one that is set, which must be there.
fn public_keys(config: &Config, paths: &[PathBuf]) -> Result<Vec<HeadKey>, Failure> {
    if paths.is_empty() {
        if !config.audit_sign_key.exists() {
            return Err(Failure::Usage(format!(
                "{} is not there, so nothing can be checked with it: name the key with --public-key",
                config.audit_sign_key.display()
            )));
        }
        return Ok(vec![start::sign_key(config)?.public().clone()]);
    }
    paths.iter().map(|path| public_key(path)).collect()
}

fn public_key(path: &Path) -> Result<HeadKey, Failure> {
    let text = fs::read_to_string(path).map_err(|error| Failure::file(path, &error))?;
    HeadKey::from_pem(&text).ok_or_else(|| {
        Failure::Usage(format!(
            "{} is no public key as `plimsoll audit public-key` prints it",
            path.display()
        ))
    })
}

/// The clubs to look at: with those that were signed, for a club may have been removed with its list.
async fn listed(app: &App, club: Option<ClubId>, kept: &KeptHeads) -> Result<Vec<Tenant>, Failure> {
    let mut clubs = super::clubs(app, club).await?;
    if club.is_none() {
        let there: BTreeSet<ClubId> = clubs.iter().map(|club| club.club_id()).collect();
        let signed = kept.of_clubs.keys().filter(|club| !there.contains(*club));
        clubs.extend(signed.map(|club| Tenant::granted(*club)));
    }
    Ok(clubs)
}

async fn verify(
    app: &App,
    tenant: Tenant,
    key: ChainKey,
    signed: Vec<SignedHead>,
) -> Result<Result<AuditHead, Break>, StoreError> {
    let work = move |conn: &mut _| audit_chain::verify(conn, tenant, &key, &signed);
    app.store.read(tenant, work).await
}

/// The end of a whole chain is printed to be compared.
fn line(found: &Result<AuditHead, Break>) -> String {
    match found {
        Ok(head) => format!("whole, {} rows, {}", head.number, hexadecimal(&head.link)),
        Err(broken) => format!("broken: {broken}"),
    }
}

fn report(broken: usize, bad_lines: usize) -> Result<(), Failure> {
    if broken > 0 {
        return Err(Failure::Found(format!(
            "the audit list of {broken} club(s) is not what was written; keep the database as it \
             is and find out who could write to it"
        )));
    }
    match bad_lines {
        0 => Ok(()),
        _ => Err(Failure::Found(format!(
            "{bad_lines} line(s) of the signed heads cannot be relied on; keep the file as it is and \
             compare it with a copy"
        ))),
    }
}
