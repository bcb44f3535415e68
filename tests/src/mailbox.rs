//! A mail server that takes everything and keeps it (RFC 5321, no extensions). Faults are the trade of `tests/mail`.

use std::net::SocketAddr;
use std::sync::{Arc, Mutex};

use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufStream};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinHandle;

use crate::until::until;

/// A mail as it arrived.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mail {
    /// Whom the envelope names.
    pub to: String,
    /// Header fields and content, as sent.
    pub raw: String,
}

impl Mail {
    /// A header field on one line, which must be there.
    ///
    /// # Panics
    /// When it is not.
    pub fn field(&self, name: &str) -> &str {
        let (head, _) = self.raw.split_once("\r\n\r\n").expect("a head");
        let start = format!("{name}: ");
        let field = head.lines().find_map(|line| line.strip_prefix(&start));
        field.unwrap_or_else(|| panic!("no {name} in {head}"))
    }

    /// Everything in it, quoted-printable (RFC 2045, section 6.7) undone where it is used.
    pub fn text(&self) -> String {
        let joined = self.raw.replace("=\r\n", "");
        let mut parts = joined.split('=');
        let mut bytes = parts.next().unwrap_or_default().as_bytes().to_vec();
        for part in parts {
            let octet = part
                .get(..2)
                .and_then(|hex| u8::from_str_radix(hex, 16).ok());
            match octet {
                Some(octet) => {
                    bytes.push(octet);
                    bytes.extend(&part.as_bytes()[2..]);
                }
                None => bytes.extend([b"=", part.as_bytes()].concat()),
            }
        }
        String::from_utf8_lossy(&bytes).into_owned()
    }
}

/// A mail server on a port of this machine. Dropped, it stops listening.
pub struct Mailbox {
    address: SocketAddr,
    mails: Arc<Mutex<Vec<Mail>>>,
    listening: JoinHandle<()>,
}

impl Mailbox {
    /// Listens.
    pub async fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a free port");
        let address = listener.local_addr().expect("an address");
        let mails = Arc::new(Mutex::new(Vec::new()));
        let shared = Arc::clone(&mails);
        let listening = tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                tokio::spawn(serve(stream, Arc::clone(&shared)));
            }
        });
        Self {
            address,
            mails,
            listening,
        }
    }

    /// Where it listens, as the setting `smtp_url` names it.
    pub fn url(&self) -> String {
        format!("smtp://{}", self.address)
    }

    /// What has arrived so far.
    pub fn mails(&self) -> Vec<Mail> {
        self.mails.lock().expect("no panic").clone()
    }

    /// Waits until so many mails have arrived, and gives them.
    ///
    /// # Panics
    /// When they do not arrive.
    pub async fn wait_for(&self, count: usize) -> Vec<Mail> {
        until(async || {
            let mails = self.mails();
            if mails.len() >= count {
                Ok(mails)
            } else {
                Err(mails)
            }
        })
        .await
    }
}

impl Drop for Mailbox {
    fn drop(&mut self) {
        self.listening.abort();
    }
}

/// One conversation; a caller that goes away in the middle has sent nothing.
async fn serve(stream: TcpStream, mails: Arc<Mutex<Vec<Mail>>>) -> std::io::Result<()> {
    let mut stream = BufStream::new(stream);
    let mut to = String::new();
    say(&mut stream, "220 mailbox").await?;
    loop {
        let mut line = String::new();
        if stream.read_line(&mut line).await? == 0 {
            return Ok(());
        }
        let line = line.trim_end();
        match line.get(..4).unwrap_or(line) {
            "RCPT" => {
                line.split_once("TO:<")
                    .and_then(|(_, rest)| rest.split_once('>'))
                    .map_or("", |(address, _)| address)
                    .clone_into(&mut to);
                say(&mut stream, "250 OK").await?;
            }
            "DATA" => {
                say(&mut stream, "354 go on").await?;
                let raw = content(&mut stream).await?;
                let mail = Mail {
                    to: to.clone(),
                    raw,
                };
                mails.lock().expect("no panic").push(mail);
                say(&mut stream, "250 OK").await?;
            }
            "QUIT" => return say(&mut stream, "221 bye").await,
            _ => say(&mut stream, "250 OK").await?,
        }
    }
}

async fn say(stream: &mut BufStream<TcpStream>, answer: &str) -> std::io::Result<()> {
    stream.write_all(format!("{answer}\r\n").as_bytes()).await?;
    stream.flush().await
}

/// All lines up to a dot alone, a dot at the start of a line taken off (RFC 5321, section 4.5.2).
async fn content(stream: &mut BufStream<TcpStream>) -> std::io::Result<String> {
    let mut content = String::new();
    loop {
        let mut line = String::new();
        if stream.read_line(&mut line).await? == 0 {
            return Err(std::io::ErrorKind::UnexpectedEof.into());
        }
        if line == ".\r\n" {
            return Ok(content);
        }
        content.push_str(line.strip_prefix('.').unwrap_or(&line));
    }
}
