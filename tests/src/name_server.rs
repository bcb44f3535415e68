//! A name server of our own (RFC 1035): it knows the names that a test gives it, and no others.

use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use tokio::net::UdpSocket;
use tokio::task::JoinHandle;

const ADDRESS: u16 = 1;
const ALIAS: u16 = 5;
const ADDRESS_6: u16 = 28;

/// What a name stands for.
#[derive(Debug, Clone)]
pub enum Record {
    /// An address.
    Address(IpAddr),
    /// Another name.
    Alias(&'static str),
}

/// The names with all they stand for.
pub type Names = BTreeMap<&'static str, Vec<Record>>;

/// A name server on this machine. Dropped, it stops answering.
pub struct NameServer {
    asked: Arc<AtomicUsize>,
    answering: JoinHandle<()>,
}

impl NameServer {
    /// Answers at this address; the port of name servers needs rights that not everybody has.
    pub async fn start(address: SocketAddr, names: Names) -> std::io::Result<Self> {
        let socket = UdpSocket::bind(address).await?;
        let asked = Arc::new(AtomicUsize::new(0));
        let counted = Arc::clone(&asked);
        let answering = tokio::spawn(async move {
            let mut question = [0; 512];
            while let Ok((length, from)) = socket.recv_from(&mut question).await {
                counted.fetch_add(1, Ordering::SeqCst);
                if let Some(answer) = answer(&question[..length], &names) {
                    let _ = socket.send_to(&answer, from).await;
                }
            }
        });
        Ok(Self { asked, answering })
    }

    /// How many questions it was asked.
    pub fn asked(&self) -> usize {
        self.asked.load(Ordering::SeqCst)
    }
}

impl Drop for NameServer {
    fn drop(&mut self) {
        self.answering.abort();
    }
}

/// The answer to a message with one question; further sections of the question are left out.
fn answer(message: &[u8], names: &Names) -> Option<Vec<u8>> {
    let (name, rest) = name(message.get(12..)?)?;
    let wanted = u16::from_be_bytes([*rest.first()?, *rest.get(1)?]);
    let question = &message[12..message.len() - rest.len() + 4];
    let mut records = Vec::new();
    let known = follow(&name, wanted, names, &mut records);
    let mut answer = message[..2].to_vec();
    answer.extend([0x81, if known { 0x80 } else { 0x83 }, 0, 1]);
    answer.extend(u16::try_from(records.len()).ok()?.to_be_bytes());
    answer.extend([0, 0, 0, 0]);
    answer.extend(question);
    answer.extend(records.concat());
    Some(answer)
}

/// The labels of a name with dots between them, and what follows it.
fn name(mut bytes: &[u8]) -> Option<(String, &[u8])> {
    let mut labels = Vec::new();
    loop {
        let (length, rest) = bytes.split_first()?;
        if *length == 0 {
            return Some((labels.join("."), rest));
        }
        let (label, rest) = rest.split_at_checked((*length).into())?;
        labels.push(String::from_utf8_lossy(label).to_ascii_lowercase());
        bytes = rest;
    }
}

/// Collects what a name stands for, alias by alias; `false` for a name that is not known.
fn follow(name: &str, wanted: u16, names: &Names, found: &mut Vec<Vec<u8>>) -> bool {
    let Some(records) = names.get(name) else {
        return false;
    };
    for one in records {
        match one {
            Record::Address(IpAddr::V4(ip)) if wanted == ADDRESS => {
                found.push(record(name, ADDRESS, &ip.octets()));
            }
            Record::Address(IpAddr::V6(ip)) if wanted == ADDRESS_6 => {
                found.push(record(name, ADDRESS_6, &ip.octets()));
            }
            Record::Address(_) => {}
            Record::Alias(other) => {
                found.push(record(name, ALIAS, &encoded(other)));
                follow(other, wanted, names, found);
            }
        }
    }
    true
}

/// A record of the internet class that nobody may keep.
fn record(name: &str, kind: u16, data: &[u8]) -> Vec<u8> {
    let mut record = encoded(name);
    record.extend(kind.to_be_bytes());
    record.extend([0, 1, 0, 0, 0, 0]);
    record.extend(u16::try_from(data.len()).expect("short").to_be_bytes());
    record.extend(data);
    record
}

fn encoded(name: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    for label in name.split('.') {
        bytes.push(u8::try_from(label.len()).expect("short"));
        bytes.extend(label.bytes());
    }
    bytes.push(0);
    bytes
}
